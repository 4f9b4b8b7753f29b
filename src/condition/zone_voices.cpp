// SPDX-License-Identifier: Apache-2.0
#include "zone_voices.hpp"

#include "crossing_stripes.hpp"
#include "freed_crop.hpp"
#include "layer_place.hpp"
#include "roots_reach.hpp"
#include "seen_before.hpp"
#include "zone_doubts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <utility>

namespace evendrip {
namespace {

constexpr std::size_t fewest_data = 30;
constexpr double widest_in_spacings = 2;  ///< a coarser layer does not speak on single laterals
constexpr double least_spread = 1e-6;     ///< of the values of a layer, relative

bool all_alike(const std::vector<CropDatum>& data) {
  const auto [low, high] = std::minmax_element(
      data.begin(), data.end(), [](const auto& a, const auto& b) { return a.value < b.value; });
  return high->value - low->value < least_spread;
}

std::string of_its_sight(const CropVoice& voice) {
  std::string text;
  if (!voice.fine_enough) text += "; too coarse for single laterals, it speaks of groups alone";
  if (voice.machine) text += "; machines left stripes in it, which were taken out or marked";
  if (!voice.taken_out.empty()) text += "; " + voice.taken_out;
  if (!voice.place.empty()) text += "; " + voice.place;
  if (!voice.reach.empty()) text += "; " + voice.reach;
  if (!voice.age.empty()) text += "; " + voice.age;
  return text;
}

CropVoice voice_of(const ZoneQuestion& q, std::size_t layer, int zone) {
  const CropEvidence& evidence = q.crops[layer].evidence;
  CropVoice voice;
  voice.layer = evidence.id;
  voice.smallest_width_m = evidence.smallest_width_m;
  voice.smallest_length_m = evidence.smallest_length_m;
  voice.fine_enough = evidence.laterals_seen <= widest_in_spacings;
  voice.machine = !q.crops[layer].stripes.empty() || !evidence.waves.empty();
  voice.why = why_not_irrigated(q.field, zone, evidence.id, evidence.date, q.options.irrigation);
  voice.before_irrigation = !voice.why.empty();
  if (voice.before_irrigation) voice.why += ": it shows soil and machines, not water";
  return voice;
}

Heard layer_of(const ZoneQuestion& q, std::size_t layer, const SegmentGrid& grid,
               const Work& work) {
  const CropEvidence& evidence = q.crops[layer].evidence;
  return {layer,
          std::max(evidence.typical.along_m, evidence.typical.across_m),
          crop_data(q.field, grid, evidence, work),
          {},
          usual_response(evidence.kind),
          std::nullopt,
          usual_roots_reach};
}

/// The finest of the layers in which irrigation cannot show.
std::optional<SeenBefore> what_stood_before(const std::vector<Heard>& layers, ZoneState& state,
                                            const Work& work) {
  const auto finest =
      std::min_element(layers.begin(), layers.end(),
                       [](const Heard& a, const Heard& b) { return a.pixel_m < b.pixel_m; });
  if (finest == layers.end()) return std::nullopt;
  auto stood = seen_before(state.grid, state.voices[finest->layer].layer, finest->data,
                           finest->pixel_m, work);
  if (!stood) return std::nullopt;
  state.layer_before = stood->layer;
  state.crop_before = stood->segments;
  return stood;
}

CropEvidence in_zone(const ZoneQuestion& q, int zone, const CropEvidence& layer) {
  const Extent extent = extent_of(q.field.zones[static_cast<std::size_t>(zone)].area);
  return part_of(layer, [&](const EvidenceDatum& datum) { return extent.contains(datum.place); });
}

/// The evidence of a layer in the zone, for something to be taken out.
CropEvidence own_evidence(const ZoneQuestion& q, const Heard& layer, int zone) {
  return layer.freed ? *layer.freed : in_zone(q, zone, layer.evidence(q));
}

/// Data of a layer that was heard before, by its evidence as it is now.
std::vector<CropDatum> heard_again(const ZoneQuestion& q, const CropEvidence& evidence,
                                   const SegmentGrid& grid, const Heard& layer, double roots_reach,
                                   const Work& work) {
  std::vector<CropDatum> data = crop_data(q.field, grid, evidence, work, roots_reach);
  leave_out_cut(layer.age, grid, data);
  for (CropDatum& datum : data) datum.sees_laterals = layer.data.front().sees_laterals;
  return data;
}

void set_freed(const ZoneQuestion& q, CropEvidence freed, const SegmentGrid& grid, Heard& layer,
               const Work& work) {
  layer.data = heard_again(q, freed, grid, layer, layer.roots_reach, work);
  layer.freed = std::move(freed);
}

void add_words(const std::string& words, std::string& text) {
  text += (text.empty() ? "" : "; ") + words;
}

void free_of(const SeenBefore& stood, const ZoneQuestion& q, Heard& layer, ZoneState& state,
             const Work& work) {
  const StillThere still = still_there(stood, state.grid, layer.data, layer.pixel_m);
  std::string& told = state.voices[layer.layer].taken_out;
  if (!still.any()) {
    add_words("nothing of what stood in " + stood.layer + " is in it", told);
    return;
  }
  CropEvidence freed = own_evidence(q, layer, state.zone);
  take_out(pattern_of(stood, still, freed), freed);
  set_freed(q, std::move(freed), state.grid, layer, work);
  add_words(fmt::format("what stood in {} before is no water and was taken out: {:.2f} of what "
                        "follows laterals there, {:.2f} of the rest",
                        stood.layer, still.shaped, still.soil),
            told);
}

void free_of_crossing(const ZoneQuestion& q, Heard& layer, ZoneState& state, const Work& work) {
  CropVoice& voice = state.voices[layer.layer];
  if (!voice.fine_enough) return;
  const auto stripes =
      crossing_stripes(q.field, state.grid, q.crops[layer.layer].evidence, layer.data, work);
  if (stripes.empty()) return;
  CropEvidence freed = own_evidence(q, layer, state.zone);
  take_out(pattern_of(stripes, q.field, state.grid, freed), freed);
  set_freed(q, std::move(freed), state.grid, layer, work);
  voice.machine = true;
  for (const CrossingStripes& one : stripes)
    add_words(fmt::format("stripes that run on into {} (correlation {:.2f} over {} laterals) are "
                          "machines or soil, not water, and were taken out",
                          q.field.zones[static_cast<std::size_t>(one.zone)].id, one.correlation,
                          one.laterals),
              voice.taken_out);
}

void settle_place(const ZoneQuestion& q, const std::vector<HoleDatum>& holes, Heard& layer,
                  ZoneState& state, const Work& work) {
  CropVoice& voice = state.voices[layer.layer];
  if (!voice.fine_enough) return;
  const CropEvidence some = told_everywhere(layer.evidence(q), q.field, state.grid);
  const auto by_place = [&](double across_m) {
    return heard_again(q, moved_across(some, q.field, state.grid, across_m), state.grid, layer,
                       layer.roots_reach, work);
  };
  const auto place =
      choose_place(state.grid, holes, by_place, layer.ranges(state.grid), layer.pixel_m, work);
  if (!place) return;
  voice.moved_m = place->across_m;
  set_freed(
      q,
      in_zone(q, state.zone, moved_across(layer.evidence(q), q.field, state.grid, place->across_m)),
      state.grid, layer, work);
  const int towards =
      place->across_m > 0 ? state.grid.laterals.back() : state.grid.laterals.front();
  voice.place = fmt::format(
      "it lies beside the laterals and was moved by {:.1f} m across them, towards {} "
      "(log posterior higher by {:.0f})",
      std::abs(place->across_m), q.field.laterals[static_cast<std::size_t>(towards)].id,
      place->gain);
}

void settle_reach(const ZoneQuestion& q, const std::vector<HoleDatum>& holes, Heard& layer,
                  ZoneState& state, const Work& work) {
  CropVoice& voice = state.voices[layer.layer];
  if (!voice.fine_enough) return;
  const auto by_reach = [&](double spacings) {
    return heard_again(q, layer.evidence(q), state.grid, layer, spacings, work);
  };
  auto choice =
      choose_reach(state.grid, holes, layer.data, layer.ranges(state.grid), by_reach, work);
  if (!choice) return;
  layer.roots_reach = choice->spacings;
  layer.data = std::move(choice->data);
  voice.reach = fmt::format(
      "its plants draw water {} (a reach of {:.1f} spacings is likelier than one of {:.1f}: log "
      "posterior higher by {:.0f})",
      choice->spacings < usual_roots_reach ? "from their own lateral alone"
                                           : "from several laterals at once",
      choice->spacings, usual_roots_reach, choice->gain);
}

/// A layer that passed its tests, and the zone judged with it.
struct Passed {
  const Heard* layer = nullptr;
  ZoneJudgement judged;
};

std::optional<Passed> passes(const ZoneQuestion& q, const std::vector<HoleDatum>& holes,
                             const Heard& layer, ZoneState& state, const Work& work) {
  auto judged = judge_zone(state.grid, holes, layer.data, layer.ranges(state.grid),
                           q.field.thresholds.clogged_below);
  CropVoice& voice = state.voices[layer.layer];
  if (!judged) {
    voice.why = "no parameters fit it";
    return std::nullopt;
  }
  state.verified = state.verified || judged->verified;
  voice.why = judged->why + of_its_sight(voice);
  if (!judged->crop_used) return std::nullopt;
  const PlaceboRank rank =
      placebo_rank(q.field, state.zone, state.grid, layer.evidence(q), layer.data,
                   judged->condition.fit.parameters, work, layer.roots_reach);
  voice.placebo = rank;
  voice.why += "; " + rank.told;
  if (!rank.stands_out) return std::nullopt;
  return Passed{&layer, *std::move(judged)};
}

/// Says of a layer that passed too what it adds.
void compare(const ZoneQuestion& q, const Passed& best, const Passed& other, ZoneState& state) {
  CropVoice& voice = state.voices[other.layer->layer];
  const std::string& used = state.voices[best.layer->layer].layer;
  std::vector<int> segments =
      contradicted(q, state.grid, best.judged.condition, other.judged.condition);
  voice.why += "; it passes its tests too, but " + used + " foretells laterals left out better";
  voice.why += segments.empty()
                   ? "; both say the same of the emitters"
                   : fmt::format(
                         "; on {} segments of {} one of both calls emitters low and the "
                         "other not",
                         segments.size(), state.grid.segments());
  if (!segments.empty()) state.contradictions.push_back({voice.layer, std::move(segments)});
}

}  // namespace

std::vector<Heard> heard_in(const ZoneQuestion& q, const std::vector<HoleDatum>& holes,
                            ZoneState& state, const Work& work) {
  std::vector<Heard> heard;
  std::vector<Heard> before;
  for (std::size_t i = 0; i < q.crops.size(); ++i) {
    state.voices.push_back(voice_of(q, i, state.zone));
    CropVoice& voice = state.voices.back();
    Heard layer = layer_of(q, i, state.grid, work);
    if (!voice.before_irrigation)
      layer.age = age_of(q.field, q.survey, state.grid, q.crops[i].evidence.date);
    voice.age = layer.age.told;
    leave_out_cut(layer.age, state.grid, layer.data);
    voice.data = layer.data.size();
    if (layer.age.cut) {
      voice.why = layer.age.told;
    } else if (layer.data.size() < fewest_data) {
      voice.why = fmt::format("{} data of it lie in the zone: too few", layer.data.size());
    } else if (all_alike(layer.data)) {
      voice.why = "it has one value all over the zone: it says nothing";
    } else {
      for (CropDatum& datum : layer.data) datum.sees_laterals = voice.fine_enough;
      (voice.before_irrigation ? before : heard).push_back(std::move(layer));
    }
  }
  const std::optional<SeenBefore> stood = what_stood_before(before, state, work);
  for (Heard& layer : heard) {
    if (stood) free_of(*stood, q, layer, state, work);
    free_of_crossing(q, layer, state, work);
    settle_place(q, holes, layer, state, work);
    settle_reach(q, holes, layer, state, work);
  }
  return heard;
}

const Heard* chosen_layer(const ZoneQuestion& q, const std::vector<HoleDatum>& holes,
                          const std::vector<Heard>& heard, ZoneState& state, const Work& work) {
  std::vector<Passed> passed;
  for (const Heard& layer : heard)
    if (auto one = passes(q, holes, layer, state, work)) passed.push_back(*std::move(one));
  const auto best =
      std::min_element(passed.begin(), passed.end(), [](const Passed& a, const Passed& b) {
        return a.judged.with_crop.log_score < b.judged.with_crop.log_score;
      });
  if (best == passed.end()) return nullptr;
  state.voices[best->layer->layer].used = true;
  for (const Passed& other : passed)
    if (&other != &*best) compare(q, *best, other, state);
  state.condition = std::move(best->judged.condition);
  return best->layer;
}

void hear_unverified(const ZoneQuestion& q, const std::vector<Heard>& heard, ZoneState& state,
                     const Work& work) {
  const Heard* chosen = nullptr;
  double most_gain = 0;
  for (const Heard& layer : heard) {
    CropVoice& voice = state.voices[layer.layer];
    const PlaceboRank rank = placebo_rank(q.field, state.zone, state.grid, layer.evidence(q),
                                          layer.data, {}, work, layer.roots_reach);
    voice.placebo = rank;
    voice.why = "no hole verifies it" + of_its_sight(voice) + "; " + rank.told;
    if (!rank.stands_out || (chosen != nullptr && !(rank.gain > most_gain))) continue;
    chosen = &layer;
    most_gain = rank.gain;
  }
  if (chosen == nullptr) return;
  ConditionRanges ranges = chosen->ranges(state.grid);
  ranges.aged_sd = 0;  // without holes there is no other time
  const ZoneModel model(state.grid, {}, chosen->data, ranges);
  const auto fit = fit_condition(model, {});
  if (!fit) return;
  const ConditionParameters& parameters = fit->parameters;
  const auto estimate = model.estimate(parameters);
  if (!estimate) return;
  state.voices[chosen->layer].used = true;
  state.layer_used = state.voices[chosen->layer].layer;
  for (const double r : estimate->r)
    state.unverified_crop.push_back(parameters.response * (r - 1 - estimate->level));
}

}  // namespace evendrip
