// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/plugged_holes.hpp"

#include "evendrip/condition/parameter_design.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr int rounds = 4;
constexpr int bending_passes = 3;
constexpr double settled_r = 0.002;
constexpr double settled_chance = 1e-4;
constexpr int turns_in_round = 6;      ///< weights and share, with the parameters held
constexpr double least_weight = 1e-4;  ///< keeps a plugged hole's equations sound
constexpr double plugged_before = 0.1;
constexpr double seen_before = 10;

double normal_density(double x, double mean, double variance) {
  const double off = x - mean;
  return std::exp(-0.5 * off * off / variance) / std::sqrt(2 * std::numbers::pi * variance);
}

/// What the other data say of a hole's segment.
struct Cavity {
  double mean = 0;
  double variance = 0;
};
Cavity without(const HoleDatum& hole, double weight, double spread, double mean, double variance) {
  const double own = weight / spread;
  const double others = std::max(1 / variance - own, 1e-6 / variance);
  return {(mean / variance - own * hole.value) / others, 1 / others};
}

std::vector<double> chances(const ZoneModel& model, const ConditionParameters& parameters,
                            const HoleEstimate& estimate, const std::vector<double>& plugged,
                            double plugged_below) {
  const double share = plugged_share(plugged);
  const std::vector<double> weights = hole_weights(plugged);
  std::vector<double> out;
  for (std::size_t i = 0; i < plugged.size(); ++i) {
    const HoleDatum& hole = model.hole_data()[i];
    const double spread = parameters.emitter * parameters.emitter + hole.noise_variance;
    const Cavity cavity = without(hole, weights[i], spread, estimate.mean[i],
                                  estimate.covariance[i * plugged.size() + i]);
    const double sound =
        (1 - share) * normal_density(hole.value, cavity.mean, cavity.variance + spread);
    const double stuck = hole.value < plugged_below ? share / plugged_below : 0;
    out.push_back(stuck > 0 ? stuck / (stuck + sound) : 0);
  }
  return out;
}

/// Weights and share in turn until they stay. False where the equations cannot be solved.
bool weigh_holes(const ZoneModel& model, double plugged_below, ZoneCondition& condition) {
  if (model.holes() == 0) return true;
  for (int turn = 0; turn < turns_in_round; ++turn) {
    const auto estimate =
        model.estimate_at_holes(condition.fit.parameters, hole_weights(condition.plugged));
    if (!estimate) return false;
    std::vector<double> next =
        chances(model, condition.fit.parameters, *estimate, condition.plugged, plugged_below);
    double change = 0;
    for (std::size_t i = 0; i < next.size(); ++i)
      change = std::max(change, std::abs(next[i] - condition.plugged[i]));
    condition.plugged = std::move(next);
    if (change < settled_chance) break;
  }
  return true;
}

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

std::optional<ZoneCondition> zone_condition(const ZoneModel& model, double plugged_below,
                                            const ConditionParameters& start, const Work& work) {
  if (!(plugged_below > 0)) throw std::invalid_argument("a threshold is not above 0");
  ZoneCondition out;
  out.fit.parameters = start;
  // At first every hole below half of the threshold counts little: a robust start.
  out.plugged.assign(model.holes(), 0);
  for (std::size_t i = 0; i < model.holes(); ++i)
    if (model.hole_data()[i].value < 0.5 * plugged_below) out.plugged[i] = 0.9;
  int evaluations = 0;
  for (int round = 0; round < rounds; ++round) {
    const auto fit =
        fit_condition(model, out.fit.parameters, hole_weights(out.plugged),
                      round == 0 ? FitSearch::several_starts : FitSearch::one_start, work);
    if (!fit) return {};
    const bool settled = round > 0 && std::abs(fit->log_posterior - out.fit.log_posterior) < 0.05;
    out.fit = *fit;
    evaluations += fit->evaluations;
    if (!weigh_holes(model, plugged_below, out)) return {};
    if (settled) break;
  }
  const std::vector<double> weights = hole_weights(out.plugged);
  ParameterDesign design = parameter_design(model, out.fit, weights, work);
  auto estimate = mixed_estimate(model, design.points, design.weights, weights, work);
  if (!estimate) return {};
  out.fit.evaluations = evaluations + design.evaluations;
  out.fit.design = std::move(design.points);
  out.fit.design_weights = std::move(design.weights);
  out.estimate = *std::move(estimate);
  out.plugged_share = plugged_share(out.plugged);
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
