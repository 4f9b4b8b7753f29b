// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/plugged_holes.hpp"

#include "evendrip/condition/parameter_design.hpp"
#include "hole_sites.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr int rounds = 4;
constexpr int bending_passes = 3;
constexpr double settled_r = 0.002;
constexpr double least_weight = 1e-4;  ///< keeps a plugged hole's equations sound
constexpr double plugged_before = 0.1;
constexpr double seen_before = 10;

}  // namespace

double plugged_share(std::span<const double> plugged) {
  double sum = plugged_before;
  for (const double p : plugged) sum += p;
  return sum / (static_cast<double>(plugged.size()) + seen_before);
}

std::vector<double> hole_weights(std::span<const double> plugged) {
  std::vector<double> weights;
  weights.reserve(plugged.size());
  for (const double p : plugged) weights.push_back(std::max(least_weight, 1 - p));
  return weights;
}

std::optional<ZoneCondition> zone_condition(ZoneModel& model, double plugged_below,
                                            const ConditionParameters& start, const Work& work) {
  if (!(plugged_below > 0)) throw std::invalid_argument("a threshold is not above 0");
  ZoneCondition out;
  out.fit.parameters = start;
  HoleSites holes = first_sites(model, start, plugged_below);
  model.set_hole_sites(holes.sites);
  int evaluations = 0;
  for (int round = 0; round < rounds; ++round) {
    const auto fit =
        fit_condition(model, out.fit.parameters, {},
                      round == 0 ? FitSearch::several_starts : FitSearch::one_start, work);
    if (!fit) return {};
    const double before = out.fit.log_posterior;
    out.fit = *fit;
    evaluations += fit->evaluations;
    if (!settle_sites(model, out.fit.parameters, holes)) return {};
    if (round > 0 && std::abs(fit->log_posterior - before) < 0.05) break;
  }
  ParameterDesign design = parameter_design(model, out.fit, {}, work);
  auto estimate = mixed_estimate(model, design.points, design.weights, {}, work);
  if (!estimate) return {};
  out.fit.evaluations = evaluations + design.evaluations;
  out.fit.design = std::move(design.points);
  out.fit.design_weights = std::move(design.weights);
  out.estimate = *std::move(estimate);
  out.plugged = std::move(holes.plugged);
  out.by_chance = std::move(holes.by_chance);
  out.clogging = holes.clogging;
  out.plugged_share = out.clogging.share = plugged_share(out.by_chance);
  for (const double r : out.estimate.r)
    out.delivered.push_back(std::max(0.0, r) * (1 - out.plugged_share));
  return out;
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
