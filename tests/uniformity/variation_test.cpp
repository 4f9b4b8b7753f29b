// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/variation.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::Not;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

VariedEmitter emitter_of(double discharge_lph, double pressure_kpa, int lateral,
                         double station_frac) {
  VariedEmitter emitter;
  emitter.discharge_lph = discharge_lph;
  emitter.pressure_kpa = pressure_kpa;
  emitter.lateral = lateral;
  emitter.station_frac = station_frac;
  return emitter;
}

struct Drawn {
  double maker_cv = 0.04;
  double tail_loss = 0;  ///< share of performance lost at the tail
  double tail_pressure_frac = 0.8;
};

/// Six laterals with six emitters each; pressure falls to the tail.
std::vector<VariedEmitter> drawn_zone(const Drawn& drawn, std::uint64_t seed = 3) {
  std::mt19937_64 stream(seed);
  std::normal_distribution<double> normal;
  std::vector<VariedEmitter> emitters;
  for (int lateral = 0; lateral < 6; ++lateral) {
    for (int e = 0; e < 6; ++e) {
      const double station = (e + 0.5) / 6;
      const double kpa = 100 * (1 - (1 - drawn.tail_pressure_frac) * station);
      const double performance =
          (1 - drawn.tail_loss * station) * (1 + drawn.maker_cv * normal(stream));
      emitters.push_back(emitter_of(performance * std::sqrt(kpa / 100), kpa, lateral, station));
    }
  }
  return emitters;
}

bool all_finite(const Variation& v) {
  const std::vector<double> figures = {v.plain.total,
                                       v.plain.hydraulic,
                                       v.plain.performance,
                                       v.plain.covariance,
                                       v.plain.remainder,
                                       v.plain.pressure_cv,
                                       v.plain.performance_cv,
                                       v.plain.discharge_cv,
                                       v.logarithms.total,
                                       v.logarithms.hydraulic,
                                       v.logarithms.performance,
                                       v.logarithms.covariance,
                                       v.excess.running_cv,
                                       v.excess.all_cv,
                                       v.excess.running_excess_cv,
                                       v.excess.all_excess_cv,
                                       v.excess.p_value,
                                       v.discharge.total_variance(),
                                       v.discharge.mean,
                                       v.discharge.mean_standard_error,
                                       v.discharge.lateral_share_frac,
                                       v.log_performance.total_variance(),
                                       v.log_performance.mean_standard_error,
                                       v.trend.slope,
                                       v.trend.standard_error,
                                       v.trend.t,
                                       v.trend.p_two_sided,
                                       v.trend.lower,
                                       v.trend.upper};
  return std::all_of(figures.begin(), figures.end(), [](double x) { return std::isfinite(x); });
}

TEST(LogDivision, AddsUpExactly) {
  const Variation v = divided_variation(drawn_zone({.tail_loss = 0.3}), {});
  ASSERT_TRUE(v.logarithms.computed);
  EXPECT_NEAR(v.logarithms.total,
              v.logarithms.hydraulic + v.logarithms.performance + v.logarithms.covariance, 1e-14);
}

TEST(PlainDivision, OfSmallVariationNearsTheOneInLogarithms) {
  const Drawn even{.maker_cv = 0.01, .tail_loss = 0.02, .tail_pressure_frac = 0.97};
  const Variation v = divided_variation(drawn_zone(even), {});
  ASSERT_TRUE(v.plain.computed);
  EXPECT_NEAR(v.plain.total, v.logarithms.total, 0.02 * v.logarithms.total);
  EXPECT_NEAR(v.plain.hydraulic, v.logarithms.hydraulic, 0.03 * v.logarithms.hydraulic);
  EXPECT_NEAR(v.plain.performance, v.logarithms.performance, 0.02 * v.logarithms.performance);
  EXPECT_NEAR(v.plain.covariance, v.logarithms.covariance, 0.03 * v.logarithms.covariance);
  EXPECT_LT(std::abs(v.plain.remainder), 0.01 * v.plain.total);
}

TEST(PlainDivision, OfEqualPressuresIsAllEmitters) {
  std::vector<VariedEmitter> emitters = drawn_zone({});
  for (VariedEmitter& e : emitters) e.pressure_kpa = 90;
  const Variation v = divided_variation(emitters, {});
  EXPECT_NEAR(v.plain.hydraulic, 0, 1e-20);
  EXPECT_NEAR(v.plain.performance, v.plain.total, 1e-12);
  EXPECT_NEAR(v.plain.covariance, 0, 1e-12);
}

// Sediment at the tail takes pressure and performance from the same emitters. Taken apart without
// their covariance the parts would miss a good share of the whole.
TEST(Variation, OfATailWithSedimentShowsThatBothFallTogether) {
  const Variation v =
      divided_variation(drawn_zone({.tail_loss = 0.5, .tail_pressure_frac = 0.6}), {});
  EXPECT_GT(v.logarithms.covariance, 0.2 * v.logarithms.total);
  EXPECT_THAT(v.statements, Contains(HasSubstr("sediment at the tail")));
  ASSERT_TRUE(v.trend.computed);
  EXPECT_LT(v.trend.upper, 0);
}

TEST(Variation, OfACleanZoneShowsNoTrendBeyondFriction) {
  const Variation v = divided_variation(drawn_zone({.tail_pressure_frac = 0.6}), {});
  ASSERT_TRUE(v.trend.computed);
  EXPECT_LT(v.trend.lower, 0);
  EXPECT_GT(v.trend.upper, 0);
  EXPECT_THAT(v.statements, Contains(HasSubstr("not told from chance")));
}

TEST(PerformanceExcess, IsToldForWornEmittersAndNotForNewOnes) {
  VariationOptions options;
  options.maker_cv = 0.04;
  const Variation clean = divided_variation(drawn_zone({}), options);
  ASSERT_TRUE(clean.excess.computed);
  EXPECT_GT(clean.excess.p_value, 0.05);
  EXPECT_THAT(clean.excess.statement, HasSubstr("neither clogging nor wear is told"));
  const Variation worn = divided_variation(drawn_zone({.maker_cv = 0.12}), options);
  EXPECT_LT(worn.excess.p_value, 1e-6);
  EXPECT_NEAR(worn.excess.running_excess_cv,
              std::sqrt(worn.excess.running_cv * worn.excess.running_cv - 0.04 * 0.04), 1e-12);
}

TEST(PerformanceExcess, BlamesNewEmittersInOneSampleOfTwenty) {
  VariationOptions options;
  options.maker_cv = 0.05;
  int blamed = 0;
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    if (divided_variation(drawn_zone({.maker_cv = 0.05}, seed), options).excess.p_value < 0.05) {
      ++blamed;
    }
  }
  // 20 expected; three standard errors of a binomial count of 400 are 13.
  EXPECT_NEAR(blamed, 20, 13);
}

// New emitters on laterals whose pressures are not known well: half of the variance is the
// lateral's.
TEST(PerformanceExcess, OfEmittersAlikeOnALateralIsNotBlamedTooOften) {
  VariationOptions options;
  options.maker_cv = 0.05;
  int blamed = 0;
  int blamed_as_independent = 0;
  for (std::uint64_t seed = 1; seed <= 400; ++seed) {
    std::mt19937_64 stream(seed);
    std::normal_distribution<double> normal;
    std::vector<VariedEmitter> emitters = drawn_zone({.maker_cv = 0}, seed);
    double lateral = 0;
    for (std::size_t i = 0; i < emitters.size(); ++i) {
      if (i % 6 == 0) lateral = 0.05 * std::sqrt(0.8) * normal(stream);
      emitters[i].discharge_lph *= 1 + lateral + 0.05 * std::sqrt(0.2) * normal(stream);
    }
    const PerformanceExcess excess = divided_variation(emitters, options).excess;
    blamed += excess.p_value < 0.05 ? 1 : 0;
    blamed_as_independent += excess.independent_p_value < 0.05 ? 1 : 0;
  }
  EXPECT_NEAR(blamed, 20, 13);
  EXPECT_GT(blamed_as_independent, 33);
}

TEST(PerformanceExcess, HasLimitsAboutIt) {
  VariationOptions options;
  options.maker_cv = 0.04;
  const PerformanceExcess worn = divided_variation(drawn_zone({.maker_cv = 0.12}), options).excess;
  EXPECT_LT(worn.running_excess_lower_cv, worn.running_excess_cv);
  EXPECT_GT(worn.running_excess_upper_cv, worn.running_excess_cv);
  EXPECT_GT(worn.running_excess_lower_cv, 0);
  const PerformanceExcess clean = divided_variation(drawn_zone({}), options).excess;
  EXPECT_EQ(clean.running_excess_lower_cv, 0);
}

TEST(PerformanceExcess, TakesTheErrorOfMeasuringOffFirst) {
  VariationOptions options;
  options.maker_cv = 0.04;
  options.measuring_cv = 0.03;
  const PerformanceExcess excess = divided_variation(drawn_zone({}), options).excess;
  const double rest = excess.running_cv * excess.running_cv - 0.04 * 0.04 - 0.03 * 0.03;
  EXPECT_NEAR(excess.running_excess_cv, std::sqrt(std::max(0.0, rest)), 1e-12);
}

TEST(Variation, CountsPluggedEmittersAndKeepsThemOutOfTheLogarithms) {
  std::vector<VariedEmitter> emitters = drawn_zone({});
  emitters[4].discharge_lph = 0;
  emitters[9].discharge_lph = 0;
  VariationOptions options;
  options.maker_cv = 0.04;
  const Variation v = divided_variation(emitters, options);
  EXPECT_EQ(v.plugged, 2);
  EXPECT_EQ(v.plain.emitters, 36);
  EXPECT_EQ(v.logarithms.emitters, 34);
  EXPECT_GT(v.excess.all_excess_cv, v.excess.running_excess_cv);
  EXPECT_THAT(v.excess.statement, HasSubstr("2 of 36 with a pressure are plugged"));
  EXPECT_TRUE(all_finite(v));
}

TEST(Variation, LeavesEmittersWithoutPressureOutAndSaysSo) {
  std::vector<VariedEmitter> emitters = drawn_zone({});
  emitters[0].pressure_kpa = nan;
  emitters[1].pressure_kpa = -3;
  const Variation v = divided_variation(emitters, {});
  EXPECT_EQ(v.without_pressure, 2);
  EXPECT_EQ(v.plain.emitters, 34);
  EXPECT_EQ(v.discharge.emitters, 36);
  EXPECT_THAT(v.statements, Contains("2 emitters without a pressure: not in the division"));
  for (VariedEmitter& e : emitters) e.pressure_kpa = nan;
  const Variation none = divided_variation(emitters, {});
  EXPECT_FALSE(none.plain.computed);
  EXPECT_TRUE(none.discharge.computed);
  EXPECT_THAT(none.statements, Contains(HasSubstr("not told apart")));
  EXPECT_TRUE(all_finite(none));
}

TEST(Variation, SaysWhenNoPressureWasMeasured) {
  std::vector<VariedEmitter> emitters = drawn_zone({});
  EXPECT_THAT(divided_variation(emitters, {}).statements,
              Contains(HasSubstr("no pressure was measured")));
  emitters[0].pressure_measured = true;
  EXPECT_THAT(divided_variation(emitters, {}).statements,
              Not(Contains(HasSubstr("no pressure was measured"))));
}

TEST(Variation, DoesNotDependOnTheOrderOfDigging) {
  std::vector<VariedEmitter> emitters = drawn_zone({.tail_loss = 0.2});
  emitters[3].pressure_kpa = nan;
  const Variation v = divided_variation(emitters, {});
  std::shuffle(emitters.begin(), emitters.end(), std::mt19937_64(1));
  const Variation shuffled = divided_variation(emitters, {});
  EXPECT_EQ(v.plain.covariance, shuffled.plain.covariance);
  EXPECT_EQ(v.logarithms.performance, shuffled.logarithms.performance);
  EXPECT_EQ(v.trend.slope, shuffled.trend.slope);
}

TEST(Variation, OfBadInputIsAStatementNeverNan) {
  const std::vector<std::vector<VariedEmitter>> samples = {
      {},
      {emitter_of(1, 100, 0, 0.5)},
      {emitter_of(1, 100, 0, 0.5), emitter_of(1.1, 95, 0, 0.7)},
      {emitter_of(-1, 100, 0, 0.5), emitter_of(nan, 95, 0, 0.7)},
      std::vector<VariedEmitter>(6, emitter_of(1, 100, 0, 0.5)),
      std::vector<VariedEmitter>(6, emitter_of(0, 100, 0, 0.5)),
      {emitter_of(0, 100, 0, 0.1), emitter_of(1, 100, 1, 0.2), emitter_of(0, 100, 1, 0.4)},
      {emitter_of(1, 0, -1, nan), emitter_of(1.1, 90, -1, nan), emitter_of(1.2, 80, -1, 2)}};
  VariationOptions options;
  options.maker_cv = 0.04;
  for (const auto& sample : samples) {
    const Variation v = divided_variation(sample, options);
    EXPECT_FALSE(v.statements.empty()) << sample.size();
    EXPECT_TRUE(all_finite(v)) << sample.size();
  }
  EXPECT_THAT(divided_variation(samples[3], options).statements,
              Contains("2 discharges negative or not a number: left out"));
  EXPECT_THAT(divided_variation(samples[5], options).statements,
              Contains(HasSubstr("closed valve")));
}

TEST(Variation, RefusesAnExponentThatCannotBe) {
  VariationOptions options;
  options.exponent = -0.5;
  EXPECT_THROW(divided_variation({}, options), std::invalid_argument);
  options.exponent = nan;
  EXPECT_THROW(divided_variation({}, options), std::invalid_argument);
}

TEST(PerformanceCvFrom, SaysNothingWherePressureAloneVariesMore) {
  EXPECT_FALSE(performance_cv_from(0.05, 0.2, 0.5).has_value());
  EXPECT_FALSE(performance_cv_from(-0.05, 0.2, 0.5).has_value());
  EXPECT_FALSE(performance_cv_from(nan, 0.2, 0.5).has_value());
  EXPECT_EQ(*performance_cv_from(0.1, 0.2, 0), 0.1);
}

TEST(WorkingExponent, IsTheStatedOneOrNothingWithinACompensatingRange) {
  EmitterSpec spec;
  spec.discharge_lph = 1;
  spec.pressure_kpa = 100;
  spec.exponent = 0.6;
  EXPECT_NEAR(working_exponent(spec, 80), 0.6, 1e-12);
  EXPECT_EQ(working_exponent(spec, -1), 0.6);
  spec.pressure_compensating_kpa = {70, 300};
  EXPECT_EQ(working_exponent(spec, 150), 0);
}

Survey dug_survey() {
  Survey survey;
  for (int i = 0; i < 5; ++i) {
    MeasuredEmitter emitter;
    emitter.site.lateral = i < 3 ? 0 : 1;
    emitter.site.zone = i < 4 ? 0 : 1;
    emitter.site.station_m = 20.0 * i;
    emitter.discharge_lph = 1 + 0.1 * i;
    emitter.pit = i == 1 || i == 2 ? "P2" : "";
    survey.emitters.push_back(emitter);
  }
  survey.emitters[0].state = EmitterState::dug_damage;
  survey.emitters[2].state = EmitterState::none;
  return survey;
}

TEST(VariedEmitters, AreTheUsableOnesOfAZoneWithTheirPressures) {
  Field field;
  field.laterals.resize(2);
  field.laterals[0].length_m = 80;
  field.laterals[1].length_m = 120;
  std::vector<JudgedEmitter> judged(5);
  for (std::size_t i = 0; i < judged.size(); ++i) {
    judged[i].pressure_kpa = 90 + static_cast<double>(i);
  }
  judged[3].pressure_measured = true;
  const std::vector<VariedEmitter> varied = varied_emitters(field, dug_survey(), judged, 0);
  ASSERT_EQ(varied.size(), 3U);
  EXPECT_EQ(varied[0].discharge_lph, 1.1);
  EXPECT_EQ(varied[0].pit, varied[1].pit);
  EXPECT_EQ(varied[1].discharge_lph, 0);
  EXPECT_EQ(varied[2].pressure_kpa, 93);
  EXPECT_TRUE(varied[2].pressure_measured);
  EXPECT_EQ(varied[2].station_frac, 0.5);
  EXPECT_EQ(varied_emitters(field, dug_survey(), judged, -1).size(), 4U);
}

}  // namespace
}  // namespace evendrip
