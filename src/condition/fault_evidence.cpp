// SPDX-License-Identifier: Apache-2.0
#include "fault_evidence.hpp"

#include "evendrip/condition/plugged_holes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <map>
#include <numbers>
#include <utility>

#include "fitted_posterior.hpp"

namespace evendrip {
namespace {

constexpr double seems_plugged = 0.5;  ///< holes that weigh less
constexpr double takes_enough = -0.2;
constexpr double as_foretold = 0.25;  ///< of what a hole should show with the fault
constexpr double nothing_shows_kpa = 0.02;
constexpr double least_loss = 0.1;     ///< of its water, that a segment loses by a fault
constexpr double least_weight = 1e-6;  ///< keeps the equations sound, says nothing
constexpr std::array<double, 2> part_factors = {1, 0.35};
constexpr std::array<double, 4> slope_factors = {1, 0.6, 0.36, 1.6};

double squared(double v) {
  return v * v;
}

std::vector<double> response_of(const FaultEffect& effect, const FaultEffect& known) {
  std::vector<double> response(effect.change.size());
  for (std::size_t i = 0; i < response.size(); ++i)
    response[i] = effect.change[i] - known.change[i];
  return response;
}

std::vector<ConditionParameters> variants_of(const ConditionParameters& fitted, bool crop) {
  std::vector<ConditionParameters> variants;
  for (const double parts : part_factors)
    for (const double slope : slope_factors) {
      if (!crop && slope != 1) continue;
      ConditionParameters p = fitted;
      for (double* sd : {&p.along, &p.own, &p.group, &p.local}) *sd *= parts;
      p.response *= slope;
      variants.push_back(parameters_at(fitted_of(p), p));
    }
  return variants;
}

}  // namespace

FaultEvidence::FaultEvidence(ZoneModel& model, const ConditionParameters& parameters,
                             std::span<const double> hole_weights, double plugged_below,
                             const GaugeEvidence& gauges, const std::optional<MeterDatum>& meter,
                             const FaultEffect& known)
    : model_(model),
      variants_(variants_of(parameters, model.crop_data() > 0)),
      weights_(hole_weights.begin(), hole_weights.end()),
      plugged_below_(plugged_below),
      gauges_(gauges),
      meter_(meter) {
  if (weights_.empty()) weights_.assign(model.holes(), 1);
  for (double& weight : weights_) weight = std::clamp(weight, least_weight, 1.0);
  std::vector<double> plugged;
  plugged.reserve(weights_.size());
  for (const double weight : weights_) plugged.push_back(1 - weight);
  plugged_share_ = plugged_share(plugged);
  set_known(known);
}

void FaultEvidence::set_known(const FaultEffect& effect) {
  known_ = effect;
  const bool any = std::any_of(known_.change.begin(), known_.change.end(),
                               [](double change) { return change != 0; });
  model_.set_known_change(any ? known_.change : std::vector<double>{});
  known_gauges_ = gauges_.log_likelihood(known_.gauged_kpa);
  known_meter_ = meter_likelihood(known_.inflow);
  known_holes_and_crop_.assign(variants_.size(), {});
}

double FaultEvidence::posterior(const ConditionParameters& variant,
                                const std::vector<double>& weights) const {
  return FittedPosterior(model_, variant, weights, PosteriorOf::parameters)
      .value_at(fitted_of(variant));
}

double FaultEvidence::posterior_without(std::span<const std::size_t> variants) const {
  for (const std::size_t i : variants)
    if (!known_holes_and_crop_[i]) known_holes_and_crop_[i] = posterior(variants_[i], weights_);
  double best = impossible_posterior;
  for (const auto& likelihood : known_holes_and_crop_)
    best = std::max(best, likelihood.value_or(impossible_posterior));
  return best;
}

void FaultEvidence::accept(const FaultEffect& effect) {
  weights_ = weights_with(released(effect, FaultAmount::as_solved));
  set_known(effect);
}

std::vector<std::size_t> FaultEvidence::released(const FaultEffect& effect,
                                                 FaultAmount amount) const {
  std::vector<std::size_t> holes;
  for (std::size_t i = 0; i < weights_.size(); ++i) {
    const HoleDatum& hole = model_.hole_data()[i];
    const auto segment = static_cast<std::size_t>(model_.grid().segment(hole.row, hole.station));
    const double change = effect.change[segment];
    const bool fits =
        amount == FaultAmount::best || std::abs(hole.value - (1 + change)) < as_foretold;
    if (weights_[i] < seems_plugged && change - known_.change[segment] <= takes_enough && fits)
      holes.push_back(i);
  }
  return holes;
}

std::vector<double> FaultEvidence::weights_with(const std::vector<std::size_t>& released) const {
  std::vector<double> weights = weights_;
  for (const std::size_t hole : released) weights[hole] = 1;
  return weights;
}

/// Holes that seemed plugged pass anything below the threshold alike; now they are Gaussian.
double FaultEvidence::gain_of_variant(std::size_t variant, double without,
                                      const std::vector<std::size_t>& released) const {
  const std::optional<double>& known = known_holes_and_crop_[variant];
  if (released.empty() && known) return *known - without;
  double gain = posterior(variants_[variant], weights_with(released)) - without;
  for (const std::size_t hole : released) {
    const double variance =
        squared(variants_.front().emitter) + model_.hole_data()[hole].noise_variance;
    gain += 0.5 * std::log(weights_[hole] / (2 * std::numbers::pi * variance));
    gain += std::log1p(-plugged_share_) - std::log(plugged_share_ / plugged_below_);
  }
  return gain;
}

double FaultEvidence::gauge_likelihood(const std::vector<double>& gauged_kpa) const {
  double furthest = 0;
  for (std::size_t i = 0; i < gauged_kpa.size(); ++i)
    furthest = std::max(furthest, std::abs(gauged_kpa[i] - known_.gauged_kpa[i]));
  return furthest < nothing_shows_kpa ? known_gauges_ : gauges_.log_likelihood(gauged_kpa);
}

double FaultEvidence::meter_likelihood(double inflow) const {
  return meter_ ? meter_->log_likelihood(inflow, variants_.front().level) : 0;
}

FaultGain FaultEvidence::gain_at(double amount, const ResponseTest& test,
                                 const FaultEffect& effect) const {
  FaultGain gain;
  gain.amount = amount;
  if (test.sd > 0)
    gain.holes_and_crop = (2 * test.amount - amount) * amount / (2 * squared(test.sd));
  std::vector<double> gauged = known_.gauged_kpa;
  for (std::size_t i = 0; i < gauged.size(); ++i)
    gauged[i] += amount * (effect.gauged_kpa[i] - gauged[i]);
  gain.gauges = gauge_likelihood(gauged) - known_gauges_;
  gain.meter =
      meter_likelihood(known_.inflow + amount * (effect.inflow - known_.inflow)) - known_meter_;
  return gain;
}

FaultGain FaultEvidence::best_gain(FaultAmount amount, const ResponseTest& test,
                                   const FaultEffect& effect) const {
  double most = 0;
  for (std::size_t i = 0; i < effect.change.size(); ++i)
    if (known_.change[i] > -1)
      most = std::max(most, (known_.change[i] - effect.change[i]) / (1 + known_.change[i]));
  FaultGain best;
  best.amount = 0;
  if (most < least_loss) return best;
  if (amount == FaultAmount::as_solved) return gain_at(1, test, effect);
  for (const double t : {test.amount * most, least_loss, 0.25, 0.5, 0.75, 1.0}) {
    const FaultGain gain = gain_at(std::clamp(t, least_loss, 1.0) / most, test, effect);
    if (gain.total() > best.total()) best = gain;
  }
  return best;
}

std::vector<FaultGain> FaultEvidence::gains(std::span<const FaultEffect> effects,
                                            FaultAmount amount,
                                            std::span<const std::size_t> variants) const {
  std::vector<std::vector<double>> responses;
  std::map<std::vector<std::size_t>, std::vector<std::size_t>> groups;
  for (std::size_t i = 0; i < effects.size(); ++i) {
    responses.push_back(response_of(effects[i], known_));
    const std::vector<std::size_t> holes = released(effects[i], amount);
    groups[holes].push_back(i);
    // In proportion, a fault may leave more than the holes showed: then they are plugged after all.
    if (!holes.empty() && amount == FaultAmount::best) groups[{}].push_back(i);
  }
  std::vector<FaultGain> gains(effects.size());
  for (FaultGain& gain : gains) gain.amount = 0;
  const double without = posterior_without(variants);
  for (const std::size_t variant : variants)
    for (const auto& [holes, members] : groups) {
      std::vector<std::vector<double>> of_group;
      std::vector<std::uint8_t> by_crop;
      for (const std::size_t i : members) {
        of_group.push_back(responses[i]);
        by_crop.push_back(effects[i].seen_by_crop ? 1 : 0);
      }
      const double of_variant = gain_of_variant(variant, without, holes);
      const auto tests =
          model_.tested_responses(variants_[variant], of_group, weights_with(holes), by_crop);
      if (tests.empty()) continue;
      for (std::size_t k = 0; k < members.size(); ++k) {
        FaultGain gain = best_gain(amount, tests[k], effects[members[k]]);
        gain.holes_and_crop += of_variant;
        gain.variant = variant;
        FaultGain& best = gains[members[k]];
        if (gain.amount > 0 && (best.amount == 0 || gain.total() > best.total())) best = gain;
      }
    }
  return gains;
}

}  // namespace evendrip
