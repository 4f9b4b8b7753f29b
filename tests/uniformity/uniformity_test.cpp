// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/uniformity.hpp"

#include "evendrip/base/random.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <random>
#include <stdexcept>

namespace evendrip {
namespace {

constexpr QuarterRule all_rules[] = {QuarterRule::fractional, QuarterRule::floor,
                                     QuarterRule::ceiling};

/// Invented discharges: even ones, starved ones, and some plugged.
std::vector<double> invented_sample(std::uint64_t seed, std::size_t n) {
  std::mt19937_64 stream = item_stream(seed, {n});
  std::vector<double> sample(n);
  for (double& q : sample) {
    const double u = static_cast<double>(stream() >> 11U) * 0x1.0p-53;
    q = u < 0.05 ? 0 : 0.4 + u;
  }
  return sample;
}

TEST(Uniformity, DoesNotChangeWithTheUnitOfDischarge) {
  for (std::size_t n = 1; n < 40; ++n) {
    const std::vector<double> sample = invented_sample(7, n);
    std::vector<double> gallons = sample;
    for (double& q : gallons) q *= 0.264172;
    EXPECT_NEAR(coefficient_of_variation(sample), coefficient_of_variation(gallons), 1e-13);
    EXPECT_NEAR(christiansen_coefficient(sample), christiansen_coefficient(gallons), 1e-13);
    EXPECT_NEAR(statistical_uniformity(sample), statistical_uniformity(gallons), 1e-13);
    for (const QuarterRule rule : all_rules) {
      EXPECT_NEAR(low_quarter_uniformity(sample, rule), low_quarter_uniformity(gallons, rule),
                  1e-13);
    }
  }
}

TEST(Uniformity, IsTheSameToTheLastBitInAnyOrderOfDigging) {
  std::vector<double> sample = invented_sample(11, 37);
  const double cv = coefficient_of_variation(sample);
  const double low = low_quarter_uniformity(sample);
  const double christiansen = christiansen_coefficient(sample);
  std::mt19937_64 stream = item_stream(3, {1});
  for (int turn = 0; turn < 20; ++turn) {
    std::shuffle(sample.begin(), sample.end(), stream);
    EXPECT_EQ(coefficient_of_variation(sample), cv);
    EXPECT_EQ(low_quarter_uniformity(sample), low);
    EXPECT_EQ(christiansen_coefficient(sample), christiansen);
  }
}

// sum|q - mean| is twice the shortfall below the mean, and the lowest quarter alone can lie below
// it by at most all of that: 1 - DUlq <= 2 (1 - CU), and at least half of (1 - CU), the shortfall
// of an average reading.
TEST(Uniformity, KeepsTheLowQuarterBetweenTheLimitsSetByChristiansen) {
  for (std::size_t n = 4; n < 200; n += 4) {
    const std::vector<double> sample = invented_sample(5, n);
    const double short_of_even = 1 - christiansen_coefficient(sample);
    const double low_short = 1 - low_quarter_uniformity(sample);
    EXPECT_LE(low_short, 2 * short_of_even + 1e-12);
    EXPECT_GE(low_short, 0.5 * short_of_even - 1e-12);
  }
}

TEST(Uniformity, GrowsFromTheFloorRuleToTheCeilingRule) {
  for (std::size_t n = 4; n < 120; ++n) {
    const std::vector<double> sample = invented_sample(23, n);
    const double floor = low_quarter_uniformity(sample, QuarterRule::floor);
    const double part = low_quarter_uniformity(sample, QuarterRule::fractional);
    const double ceiling = low_quarter_uniformity(sample, QuarterRule::ceiling);
    EXPECT_LE(floor, part + 1e-12);
    EXPECT_LE(part, ceiling + 1e-12);
    EXPECT_LE(ceiling, 1 + 1e-12);
    if (n % 4 == 0) {
      EXPECT_NEAR(floor, ceiling, 1e-12);
    }
  }
}

TEST(Uniformity, OfOneReadingIsWhole) {
  const std::vector<double> one = {1.2};
  EXPECT_EQ(mean_of(one), 1.2);
  EXPECT_EQ(coefficient_of_variation(one), 0);
  EXPECT_EQ(statistical_uniformity(one), 1);
  EXPECT_EQ(christiansen_coefficient(one), 1);
  for (const QuarterRule rule : all_rules) EXPECT_NEAR(low_quarter_uniformity(one, rule), 1, 1e-15);
}

TEST(Uniformity, OfAPluggedSampleIsZero) {
  const std::vector<double> dry(9, 0.0);
  EXPECT_EQ(coefficient_of_variation(dry), 0);
  EXPECT_EQ(statistical_uniformity(dry), 0);
  EXPECT_EQ(christiansen_coefficient(dry), 0);
  EXPECT_EQ(low_quarter_uniformity(dry), 0);
  EXPECT_EQ(uniformity_from_sixths(dry), 0);
}

TEST(Uniformity, RefusesSamplesThatAreEmptyNegativeOrNotFinite) {
  const std::vector<std::vector<double>> refused = {
      {},
      {1, -0.1, 1, 1, 1, 1},
      {1, std::numeric_limits<double>::quiet_NaN(), 1, 1, 1, 1},
      {1, std::numeric_limits<double>::infinity(), 1, 1, 1, 1}};
  for (const std::vector<double>& sample : refused) {
    EXPECT_THROW(mean_of(sample), std::invalid_argument);
    EXPECT_THROW(coefficient_of_variation(sample), std::invalid_argument);
    EXPECT_THROW(low_quarter_uniformity(sample), std::invalid_argument);
    EXPECT_THROW(christiansen_coefficient(sample), std::invalid_argument);
    EXPECT_THROW(statistical_uniformity(sample), std::invalid_argument);
    EXPECT_THROW(uniformity_from_sixths(sample), std::invalid_argument);
  }
}

TEST(UniformityFromSixths, NeedsSixTimesAndIgnoresTheMiddle) {
  const std::vector<double> five = {1, 2, 3, 4, 5};
  EXPECT_THROW(uniformity_from_sixths(five), std::invalid_argument);
  const std::vector<double> a = {60, 70, 71, 72, 73, 90};
  const std::vector<double> b = {60, 61, 75, 75, 89, 90};
  EXPECT_EQ(uniformity_from_sixths(a), uniformity_from_sixths(b));
}

/// Two square zones of 1 ha and 3 ha of an invented field.
Field two_zones() {
  Field field;
  field.name = "Plover Reach";
  field.crs = parse_crs("EPSG:32614");
  const auto square = [](double x, double y, double w, double h) {
    return MultiPolygon{Polygon{{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, {}}};
  };
  Zone north;
  north.id = "north";
  north.area = square(500'000, 4'400'000, 100, 100);
  Zone south;
  south.id = "south";
  south.area = square(500'000, 4'399'000, 300, 100);
  field.zones = {north, south};
  return field;
}

MeasuredEmitter emitter_in(int zone, double discharge_lph,
                           EmitterState state = EmitterState::runs) {
  MeasuredEmitter emitter;
  emitter.name = "e";
  emitter.site.zone = zone;
  emitter.discharge_lph = discharge_lph;
  emitter.state = state;
  return emitter;
}

bool has_code(const Doubts& doubts, const std::string& code) {
  return std::any_of(doubts.begin(), doubts.end(), [&](const Doubt& d) { return d.code == code; });
}

TEST(EvaluateUniformity, CountsDamagedAndUnfoundEmittersApart) {
  Survey survey;
  survey.emitters = {emitter_in(0, 1.0), emitter_in(0, 0.2, EmitterState::dug_damage),
                     emitter_in(0, 0, EmitterState::not_found), emitter_in(0, 1.2),
                     emitter_in(0, 0, EmitterState::none)};
  const Uniformity uniformity = evaluate_uniformity(two_zones(), survey);
  const UniformityResult& zone = uniformity.zones[0];
  EXPECT_EQ(zone.emitters, 3);
  EXPECT_EQ(zone.damaged, 1);
  EXPECT_EQ(zone.not_found, 1);
  EXPECT_EQ(zone.plugged, 1);
  EXPECT_NEAR(zone.mean_lph, 2.2 / 3, 1e-12);
  EXPECT_NEAR(zone.median_lph, 1.0, 1e-12);
  EXPECT_EQ(uniformity.field.emitters, 3);
  EXPECT_EQ(uniformity.field.damaged, 1);
  EXPECT_EQ(uniformity.field.not_found, 1);
}

TEST(EvaluateUniformity, TakesAmbiguousEmittersAndLeavesOutThoseOutsideEveryZone) {
  Survey survey;
  survey.emitters = {emitter_in(0, 1.0), emitter_in(0, 2.0), emitter_in(-1, 9.0),
                     emitter_in(0, 9.0)};
  survey.emitters[1].placement = Placement::ambiguous;
  survey.emitters[2].placement = Placement::outside;
  survey.emitters[3].placement = Placement::outside;
  const Uniformity uniformity = evaluate_uniformity(two_zones(), survey);
  EXPECT_EQ(uniformity.zones[0].emitters, 2);
  EXPECT_NEAR(uniformity.field.mean_lph, 1.5, 1e-12);
}

TEST(EvaluateUniformity, PoolsTheFieldAndWeighsZonesByTheirArea) {
  Survey survey;
  for (const double q : {1.0, 1.0, 1.0, 1.0}) survey.emitters.push_back(emitter_in(0, q));
  for (const double q : {0.5, 1.0, 1.0, 1.5}) survey.emitters.push_back(emitter_in(1, q));
  const Uniformity uniformity = evaluate_uniformity(two_zones(), survey);
  EXPECT_NEAR(uniformity.zones[0].low_quarter_frac, 1.0, 1e-12);
  EXPECT_NEAR(uniformity.zones[1].low_quarter_frac, 0.5, 1e-12);
  EXPECT_NEAR(uniformity.field.low_quarter_frac, 0.75, 1e-12);
  EXPECT_NEAR(uniformity.field_low_quarter_area_weighted_frac, 0.25 * 1.0 + 0.75 * 0.5, 1e-6);
  EXPECT_NEAR(uniformity.zones[1].area_ha / uniformity.zones[0].area_ha, 3, 1e-5);
  EXPECT_NEAR(uniformity.field.area_ha, uniformity.zones[0].area_ha + uniformity.zones[1].area_ha,
              1e-12);
}

TEST(EvaluateUniformity, SaysWhereTheSampleIsTooSmallOrMissing) {
  Survey survey;
  for (int i = 0; i < 17; ++i) survey.emitters.push_back(emitter_in(0, 1.0));
  Uniformity uniformity = evaluate_uniformity(two_zones(), survey);
  EXPECT_TRUE(has_code(uniformity.doubts, "few_emitters"));
  EXPECT_TRUE(has_code(uniformity.doubts, "zone_not_sampled"));
  EXPECT_TRUE(has_code(uniformity.doubts, "no_plugged_emitter_seen"));
  EXPECT_EQ(uniformity.zones[1].emitters, 0);
  EXPECT_NEAR(uniformity.field_low_quarter_area_weighted_frac, 1.0, 1e-12);
  for (int i = 0; i < 18; ++i) survey.emitters.push_back(emitter_in(1, i == 0 ? 0.0 : 1.0));
  survey.emitters.push_back(emitter_in(0, 1.0));
  uniformity = evaluate_uniformity(two_zones(), survey);
  EXPECT_TRUE(uniformity.doubts.empty());
}

TEST(EvaluateUniformity, LeavesOutAnEmitterWithoutDischargeAndSaysSo) {
  Survey survey;
  survey.emitters = {emitter_in(0, 1.0), emitter_in(0, std::numeric_limits<double>::quiet_NaN())};
  const Uniformity uniformity = evaluate_uniformity(two_zones(), survey);
  EXPECT_EQ(uniformity.zones[0].emitters, 1);
  EXPECT_TRUE(has_code(uniformity.doubts, "emitter_without_discharge"));
}

}  // namespace
}  // namespace evendrip
