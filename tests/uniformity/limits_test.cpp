// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/limits.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>
#include <vector>

#include <boost/random/normal_distribution.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

LimitOptions quick() {
  LimitOptions options;
  options.draws = 1000;
  return options;
}

EmitterSample sample_of_discharges(const std::vector<double>& discharges, int laterals) {
  EmitterSample sample;
  for (std::size_t i = 0; i < discharges.size(); ++i) {
    SampledEmitter e;
    e.discharge_lph = discharges[i];
    e.lateral = static_cast<int>(i) % laterals;
    e.place = static_cast<int>(i);
    sample.emitters.push_back(e);
  }
  return sample;
}

std::vector<double> normal_discharges(int n, double cv, std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {1});
  boost::random::normal_distribution<double> normal(1, cv);
  std::vector<double> q;
  for (int i = 0; i < n; ++i) q.push_back(normal(stream));
  return q;
}

bool has_code(const UniformityLimits& limits, const std::string& code) {
  return std::any_of(limits.statements.begin(), limits.statements.end(),
                     [&](const Doubt& d) { return d.code == code; });
}

const Limits& beside(const UniformityLimits& limits, Measure measure, LimitMethod method) {
  for (const Limits& l : limits.of(measure).beside) {
    if (l.method == method) return l;
  }
  throw std::runtime_error("no such limits: " + to_text(method));
}

void expect_sane(const Limits& limits) {
  EXPECT_TRUE(std::isfinite(limits.estimate));
  EXPECT_TRUE(std::isfinite(limits.lower));
  EXPECT_TRUE(std::isfinite(limits.upper));
  EXPECT_LE(limits.lower, limits.upper);
}

void expect_sane(const UniformityLimits& limits) {
  for (const MeasureLimits& m : limits.measures) {
    SCOPED_TRACE(to_text(m.measure));
    EXPECT_TRUE(std::isfinite(m.estimate));
    expect_sane(m.two_part);
    expect_sane(m.running);
    for (const Limits& l : m.beside) {
      SCOPED_TRACE(to_text(l.method));
      expect_sane(l);
    }
  }
}

/// The share at which half the chance of seeing none is 2.5 %.
double middle_limit_of_none(double emitters) {
  return 1 - std::pow(0.05, 1 / emitters);
}

TEST(ConfidenceLimits, HoldTheEstimateAndReckonWithPluggedOnesNotSeen) {
  const UniformityLimits limits =
      confidence_limits(sample_of_discharges(normal_discharges(36, 0.06, 2), 9), quick());
  expect_sane(limits);
  for (const Measure measure : all_measures) {
    const MeasureLimits& m = limits.of(measure);
    EXPECT_TRUE(m.two_part.known);
    EXPECT_LT(m.two_part.lower, m.estimate) << to_text(measure);
    EXPECT_GT(m.two_part.upper, m.estimate) << to_text(measure);
  }
  EXPECT_TRUE(has_code(limits, "plugged_may_be_missed"));
  const MeasureLimits& low = limits.of(Measure::low_quarter);
  EXPECT_LT(low.two_part.lower, low.running.lower - 0.1);
  // With the share at its mid-p limit the whole is the two-part figure there, near the limit found.
  const double worst = two_part_low_quarter(middle_limit_of_none(limits.plugged.effective_emitters),
                                            normal_discharges(36, 0.06, 2));
  EXPECT_NEAR(low.two_part.lower, worst, 0.03);
}

TEST(ConfidenceLimits, DoNotDependOnTheOrderOfTheTable) {
  EmitterSample sample = sample_of_discharges(normal_discharges(24, 0.1, 3), 6);
  sample.emitters[3].discharge_lph = 0;
  const UniformityLimits first = confidence_limits(sample, quick());
  std::reverse(sample.emitters.begin(), sample.emitters.end());
  const UniformityLimits second = confidence_limits(sample, quick());
  for (const Measure measure : all_measures) {
    EXPECT_EQ(first.of(measure).two_part.lower, second.of(measure).two_part.lower);
    EXPECT_EQ(first.of(measure).two_part.upper, second.of(measure).two_part.upper);
  }
}

TEST(ConfidenceLimits, AreTheSameForTheSameSeedAndNearForAnother) {
  const EmitterSample sample = sample_of_discharges(normal_discharges(36, 0.1, 3), 9);
  LimitOptions options;
  const Limits a = confidence_limits(sample, options).of(Measure::low_quarter).running;
  const Limits b = confidence_limits(sample, options).of(Measure::low_quarter).running;
  options.seed = 77;
  const Limits c = confidence_limits(sample, options).of(Measure::low_quarter).running;
  EXPECT_EQ(a.lower, b.lower);
  EXPECT_EQ(a.upper, b.upper);
  EXPECT_NE(a.lower, c.lower);
  EXPECT_NEAR(a.lower, c.lower, 0.1 * (a.upper - a.lower));
  EXPECT_NEAR(a.upper, c.upper, 0.1 * (a.upper - a.lower));
}

TEST(ConfidenceLimits, DoNotChangeWithTheUnitOfDischarge) {
  std::vector<double> q = normal_discharges(24, 0.1, 3);
  const UniformityLimits litres = confidence_limits(sample_of_discharges(q, 6), quick());
  for (double& v : q) v *= 0.264172;
  const UniformityLimits gallons = confidence_limits(sample_of_discharges(q, 6), quick());
  for (const Measure measure : {Measure::cv, Measure::low_quarter, Measure::christiansen}) {
    EXPECT_NEAR(litres.of(measure).two_part.lower, gallons.of(measure).two_part.lower, 1e-9);
  }
  EXPECT_NEAR(litres.of(Measure::mean).two_part.upper * 0.264172,
              gallons.of(Measure::mean).two_part.upper, 1e-9);
}

TEST(ConfidenceLimits, WidenWhereLateralsDiffer) {
  std::vector<double> q = normal_discharges(48, 0.05, 5);
  const EmitterSample alike = sample_of_discharges(q, 8);
  std::sort(q.begin(), q.end());
  EmitterSample differing = sample_of_discharges(q, 1);
  for (std::size_t i = 0; i < 48; ++i) differing.emitters[i].lateral = static_cast<int>(i / 6);
  const Limits narrow = confidence_limits(alike, quick()).of(Measure::mean).running;
  const Limits wide = confidence_limits(differing, quick()).of(Measure::mean).running;
  EXPECT_GT(wide.upper - wide.lower, 1.5 * (narrow.upper - narrow.lower));
}

// Two of nine laterals run at two thirds: draws without them hardly vary, and must not throw the
// lower limits to the end of the scale.
TEST(ConfidenceLimits, StayOnTheScaleWhereAFewLateralsRunSlow) {
  std::vector<double> q = normal_discharges(72, 0.04, 8);
  for (std::size_t i = 0; i < q.size(); ++i) {
    if (i % 9 == 4 || (i % 9 == 3 && i % 2 == 0)) q[i] *= 0.65;
  }
  q[7] = 0;
  const UniformityLimits limits = confidence_limits(sample_of_discharges(q, 9));
  const MeasureLimits& low = limits.of(Measure::low_quarter);
  EXPECT_GT(low.two_part.lower, 0.15);
  EXPECT_LT(low.two_part.lower, low.estimate - 0.2);
  EXPECT_GT(low.two_part.upper, low.estimate + 0.05);
  // No narrower than Student's t of the laterals, which knows no skewness, would have it by half.
  const Limits& t = beside(limits, Measure::low_quarter, LimitMethod::lateral_means);
  EXPECT_GT(low.two_part.upper - low.two_part.lower, 0.5 * (t.upper - t.lower));
  EXPECT_GT(limits.of(Measure::mean).two_part.lower,
            0.9 * beside(limits, Measure::mean, LimitMethod::lateral_means).lower);
}

TEST(ConfidenceLimits, WidenWithTheConfidence) {
  const EmitterSample sample = sample_of_discharges(normal_discharges(36, 0.1, 3), 9);
  LimitOptions options = quick();
  const Limits at_95 = confidence_limits(sample, options).of(Measure::low_quarter).two_part;
  options.confidence = 0.8;
  const Limits at_80 = confidence_limits(sample, options).of(Measure::low_quarter).two_part;
  EXPECT_LT(at_95.lower, at_80.lower);
  EXPECT_GT(at_95.upper, at_80.upper);
}

TEST(ConfidenceLimits, OfUnequallySampledEmittersFollowTheirWeights) {
  std::vector<double> q = normal_discharges(40, 0.03, 6);
  for (std::size_t i = 0; i < 20; ++i) q[i] *= 0.5;
  EmitterSample sample = sample_of_discharges(q, 8);
  for (std::size_t i = 0; i < 20; ++i) sample.emitters[i].weight = 0.25;
  const MeasureLimits mean = confidence_limits(sample, quick()).of(Measure::mean);
  EXPECT_NEAR(mean.estimate, 0.9, 0.02);  // (0.25 x 0.5 + 1 x 1) / 1.25
  EXPECT_LT(mean.two_part.lower, mean.estimate);
  EXPECT_GT(mean.two_part.upper, mean.estimate);
}

TEST(ConfidenceLimits, SayThatTheyRestOnTheModelBelowSixLaterals) {
  const std::vector<double> q = normal_discharges(20, 0.08, 2);
  const UniformityLimits five = confidence_limits(sample_of_discharges(q, 5), quick());
  EXPECT_TRUE(five.rest_on_model);
  EXPECT_TRUE(has_code(five, "limits_rest_on_model"));
  EXPECT_TRUE(beside(five, Measure::low_quarter, LimitMethod::lateral_means).known);
  const UniformityLimits six = confidence_limits(sample_of_discharges(q, 6), quick());
  EXPECT_FALSE(six.rest_on_model);
  EXPECT_FALSE(has_code(six, "limits_rest_on_model"));
}

// Student's t from the means of balanced laterals: 1, 2, 3 on three laterals, t(0.975, 2) 4.302653.
TEST(ConfidenceLimits, FromTheMeansOfLateralsAreStudents) {
  std::vector<double> q;
  for (int i = 0; i < 6; ++i) q.push_back(1.0 + i % 3);
  const UniformityLimits limits = confidence_limits(sample_of_discharges(q, 3), quick());
  const Limits& t = beside(limits, Measure::mean, LimitMethod::lateral_means);
  EXPECT_NEAR(t.upper, 2 + 4.302653 / std::sqrt(3.0), 1e-5);
  EXPECT_EQ(t.lower, 0);
}

TEST(ConfidenceLimits, NameApproximationsAsSuch) {
  const UniformityLimits limits =
      confidence_limits(sample_of_discharges(normal_discharges(20, 0.08, 2), 5), quick());
  EXPECT_FALSE(beside(limits, Measure::cv, LimitMethod::noncentral_t).approximation);
  EXPECT_TRUE(beside(limits, Measure::cv, LimitMethod::chi_square).approximation);
  EXPECT_TRUE(beside(limits, Measure::cv, LimitMethod::large_sample).approximation);
  EXPECT_TRUE(beside(limits, Measure::low_quarter, LimitMethod::noncentral_t).approximation);
  EXPECT_NE(to_text(LimitMethod::chi_square).find("approximation"), std::string::npos);
  const Limits& cv = beside(limits, Measure::cv, LimitMethod::noncentral_t);
  const Limits& us = beside(limits, Measure::statistical, LimitMethod::noncentral_t);
  EXPECT_NEAR(us.lower, 1 - cv.upper, 1e-12);
  EXPECT_NEAR(us.upper, 1 - cv.lower, 1e-12);
}

TEST(ConfidenceLimits, StateHowOftenTheyHeldTheTruth) {
  const auto two_part = simulated_coverage(LimitMethod::two_part);
  const auto percentile = simulated_coverage(LimitMethod::percentile);
  ASSERT_TRUE(two_part && percentile);
  EXPECT_GE(two_part->least_frac, 0.93);
  EXPECT_GE(two_part->least_lower_frac, 0.95);
  EXPECT_LT(percentile->least_frac, 0.6);
  EXPECT_FALSE(simulated_coverage(LimitMethod::chi_square).has_value());
}

TEST(ConfidenceLimits, OfEmittersThatHardlyDifferAreFinite) {
  std::vector<double> q(24, 1.0);
  q[5] = 1 + 1e-7;
  q[9] = 1 - 1e-7;
  const UniformityLimits limits = confidence_limits(sample_of_discharges(q, 6), quick());
  expect_sane(limits);
  EXPECT_TRUE(beside(limits, Measure::cv, LimitMethod::noncentral_t).known);
}

TEST(ConfidenceLimits, OfBadSamplesSayPlainlyWhatCannotBeConcluded) {
  struct Case {
    std::string code;
    std::vector<double> discharges;
    int laterals;
  };
  for (const Case& c : {Case{"no_emitter", {}, 1}, Case{"one_emitter", {1.1}, 1},
                        Case{"too_few_running", {1.1, 1.2, 0.9}, 3},
                        Case{"one_lateral", normal_discharges(12, 0.1, 4), 1},
                        Case{"limits_rest_on_model", {1.1, 0, 0, 0}, 2},
                        Case{"all_alike", std::vector<double>(18, 1.0), 6},
                        Case{"all_plugged", std::vector<double>(18, 0.0), 6}}) {
    SCOPED_TRACE(c.code);
    const UniformityLimits limits =
        confidence_limits(sample_of_discharges(c.discharges, c.laterals), quick());
    EXPECT_TRUE(has_code(limits, c.code));
    expect_sane(limits);
  }
}

TEST(ConfidenceLimits, AreNotKnownWhereTooFewEmittersRun) {
  for (const std::vector<double>& q : {std::vector<double>(9, 0.0), {1.0}, {1.0, 0, 0, 0, 0, 0}}) {
    const UniformityLimits limits = confidence_limits(sample_of_discharges(q, 6), quick());
    for (const MeasureLimits& m : limits.measures) {
      EXPECT_FALSE(m.two_part.known);
      EXPECT_EQ(m.two_part.lower, m.estimate);
      EXPECT_EQ(m.two_part.upper, m.estimate);
    }
    EXPECT_LT(limits.plugged.clustered.lower, limits.plugged.clustered.upper);
  }
}

TEST(ConfidenceLimits, OfEmittersAllAlikeHoldThePluggedShareAlone) {
  const UniformityLimits limits =
      confidence_limits(sample_of_discharges(std::vector<double>(18, 1.0), 6), quick());
  const MeasureLimits& low = limits.of(Measure::low_quarter);
  EXPECT_NEAR(low.two_part.upper, 1, 1e-9);
  const double worst = middle_limit_of_none(limits.plugged.effective_emitters);
  EXPECT_NEAR(low.two_part.lower, two_part_low_quarter(worst, {1, 1, 1, 1}), 0.05);
}

TEST(ConfidenceLimits, RefuseNegativeDischargesAndImpossibleOptions) {
  EXPECT_THROW(confidence_limits(sample_of_discharges({1, -1, 1}, 3)), std::invalid_argument);
  EXPECT_THROW(
      confidence_limits(sample_of_discharges({1, std::numeric_limits<double>::infinity()}, 2)),
      std::invalid_argument);
  LimitOptions few;
  few.draws = 99;
  EXPECT_THROW(confidence_limits(sample_of_discharges({1, 1}, 2), few), std::invalid_argument);
  LimitOptions sure;
  sure.confidence = 1;
  EXPECT_THROW(confidence_limits(sample_of_discharges({1, 1}, 2), sure), std::invalid_argument);
}

TEST(ConfidenceLimits, StayFiniteOnSmallInventedSamplesOfEveryKind) {
  LimitOptions options;
  options.draws = 100;
  for (std::uint64_t seed = 0; seed < 150; ++seed) {
    std::mt19937_64 stream = item_stream(seed, {4});
    const int n = 1 + static_cast<int>(stream() % 14);
    std::vector<double> q;
    for (int i = 0; i < n; ++i) {
      const auto kind = stream() % 4;
      q.push_back(kind == 0 ? 0 : kind == 1 ? 1 : static_cast<double>(stream() % 1000) / 500);
    }
    SCOPED_TRACE(seed);
    expect_sane(
        confidence_limits(sample_of_discharges(q, 1 + static_cast<int>(stream() % 5)), options));
  }
}

TEST(WeightedLimits, OfZonesAreNarrowerThanOfOneAndWeighTheEstimates) {
  std::vector<UniformityLimits> zones;
  for (std::uint64_t z = 0; z < 4; ++z) {
    zones.push_back(
        confidence_limits(sample_of_discharges(normal_discharges(18, 0.08, 20 + z), 6), quick()));
  }
  const std::vector<double> areas = {1, 1, 1, 3};
  const MeasureLimits field = weighted_limits(zones, areas, Measure::low_quarter);
  double expected = 0;
  for (std::size_t z = 0; z < 4; ++z) {
    expected += areas[z] / 6 * zones[z].of(Measure::low_quarter).estimate;
  }
  EXPECT_NEAR(field.estimate, expected, 1e-12);
  const Limits& one = zones[0].of(Measure::low_quarter).two_part;
  EXPECT_LT(field.two_part.upper - field.two_part.lower, one.upper - one.lower);
  EXPECT_GT(field.two_part.lower, one.lower);
}

TEST(WeightedLimits, LeaveOutZonesThatKnowNothing) {
  const std::vector<UniformityLimits> zones = {
      confidence_limits({}, quick()),
      confidence_limits(sample_of_discharges(normal_discharges(18, 0.08, 2), 6), quick())};
  const MeasureLimits field =
      weighted_limits(zones, std::vector<double>{5, 1}, Measure::low_quarter);
  EXPECT_NEAR(field.estimate, zones[1].of(Measure::low_quarter).estimate, 1e-12);
  EXPECT_FALSE(
      weighted_limits(std::span(zones).first(1), std::vector<double>{5}, Measure::low_quarter)
          .two_part.known);
  EXPECT_THROW(weighted_limits(zones, std::vector<double>{1}, Measure::mean),
               std::invalid_argument);
}

LimitOptions in_zone(const DugFrom& zone) {
  LimitOptions options = quick();
  options.plugging.zone = zone;
  return options;
}

TEST(ConfidenceLimits, NarrowWhereAGoodPartOfTheZoneWasDugAndCloseWhereAllWas) {
  std::vector<double> discharges = normal_discharges(60, 0.1, 4);
  discharges[7] = 0;
  const EmitterSample sample = sample_of_discharges(discharges, 12);
  const UniformityLimits open = confidence_limits(sample, quick());
  const UniformityLimits half = confidence_limits(sample, in_zone({20, 6}));
  const UniformityLimits all = confidence_limits(sample, in_zone({12, 5}));
  for (const Measure measure : all_measures) {
    SCOPED_TRACE(to_text(measure));
    const auto width = [&](const UniformityLimits& limits) {
      return limits.of(measure).two_part.upper - limits.of(measure).two_part.lower;
    };
    EXPECT_LT(width(half), 0.85 * width(open));
    EXPECT_GT(width(half), 0.4 * width(open));
    EXPECT_LT(width(all), 0.02 * width(open));
    EXPECT_NEAR(all.of(measure).two_part.lower, all.of(measure).two_part_estimate, 0.01);
  }
}

TEST(ConfidenceLimits, SayWhereMoreWasDugThanTheZoneHas) {
  const EmitterSample sample = sample_of_discharges(normal_discharges(36, 0.1, 4), 9);
  const UniformityLimits open = confidence_limits(sample, quick());
  const UniformityLimits wrong = confidence_limits(sample, in_zone({9, 3}));
  EXPECT_TRUE(has_code(wrong, "more_dug_than_zone_has"));
  EXPECT_FALSE(has_code(open, "more_dug_than_zone_has"));
  EXPECT_EQ(wrong.of(Measure::low_quarter).two_part.lower,
            open.of(Measure::low_quarter).two_part.lower);
}

TEST(ConfidenceLimits, StayFiniteOnZonesAndWeightsOfEveryKind) {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    SCOPED_TRACE(seed);
    std::mt19937_64 stream = item_stream(seed, {6});
    const auto below = [&](std::uint64_t end) { return static_cast<int>(stream() % end); };
    std::vector<double> discharges = normal_discharges(1 + below(30), 0.2, seed);
    for (double& q : discharges) {
      q = below(4) == 0 ? 0 : std::max(0.0, q);
      if (below(20) == 0) q *= 1e6;
    }
    EmitterSample sample = sample_of_discharges(discharges, 1 + below(9));
    for (SampledEmitter& e : sample.emitters) e.weight = 0.1 + below(50);
    LimitOptions options = in_zone({below(12), below(40)});
    options.draws = 200;
    expect_sane(confidence_limits(sample, options));
  }
}

}  // namespace
}  // namespace evendrip
