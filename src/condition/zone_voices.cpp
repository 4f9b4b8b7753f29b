// SPDX-License-Identifier: Apache-2.0
#include "zone_voices.hpp"

#include "evendrip/condition/zone_data.hpp"

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
  return text;
}

/// How the holes judge it.
std::string by_the_holes(const ZoneJudgement& judged) {
  if (!judged.verified) return judged.why;
  return fmt::format(
      "laterals left out are foretold to {:.3f} (root mean square) with it and to {:.3f} without "
      "it; the log score of a hole gains {:.2f} (standard error {:.2f}), which is {}",
      judged.with_crop.rmse, judged.without_crop.rmse, judged.gain, judged.gain_error,
      judged.crop_used ? "better" : "no better by more than its error");
}

}  // namespace

std::vector<Heard> heard_in(const ZoneQuestion& q, ZoneState& state, const Work& work) {
  std::vector<Heard> heard;
  for (std::size_t i = 0; i < q.crops.size(); ++i) {
    const CropEvidence& evidence = q.crops[i].evidence;
    CropVoice voice;
    voice.layer = evidence.id;
    voice.smallest_width_m = evidence.smallest_width_m;
    voice.smallest_length_m = evidence.smallest_length_m;
    voice.fine_enough = evidence.laterals_seen <= widest_in_spacings;
    voice.machine = !q.crops[i].stripes.empty() || !evidence.waves.empty();
    Heard layer{i, std::max(evidence.typical.along_m, evidence.typical.across_m),
                crop_data(q.field, state.grid, evidence, work)};
    voice.data = layer.data.size();
    if (layer.data.size() < fewest_data) {
      voice.why = fmt::format("{} data of it lie in the zone: too few", layer.data.size());
    } else if (all_alike(layer.data)) {
      voice.why = "it has one value all over the zone: it says nothing";
    } else {
      for (CropDatum& datum : layer.data) datum.sees_laterals = voice.fine_enough;
      heard.push_back(std::move(layer));
    }
    state.voices.push_back(std::move(voice));
  }
  return heard;
}

const Heard* chosen_layer(const ZoneQuestion& q, const std::vector<HoleDatum>& holes,
                          const std::vector<Heard>& heard, ZoneState& state, const Work& work) {
  const double clogged = q.field.thresholds.clogged_below;
  const Heard* chosen = nullptr;
  double best = std::numeric_limits<double>::infinity();
  for (const Heard& layer : heard) {
    const auto judged =
        judge_zone(state.grid, holes, layer.data, ranges_of(state.grid, layer.pixel_m), clogged);
    CropVoice& voice = state.voices[layer.layer];
    if (!judged) {
      voice.why = "no parameters fit it";
      continue;
    }
    state.verified = state.verified || judged->verified;
    voice.why = by_the_holes(*judged) + of_its_sight(voice);
    if (!judged->crop_used || !(judged->with_crop.log_score < best)) continue;
    const PlaceboRank rank =
        placebo_rank(q.field, state.zone, state.grid, q.crops[layer.layer].evidence, layer.data,
                     judged->condition.fit.parameters, work);
    voice.placebo = rank;
    voice.why += "; " + rank.told;
    if (!rank.stands_out) continue;
    best = judged->with_crop.log_score;
    chosen = &layer;
    state.condition = judged->condition;
  }
  for (CropVoice& voice : state.voices)
    voice.used = chosen != nullptr && &voice == &state.voices[chosen->layer];
  return chosen;
}

void hear_unverified(const ZoneQuestion& q, const std::vector<Heard>& heard, ZoneState& state,
                     const Work& work) {
  const Heard* chosen = nullptr;
  double most_gain = 0;
  for (const Heard& layer : heard) {
    CropVoice& voice = state.voices[layer.layer];
    const PlaceboRank rank = placebo_rank(q.field, state.zone, state.grid,
                                          q.crops[layer.layer].evidence, layer.data, {}, work);
    voice.placebo = rank;
    voice.why = "no hole verifies it" + of_its_sight(voice) + "; " + rank.told;
    if (!rank.stands_out || (chosen != nullptr && !(rank.gain > most_gain))) continue;
    chosen = &layer;
    most_gain = rank.gain;
  }
  if (chosen == nullptr) return;
  const ZoneModel model(state.grid, {}, chosen->data, ranges_of(state.grid, chosen->pixel_m));
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
