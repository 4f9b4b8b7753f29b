// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/gauges.hpp"

#include <array>
#include <cmath>
#include <random>

#include <gtest/gtest.h>

#include "evendrip/base/random.hpp"
#include "field_folder.hpp"
#include "hand_laid_zone.hpp"

namespace evendrip {
namespace {

using testing::count;
using testing::entry;
using testing::HandLaidZone;

constexpr int far_ends[] = {HandLaidZone::first_end, HandLaidZone::first_end + 1,
                            HandLaidZone::first_end + 2};

struct Met {
  ZoneGauges gauges;
  Doubts doubts;
};

Met meet(const HandLaidZone& zone, const std::vector<WearWitness>& witnesses = {},
         const GaugePriors& priors = {}) {
  Met met;
  met.gauges = meet_gauges(zone.field, zone.survey, zone.network, witnesses, priors, met.doubts);
  return met;
}

/// In-soil ratio of the zone's emitters of 8 L/h before anything is read.
constexpr double soil = 0.704;

/// Readings of the inlet and all far ends of a zone whose emitters pass `wear` of their discharge,
/// slowed by the soil; `error(port)` is added to each.
template <typename Error>
HandLaidZone gauged(double inlet_kpa, double loss, double wear, double sd_kpa, Error error,
                    double in_soil = soil) {
  HandLaidZone zone;
  const ZoneNetwork truth = as_gauged(zone.network, inlet_kpa, loss, wear * in_soil);
  zone.read(HandLaidZone::inlet, inlet_kpa + error(0), sd_kpa);
  for (const int port : far_ends) {
    zone.read(port, HandLaidZone::pressure_at(truth, port) + error(port), sd_kpa);
  }
  return zone;
}
HandLaidZone gauged(double inlet_kpa, double loss, double wear, double sd_kpa) {
  return gauged(inlet_kpa, loss, wear, sd_kpa, [](int) { return 0.0; });
}

TEST(Gauges, AtTheInletAloneGiveTheWeightedMeanOfReadingAndStatement) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 100, 2);
  const Met met = meet(zone);
  const double prior_weight = 1 / std::pow(0.15 * 110, 2);
  const double weight = 1.0 / 4;
  EXPECT_NEAR(met.gauges.inlet_kpa.value,
              (100 * weight + 110 * prior_weight) / (weight + prior_weight), 1e-6);
  EXPECT_NEAR(met.gauges.inlet_kpa.sd, 1 / std::sqrt(weight + prior_weight), 1e-9);
  EXPECT_EQ(met.gauges.inlet_source, "gauge inlet");
  EXPECT_FALSE(met.gauges.loss_estimated);
  EXPECT_DOUBLE_EQ(met.gauges.loss_factor.value, 1);
  EXPECT_NEAR(met.gauges.loss_factor.sd, 0.15, 1e-12);
  EXPECT_NEAR(met.gauges.wear_factor.sd, std::hypot(0.15, 0.07), 1e-12);
}

TEST(Gauges, GiveBackInletPressureAndLossWhereTheWearIsKnown) {
  HandLaidZone zone = gauged(104, 1.25, 0.9, 0.02);
  GaugePriors wide;
  wide.inlet_sd_frac = 10;
  wide.loss_sd = 10;
  wide.soil_factor = Estimate{soil, 1e-4};
  const Met met = meet(zone, {{"holes", {0.9, 1e-4}}}, wide);
  EXPECT_NEAR(met.gauges.inlet_kpa.value, 104, 1e-3);
  EXPECT_NEAR(met.gauges.loss_factor.value, 1.25, 1e-3);
  EXPECT_NEAR(met.gauges.wear_factor.value, 0.9, 1e-4);
  EXPECT_TRUE(met.gauges.loss_estimated);
  EXPECT_TRUE(met.doubts.empty()) << testing::all_text(met.doubts);
  for (const PortComparison& port : met.gauges.ports) {
    EXPECT_NEAR(port.modelled_kpa, port.measured_kpa, 1e-2);
  }
}

TEST(Gauges, OfACloggedZoneDoNotPushTheErrorIntoFriction) {
  HandLaidZone zone = gauged(110, 1, 0.6, 0.5);
  const ZoneGauges with_wear = meet(zone, {{"holes", {0.62, 0.03}}}).gauges;
  EXPECT_LT(std::abs(with_wear.loss_factor.value - 1), 2 * with_wear.loss_factor.sd);
  EXPECT_LT(std::abs(with_wear.wear_factor.value - 0.6), 2 * with_wear.wear_factor.sd);

  // The same gauges on a network of clean emitters: wrong, and sure of it.
  zone.field.zones[0].emitter.rated_tolerance_frac = 0;
  GaugePriors no_wear;
  no_wear.wear_sd = 1e-6;
  no_wear.soil_factor = Estimate{soil, 1e-6};
  const ZoneGauges without_wear = meet(zone, {}, no_wear).gauges;
  EXPECT_GT(std::abs(without_wear.loss_factor.value - 1), 5 * without_wear.loss_factor.sd);
}

TEST(Gauges, AtFarEndsShareTheErrorBetweenWearAndLossWhereNothingTellsThemApart) {
  HandLaidZone zone = gauged(110, 1, 0.6, 0.5);
  const ZoneGauges gauges = meet(zone).gauges;
  EXPECT_LT(gauges.wear_factor.value, 0.85);
  EXPECT_LT(std::abs(gauges.loss_factor.value - 1), 2 * gauges.loss_factor.sd);
  EXPECT_FALSE(gauges.loss_estimated);
}

TEST(Gauges, OfOnePinchedLateralAreSetAsideAndTold) {
  HandLaidZone zone = gauged(110, 1, 1, 1, [](int port) { return port == far_ends[1] ? -50. : 0; });
  const Met met = meet(zone);
  ASSERT_EQ(met.gauges.ports.size(), 4U);
  const PortComparison& pinched = met.gauges.ports[2];
  EXPECT_TRUE(pinched.flagged);
  EXPECT_TRUE(pinched.set_aside);
  EXPECT_LT(pinched.standardised, -10);
  EXPECT_EQ(count(met.doubts, "port_disagrees"), 1);
  EXPECT_EQ(entry(met.doubts, "port_disagrees").place.row, 4U);
  EXPECT_NEAR(met.gauges.inlet_kpa.value, 110, 0.1);
  EXPECT_NEAR(met.gauges.loss_factor.value, 1, 0.01);
}

TEST(Gauges, AtTheInletAreNeverSetAside) {
  HandLaidZone zone;
  zone.read(HandLaidZone::inlet, 190, 1);
  const Met met = meet(zone);
  ASSERT_EQ(met.gauges.ports.size(), 1U);
  EXPECT_TRUE(met.gauges.ports[0].flagged);
  EXPECT_FALSE(met.gauges.ports[0].set_aside);
  EXPECT_NEAR(met.gauges.inlet_kpa.value, 190, 1);
}

TEST(Gauges, AtFarEndsGiveTheInletPressureWhereNoneIsReadThere) {
  HandLaidZone zone;
  zone.field.zones[0].inlet_pressure_kpa = 0;
  const ZoneNetwork truth = as_gauged(zone.network, 92, 1, soil);
  for (const int port : far_ends) zone.read(port, HandLaidZone::pressure_at(truth, port), 1);
  const Met met = meet(zone);
  EXPECT_EQ(met.gauges.inlet_source, "far-end gauges");
  EXPECT_LT(std::abs(met.gauges.inlet_kpa.value - 92), met.gauges.inlet_kpa.sd);
  EXPECT_LT(met.gauges.inlet_kpa.sd, 6);
  EXPECT_EQ(count(met.doubts, "inlet_not_measured"), 1);
}

TEST(Gauges, ThatAreMissingLeaveTheStatementOrTheRatedPressure) {
  HandLaidZone zone;
  EXPECT_TRUE(inlet_pressure_is_told(zone.field, zone.survey, zone.network));
  Met met = meet(zone);
  EXPECT_EQ(met.gauges.inlet_source, "field.toml");
  EXPECT_DOUBLE_EQ(met.gauges.inlet_kpa.value, 110);
  EXPECT_NEAR(met.gauges.inlet_kpa.sd, 16.5, 1e-9);
  EXPECT_TRUE(met.doubts.empty());

  zone.field.zones[0].inlet_pressure_kpa = 0;
  EXPECT_FALSE(inlet_pressure_is_told(zone.field, zone.survey, zone.network));
  met = meet(zone);
  EXPECT_EQ(met.gauges.inlet_source, "rated pressure");
  EXPECT_NEAR(met.gauges.inlet_kpa.sd, 50, 1e-9);
  EXPECT_EQ(entry(met.doubts, "inlet_not_measured").place.column, "inlet_pressure");

  zone.read(HandLaidZone::first_end, 90);
  EXPECT_TRUE(inlet_pressure_is_told(zone.field, zone.survey, zone.network));
}

TEST(Gauges, NeedNoMoreThanAFewSteps) {
  EXPECT_LT(meet(gauged(95, 1.2, 0.8, 1), {{"holes", {0.8, 0.05}}}).gauges.iterations, 15);
}

TEST(AsGauged, MultipliesFrictionAndEmittersOnly) {
  const HandLaidZone zone;
  const ZoneNetwork changed = as_gauged(zone.network, 90, 1.5, 0.8);
  EXPECT_DOUBLE_EQ(changed.network.frictions[0].multiplier, 1.5);
  for (const Outlet& outlet : changed.network.outlets) EXPECT_DOUBLE_EQ(outlet.factor, 0.8);
  EXPECT_NEAR(HandLaidZone::pressure_at(changed, HandLaidZone::inlet), 90, 1e-9);
}

// The truths are drawn from the priors, the readings from the truths: of 200 intervals of 1.96
// standard errors between 90 and 99 % must hold the truth (95 % expected; binomial 3.2 sd below).
TEST(Gauges, HaveStandardErrorsThatHoldTheTruthAsOftenAsTheySay) {
  constexpr int sets = 200;
  std::array<int, 4> held{};
  for (std::uint64_t set = 0; set < sets; ++set) {
    auto stream = item_stream(20260512, {set});
    std::normal_distribution<double> normal;
    const std::array<double, 4> truth = {110 + 16.5 * normal(stream), 1 + 0.15 * normal(stream),
                                         1 + std::hypot(0.15, 0.07) * normal(stream),
                                         soil + 0.12 * normal(stream)};
    const HandLaidZone zone = gauged(
        truth[0], truth[1], truth[2], 1.0, [&](int) { return normal(stream); }, truth[3]);
    const WearWitness holes{"holes", {truth[2] + 0.05 * normal(stream), 0.05}};
    const ZoneGauges gauges = meet(zone, {holes}).gauges;
    const std::array<Estimate, 4> found = {gauges.inlet_kpa, gauges.loss_factor, gauges.wear_factor,
                                           gauges.soil_factor};
    for (std::size_t k = 0; k < 4; ++k) {
      if (std::abs(found[k].value - truth[k]) <= 1.96 * found[k].sd) ++held[k];
    }
  }
  for (const int count_held : held) {
    EXPECT_GE(count_held, 0.90 * sets);
    EXPECT_LE(count_held, 0.99 * sets);
  }
}

}  // namespace
}  // namespace evendrip
