// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/plugged_holes.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr int rounds = 4;
constexpr int turns_in_round = 6;      ///< weights and share, with the parameters held
constexpr double least_weight = 1e-4;  ///< keeps a plugged hole's equations sound
constexpr double plugged_before = 0.5;
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

double share_of(const std::vector<double>& plugged) {
  double sum = plugged_before;
  for (const double p : plugged) sum += p;
  return sum / (static_cast<double>(plugged.size()) + seen_before);
}

std::vector<double> weights_of(const std::vector<double>& plugged) {
  std::vector<double> weights;
  weights.reserve(plugged.size());
  for (const double p : plugged) weights.push_back(std::max(least_weight, 1 - p));
  return weights;
}

std::vector<double> chances(const ZoneModel& model, const ConditionParameters& parameters,
                            const ConditionEstimate& estimate, const std::vector<double>& plugged,
                            double plugged_below) {
  const double share = share_of(plugged);
  const std::vector<double> weights = weights_of(plugged);
  std::vector<double> out;
  for (std::size_t i = 0; i < plugged.size(); ++i) {
    const HoleDatum& hole = model.hole_data()[i];
    const auto segment = static_cast<std::size_t>(model.grid().segment(hole.row, hole.station));
    const double spread = parameters.emitter * parameters.emitter + hole.noise_variance;
    const Cavity cavity =
        without(hole, weights[i], spread, estimate.r[segment], estimate.r_variance[segment]);
    const double sound =
        (1 - share) * normal_density(hole.value, cavity.mean, cavity.variance + spread);
    const double stuck = hole.value < plugged_below ? share / plugged_below : 0;
    out.push_back(stuck > 0 ? stuck / (stuck + sound) : 0);
  }
  return out;
}

}  // namespace

std::optional<ZoneCondition> zone_condition(const ZoneModel& model, double plugged_below,
                                            const ConditionParameters& start) {
  if (!(plugged_below > 0)) throw std::invalid_argument("a threshold is not above 0");
  ZoneCondition out;
  out.fit.parameters = start;
  // At first every hole below half of the threshold counts little: a robust start.
  out.plugged.assign(model.holes(), 0);
  for (std::size_t i = 0; i < model.holes(); ++i)
    if (model.hole_data()[i].value < 0.5 * plugged_below) out.plugged[i] = 0.9;
  for (int round = 0; round < rounds; ++round) {
    const auto fit = fit_condition(model, out.fit.parameters, weights_of(out.plugged));
    if (!fit) return {};
    const bool settled = round > 0 && std::abs(fit->log_posterior - out.fit.log_posterior) < 0.05;
    out.fit = *fit;
    for (int turn = 0; turn < turns_in_round; ++turn) {
      auto estimate = model.estimate(out.fit.parameters, weights_of(out.plugged));
      if (!estimate) return {};
      out.estimate = *std::move(estimate);
      out.plugged = chances(model, out.fit.parameters, out.estimate, out.plugged, plugged_below);
    }
    if (settled) break;
  }
  auto estimate = model.estimate(out.fit.parameters, weights_of(out.plugged));
  if (!estimate) return {};
  out.estimate = *std::move(estimate);
  out.plugged_share = share_of(out.plugged);
  for (const double r : out.estimate.r)
    out.delivered.push_back(std::max(0.0, r) * (1 - out.plugged_share));
  return out;
}

}  // namespace evendrip
