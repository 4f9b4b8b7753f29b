// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/fault_evidence.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

#include "../../src/condition/faulty_zone.hpp"
#include "../../src/condition/fitted_posterior.hpp"
#include "faulty_field.hpp"

namespace evendrip {
namespace {

constexpr std::array<std::size_t, 1> first = {0};

struct Judged {
  test::FaultyField zone;
  ZoneModel model;
  FaultyZone solved;
  std::vector<GaugeReading> readings;
  GaugeEvidence gauges;
  ConditionParameters parameters;

  explicit Judged(const test::FaultyPlan& plan)
      : zone(test::faulty_field(plan)),
        model(zone.grid, zone.holes, zone.crop, ranges_of(zone.grid, 1)),
        solved(zone.grid, *zone.zone().network, {}),
        gauges(zone.field.zones[0], zone.zone(), {}, {}, zone.grid, *zone.zone().network) {}
  FaultEvidence evidence(const std::vector<double>& weights = {},
                         const std::optional<MeterDatum>& meter = {}) {
    return FaultEvidence(model, parameters, weights, 0.75, gauges, meter, solved.clean());
  }
  FaultEffect effect(const Fault& fault) const { return *solved.with(std::span(&fault, 1)); }
};

test::FaultyPlan small_plan() {
  test::FaultyPlan plan;
  plan.layout.laterals = 12;
  plan.layout.length_m = 60;
  plan.dug_laterals = 6;
  plan.plugged = 0;
  return plan;
}

TEST(FaultEvidence, GainsWhatTheLikelihoodGainsWithTheEffectKnown) {
  Judged judged(small_plan());
  const FaultEffect effect = judged.effect({FaultKind::pinch, true, 5, 15, 0.985});
  FaultEvidence evidence = judged.evidence();
  const FaultGain gain = evidence.gains(std::span(&effect, 1), FaultAmount::as_solved, first)[0];
  const ConditionParameters parameters = evidence.variants()[0];
  const double clean = *judged.model.log_likelihood(parameters);
  evidence.accept(effect);
  EXPECT_EQ(judged.model.known_change(), effect.change);
  EXPECT_NEAR(gain.holes_and_crop, *judged.model.log_likelihood(parameters) - clean, 1e-6);
  EXPECT_NEAR(evidence.gains(std::span(&effect, 1), FaultAmount::as_solved, first)[0].total(), 0,
              1e-9);
}

TEST(FaultEvidence, FindsTheAmountThatFitsBest) {
  test::FaultyPlan plan = small_plan();
  const Fault fault{FaultKind::pinch, true, 5, 15, 0.985};
  plan.faults = {fault};
  Judged judged(plan);
  const FaultEvidence evidence = judged.evidence();
  const FaultEffect shut = judged.effect({FaultKind::shut, true, 5, 15, 0});
  const FaultEffect real = judged.effect(fault);
  const FaultGain best = evidence.gains(std::span(&shut, 1), FaultAmount::best, first)[0];
  const FaultGain as_it_is = evidence.gains(std::span(&real, 1), FaultAmount::as_solved, first)[0];
  const auto segment = static_cast<std::size_t>(judged.zone.grid.segment(5, 10));
  EXPECT_NEAR(best.amount, -real.change[segment], 0.15);
  EXPECT_GT(as_it_is.total(), 3);
  EXPECT_NEAR(best.total(), as_it_is.total(), 0.3 * as_it_is.total() + 1);
}

TEST(FaultEvidence, LetsHolesThatSeemPluggedSpeakForAShutPipe) {
  test::FaultyPlan plan = small_plan();
  plan.crop = false;
  const Fault shut{FaultKind::shut, true, 5, 0, 0};
  plan.faults = {shut};
  Judged judged(plan);
  std::vector<double> weights;
  double plugged = 0;
  for (const HoleDatum& hole : judged.zone.holes) {
    weights.push_back(hole.value < 0.2 ? 1e-6 : 1);
    plugged += hole.value < 0.2 ? 1 - 1e-6 : 0;
  }
  ASSERT_NEAR(plugged, 3, 0.01);
  const FaultEffect effect = judged.effect(shut);
  const FaultEvidence evidence = judged.evidence(weights);
  judged.parameters = evidence.variants()[0];
  const FaultGain gain = evidence.gains(std::span(&effect, 1), FaultAmount::as_solved, first)[0];
  // By hand: the other holes alone and three plugged ones, against all of them with the fault.
  const double share = (plugged + 0.1) / (static_cast<double>(weights.size()) + 10);
  std::vector<double> others = weights;
  for (double& weight : others) weight = weight < 1 ? 1e-9 : 1;
  const double variance = judged.parameters.emitter * judged.parameters.emitter + 1e-4;
  const double clean = *judged.model.log_likelihood(judged.parameters, others) -
                       3 * 0.5 * std::log(1e-9 / variance / (2 * std::numbers::pi)) +
                       3 * std::log(share / 0.75);
  judged.model.set_known_change(effect.change);
  const double with = *judged.model.log_likelihood(judged.parameters) + 3 * std::log1p(-share);
  EXPECT_NEAR(gain.holes_and_crop, with - clean, 0.1);
  EXPECT_GT(gain.holes_and_crop, 8);
}

TEST(FaultEvidence, HoldsAFaultAgainstTheBestParametersWithoutIt) {
  test::FaultyPlan plan = small_plan();
  const Fault fault{FaultKind::shut, true, 5, 15, 0};
  plan.faults = {fault};
  Judged judged(plan);
  const FaultEffect effect = judged.effect(fault);
  judged.parameters.own = 0.2;
  judged.parameters.local = 0.3;
  FaultEvidence evidence = judged.evidence();
  EXPECT_NEAR(evidence.variants()[0].local, judged.parameters.local, 1e-12);
  std::vector<std::size_t> all;
  const auto most_likely = [&] {
    double most = impossible_posterior;
    for (const ConditionParameters& variant : evidence.variants())
      most = std::max(most, FittedPosterior(judged.model, variant, {}, PosteriorOf::parameters)
                                .value_at(fitted_of(variant)));
    return most;
  };
  for (std::size_t i = 0; i < evidence.variants().size(); ++i) all.push_back(i);
  ASSERT_GE(all.size(), 6U);
  const double without = most_likely();
  const FaultGain best = evidence.gains(std::span(&effect, 1), FaultAmount::as_solved, all)[0];
  judged.model.set_known_change(effect.change);
  EXPECT_NEAR(best.holes_and_crop, most_likely() - without, 1e-6);
  EXPECT_LT(evidence.variants()[best.variant].local, judged.parameters.local);
}

TEST(FaultEvidence, LeavesSmallLossesToTheSmoothParts) {
  Judged judged(small_plan());
  FaultEffect slight = judged.effect({FaultKind::shut, true, 5, 0, 0});
  for (double& change : slight.change) change *= 0.09;
  const FaultGain gain =
      judged.evidence().gains(std::span(&slight, 1), FaultAmount::as_solved, first)[0];
  EXPECT_EQ(gain.amount, 0);
  EXPECT_EQ(gain.total(), 0);
}

TEST(FaultEvidence, HearsTheMeter) {
  test::FaultyPlan plan = small_plan();
  plan.crop = false;
  Judged judged(plan);
  MeterDatum meter;
  meter.value = 0.5;
  meter.noise_variance = 0.05 * 0.05;
  const FaultEffect half = judged.effect({FaultKind::shut, false, 0, 9, 0});
  const FaultGain gain =
      judged.evidence({}, meter).gains(std::span(&half, 1), FaultAmount::as_solved, first)[0];
  EXPECT_NEAR(gain.meter,
              meter.log_likelihood(half.inflow, judged.parameters.level) -
                  meter.log_likelihood(1, judged.parameters.level),
              1e-9);
  EXPECT_GT(gain.meter, 5);
}

}  // namespace
}  // namespace evendrip
