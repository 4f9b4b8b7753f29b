// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/plugged_holes.hpp"

#include "evendrip/condition/parameter_design.hpp"
#include "fitted_posterior.hpp"
#include "hole_sites.hpp"
#include "lateral_widths.hpp"
#include "sharp_patches.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr int rounds = 5;
constexpr int rounds_of_large = 2;  ///< where a coarser model was settled before
constexpr int bending_passes = 3;
constexpr double settled_r = 0.002;
constexpr double least_weight = 1e-4;  ///< keeps a plugged hole's equations sound
constexpr double share_before = 0.01;
/// Logarithm of the odds, 3 to 1, that a sharp patch of the crop is of soil: growers till and sow
/// along the laterals (common practice, no source).
constexpr double water_odds = 1.0986122886681098;

/// Parameters, sites of the holes and widths of the laterals that go together.
struct Settled {
  ConditionFit fit;
  HoleSites holes;
  std::vector<double> widths;
};

/// Of what the model was settled to; nothing where the equations cannot be solved.
std::optional<double> log_evidence_of(const ZoneModel& model, const Settled& settled) {
  const ConditionParameters& parameters = settled.fit.parameters;
  const auto of_holes = log_over_sites(model, parameters, settled.holes.clogging);
  const auto of_widths = log_over_widths(model, parameters);
  if (!of_holes || !of_widths) return {};
  const auto of_parameters = log_integral(
      FittedPosterior(model, parameters, {}, PosteriorOf::logarithms), fitted_of(parameters));
  if (!of_parameters) return {};
  return *of_parameters + *of_holes + *of_widths;
}

/// In turn until they stay, from what was settled before. The model is left with them.
bool settle(ZoneModel& model, Settled& out, int first_round, const Work& work) {
  model.set_lateral_widths(out.widths);
  model.set_hole_sites(out.holes.sites);
  int evaluations = out.fit.evaluations;
  for (int round = first_round; round < rounds; ++round) {
    const auto fit =
        fit_condition(model, out.fit.parameters, {},
                      round == 0 ? FitSearch::several_starts : FitSearch::few_steps, work);
    if (!fit) return false;
    const double before = out.fit.log_posterior;
    out.fit = *fit;
    evaluations += fit->evaluations;
    if (!settle_widths(model, out.fit.parameters)) return false;
    // Before laterals may differ, what a few of them lack would be told as emitters that vary.
    if (round > 0 && !settle_sites(model, out.fit.parameters, out.holes)) return false;
    if (round > 1 && std::abs(fit->log_posterior - before) < 0.05) break;
  }
  out.fit.evaluations = evaluations;
  out.widths = model.lateral_widths();
  return true;
}

/// Both beside each other, each with half of the threads.
void for_both(const Work& work, const std::function<void(std::size_t, const Work&)>& settle_one) {
  Work each = without_progress(work);
  each.threads = std::max(1, work.threads / 2);
  for_each_chunk(without_progress(work), 2, 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) settle_one(i, each);
  });
}

/// The likelier of two ways to think of low holes, each settled in a copy of the model.
std::optional<Settled> likelier(const ZoneModel& model, std::array<Settled, 2> starts,
                                const Work& work) {
  model.log_likelihood(starts[0].fit.parameters);  // patterns, shared by the copies
  std::array<std::optional<double>, 2> evidence;
  for_both(work, [&](std::size_t i, const Work& each) {
    ZoneModel own(model);
    if (settle(own, starts[i], 0, each)) evidence[i] = log_evidence_of(own, starts[i]);
  });
  if (!evidence[0] && !evidence[1]) return {};
  const std::size_t best = evidence[1] > evidence[0] ? 1 : 0;  // none is less than any
  const std::size_t other = 1 - best;
  if (evidence[other]) starts[best].fit.evaluations += starts[other].fit.evaluations;
  return std::move(starts[best]);
}

Settled start_of(const ConditionParameters& parameters, HoleSites holes) {
  Settled start;
  start.fit.parameters = parameters;
  start.holes = std::move(holes);
  return start;
}

bool any_low(const ZoneModel& model, double plugged_below) {
  const auto& holes = model.hole_data();
  return std::any_of(holes.begin(), holes.end(),
                     [&](const HoleDatum& hole) { return hole.value < plugged_below; });
}

/// From holes that are believed, and where some are low also from low ones that are not. The model
/// is left with what was settled.
std::optional<Settled> settled_condition(ZoneModel& model, double plugged_below,
                                         const ConditionParameters& parameters, const Work& work) {
  if (model.coarser() != nullptr) {
    ZoneModel few(*model.coarser());
    auto found = settled_condition(few, plugged_below, parameters, work);
    if (!found || !settle(model, *found, rounds - rounds_of_large, work)) return {};
    return found;
  }
  Settled believed = start_of(parameters, sites_as_caught(model, plugged_below));
  if (!any_low(model, plugged_below)) {
    if (!settle(model, believed, 0, work)) return {};
    return believed;
  }
  auto found = likelier(
      model,
      {std::move(believed), start_of(parameters, first_sites(model, parameters, plugged_below))},
      work);
  if (!found) return {};
  model.set_lateral_widths(found->widths);
  model.set_hole_sites(found->holes.sites);
  return found;
}

/// The parameters with parts of no more than the usual size: what is low may have made them large.
ConditionParameters usual_parts(ConditionParameters p) {
  for (std::size_t i = 0; i < fitted_count; ++i)
    if (is_part_of_water(i) || is_part_of_soil(i))
      p.*fitted_parameters[i] = std::min(p.*fitted_parameters[i], prior_median(i));
  return p;
}

/// What a model is settled to with a patch more, and how likely that is.
struct Tried {
  std::vector<SharpPatch> patches;
  Settled settled;
  std::optional<double> evidence;  ///< none where the equations cannot be solved
};

/// From what was settled without the patch. What it explains as water need not be told by parts of
/// the zone, by laterals that differ or by emitters plugged by chance.
Tried start_with(const ZoneModel& model, const SharpPatch& patch, const Settled& without) {
  Tried tried{model.patches(), without, {}};
  tried.patches.push_back(patch);
  if (patch.of_soil) return tried;
  Settled& start = tried.settled;
  start.fit.parameters = usual_parts(start.fit.parameters);
  const auto& holes = model.hole_data();
  for (std::size_t i = 0; i < holes.size(); ++i)
    if (holds(model, patch, holes[i])) start.holes.sites[i] = {holes[i].value, 0};
  for (int row = patch.first_row; row < patch.end_row; ++row)
    start.widths[static_cast<std::size_t>(row)] = 1;
  return tried;
}

/// From several starts where the patch is of water, as parts of the zone make room for it.
void settle_with(const ZoneModel& model, const Work& work, Tried& tried) {
  ZoneModel own(model);
  own.set_patches(tried.patches);
  Settled& settled = tried.settled;
  int first = tried.patches.back().of_soil ? 1 : 0;
  if (own.coarser() != nullptr) {
    ZoneModel few(*own.coarser());
    if (!settle(few, settled, first, work)) return;
    first = rounds - rounds_of_large;
  }
  if (settle(own, settled, first, work)) tried.evidence = log_evidence_of(own, settled);
}

/// The patch as one of water and as one of soil, whichever is likelier: holes tell them apart.
Tried with_patch(const ZoneModel& model, SharpPatch patch, const Settled& without,
                 const Work& work) {
  std::array<Tried, 2> tried;
  for (Tried& one : tried) {
    one = start_with(model, patch, without);
    patch.of_soil = true;
  }
  for_both(work, [&](std::size_t i, const Work& each) { settle_with(model, each, tried[i]); });
  const std::optional<double>& water = tried[0].evidence;
  const std::optional<double>& soil = tried[1].evidence;
  const bool of_water = water && (!soil || *water - *soil > water_odds);
  return std::move(tried[of_water ? 0 : 1]);
}

/// The same with patches that end sharply, while they are likelier than none.
std::optional<Settled> settled_with_patches(ZoneModel& model, double plugged_below,
                                            const ConditionParameters& parameters,
                                            const Work& work) {
  auto first = settled_condition(model, plugged_below, parameters, work);
  if (!first) return {};
  Settled settled = *std::move(first);
  std::optional<double> evidence;
  const double needed = needed_gain(model.grid());
  const bool some_low = any_low(model, plugged_below);
  while (model.patches().size() < most_patches) {
    const ConditionParameters& fitted = settled.fit.parameters;
    const auto found = find_patch(model, some_low ? usual_parts(fitted) : fitted);
    if (!found || found->gain < needed) break;
    if (!evidence) evidence = log_evidence_of(model, settled);
    Tried with = with_patch(model, found->patch, settled, work);
    if (!evidence || !with.evidence || !(*with.evidence - *evidence > needed)) break;
    evidence = with.evidence;
    settled = std::move(with.settled);
    model.set_patches(std::move(with.patches));
    model.set_lateral_widths(settled.widths);
    model.set_hole_sites(settled.holes.sites);
  }
  return settled;
}

/// Where emitters that are plugged by chance keep company. False where the equations cannot be
/// solved.
bool find_places(const ZoneModel& model, const Settled& settled, ZoneCondition& out) {
  out.clogging = settled.holes.clogging;
  const auto holes = plugged_or_not(model, settled.fit.parameters, out.clogging);
  if (!holes) return false;
  out.places = {};
  out.plugged_share = out.clogging.share = plugged_share(settled.holes.by_chance);
  if (!any_plugged(*holes)) return true;
  out.places = plugged_places(model.grid(), *holes, out.clogging.plugged_below);
  out.clogging.share = out.places.anywhere;
  out.plugged_share = mean_share(out.places);
  return true;
}

}  // namespace

double plugged_share(std::span<const double> plugged) {
  double sum = share_before * emitters_seen_before;
  for (const double p : plugged) sum += p;
  return sum / (static_cast<double>(plugged.size()) + emitters_seen_before);
}

KnownShare place_delivery(const ZoneCondition& condition, const ConditionEstimate& estimate,
                          std::size_t segment) {
  return delivered_at(condition.places, segment, std::max(0.0, estimate.r[segment]),
                      std::max(0.0, estimate.r_variance[segment]));
}

double lost_in_company(const ZoneCondition& condition, std::size_t segment) {
  if (condition.places.beyond.empty()) return 0;
  return place_delivery(condition, condition.estimate, segment).mean -
         std::max(0.0, condition.estimate.r[segment]);
}

void deliver(ZoneCondition& condition) {
  condition.delivered.clear();
  for (std::size_t i = 0; i < condition.estimate.r.size(); ++i)
    condition.delivered.push_back((1 - condition.clogging.share) *
                                  place_delivery(condition, condition.estimate, i).mean);
}

std::vector<double> hole_weights(std::span<const double> plugged) {
  std::vector<double> weights;
  weights.reserve(plugged.size());
  for (const double p : plugged) weights.push_back(std::max(least_weight, 1 - p));
  return weights;
}

std::optional<ZoneCondition> zone_condition(ZoneModel& model, double plugged_below,
                                            const ConditionParameters& start, const Work& work,
                                            PatchSearch search) {
  if (!(plugged_below > 0)) throw std::invalid_argument("a threshold is not above 0");
  model.set_plugged({}, 0);
  model.set_patches({});
  auto settled = search == PatchSearch::none
                     ? settled_condition(model, plugged_below, start, work)
                     : settled_with_patches(model, plugged_below, start, work);
  if (!settled) return {};
  ZoneCondition out;
  if (!find_places(model, *settled, out)) return {};
  if (model.crop_data() > 0 && !out.places.beyond.empty()) {
    show_to_crop(out.places, model);
    if (!settle(model, *settled, rounds - rounds_of_large, work) ||
        !find_places(model, *settled, out))
      return {};
    show_to_crop(out.places, model);
  }
  out.fit = std::move(settled->fit);
  HoleSites& holes = settled->holes;
  if (!find_common_width(model, out.fit.parameters) || !widen_unseen(model, out.fit.parameters))
    return {};
  ParameterDesign design = parameter_design(model, out.fit, {}, work);
  auto estimate = mixed_estimate(model, design.points, design.weights, {}, work);
  if (!estimate) return {};
  out.fit.evaluations += design.evaluations;
  out.fit.design = std::move(design.points);
  out.fit.design_weights = std::move(design.weights);
  out.estimate = *std::move(estimate);
  out.plugged = std::move(holes.plugged);
  out.by_chance = std::move(holes.by_chance);
  out.sites = std::move(holes.sites);
  out.widths = model.lateral_widths();
  out.patches = model.patches();
  deliver(out);
  return out;
}

void set_as_judged(ZoneModel& model, const ZoneCondition& condition) {
  model.set_patches(condition.patches);
  model.set_lateral_widths(condition.widths);
  model.set_hole_sites(condition.sites);
  if (model.crop_data() > 0) show_to_crop(condition.places, model);
}

namespace {

double most_moved(const std::vector<double>& before, const std::vector<double>& after) {
  double moved = 0;
  for (std::size_t i = 0; i < before.size(); ++i)
    moved = std::max(moved, std::abs(after[i] - before[i]));
  return moved;
}

}  // namespace

std::optional<ZoneCondition> bent_condition(ZoneModel& model, double plugged_below,
                                            const CropKink& kink, const ConditionParameters& start,
                                            const Work& work) {
  auto found = zone_condition(model, plugged_below, start, work);
  if (!kink.bends() || model.crop_data() == 0) return found;
  for (int pass = 0; pass < bending_passes; ++pass) {
    if (!found) break;
    const ZoneCondition& before = *found;
    model.bend_crop(kink, before.estimate, before.fit.parameters.emitter);
    auto next = zone_condition(model, plugged_below, before.fit.parameters, work);
    const bool settled = next && most_moved(before.estimate.r, next->estimate.r) < settled_r;
    found = std::move(next);
    if (settled) break;
  }
  return found;
}

}  // namespace evendrip
