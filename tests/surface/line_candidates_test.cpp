// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/line_candidates.hpp"

#include "lateral_samples.hpp"
#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

std::vector<std::string> names_of(const std::vector<Candidate>& candidates) {
  std::vector<std::string> names;
  for (const Candidate& candidate : candidates) names.push_back(candidate.name);
  return names;
}

const Candidate& named(const std::vector<Candidate>& candidates, const std::string& name) {
  return *std::find_if(candidates.begin(), candidates.end(),
                       [&](const Candidate& candidate) { return candidate.name == name; });
}

TEST(LineCandidates, BeginWithTheMeanAndHaveNamesOfTheirOwn) {
  const auto names = names_of(line_candidates(field_under(8), dug_along(8, 4, {}, 41)));
  EXPECT_EQ(names.front(), "mean");
  EXPECT_GT(names.size(), 8U);
  EXPECT_EQ(std::set<std::string>(names.begin(), names.end()).size(), names.size());
}

TEST(LineCandidates, AreSimpleWhereDataAreFew) {
  const Field field = field_under(8);
  EXPECT_EQ(names_of(line_candidates(field, dug_along(3, 3, {}, 42))),
            (std::vector<std::string>{"mean", "station", "laterals"}));
  EXPECT_EQ(names_of(line_candidates(field, dug_along(2, 2, {}, 43))),
            (std::vector<std::string>{"mean"}));
  EXPECT_THROW(line_candidates(field, {}), std::invalid_argument);
}

TEST(LineCandidates, LeaveOutLateralEffectsThatOneHoleOnEachCannotShow) {
  for (const Candidate& candidate : line_candidates(field_under(12), dug_along(12, 1, {}, 44))) {
    for (const CovarianceTerm& term : candidate.form.covariance.terms) {
      EXPECT_NE(term.name, "laterals");
      EXPECT_NE(term.name, "along the lateral");
    }
  }
}

TEST(LineCandidates, NeedLateralsForWhatFollowsThem) {
  const auto names = names_of(line_candidates(field_under(8), scattered(20)));
  EXPECT_EQ(names, (std::vector<std::string>{"mean", "local"}));
}

TEST(LineCandidates, LetNothingReachFromOneZoneToAnother) {
  Field field = field_under(8);
  field.zones.push_back(field.zones[0]);
  Samples samples = dug_along(4, 4, {}, 45, 0);
  for (Sample sample : dug_along(4, 4, {}, 46, 1)) {
    sample.site.lateral += 16;
    samples.push_back(sample);
  }
  for (std::size_t l = 16; l < field.laterals.size(); ++l) field.laterals[l].zone = 1;
  for (const Candidate& candidate : line_candidates(field, samples)) {
    EXPECT_EQ(covariance(candidate.form.covariance, samples[0].site, samples[16].site), 0)
        << candidate.name;
    EXPECT_GE(candidate.form.trend.size(), 2U);
  }
}

TEST(LineCandidates, HaveNoMeanForAZoneWithoutSamples) {
  const Field field = field_under(8);
  const Samples samples = dug_along(4, 4, {}, 47);
  Site elsewhere = samples[0].site;
  elsewhere.zone = 1;
  const std::vector<Site> sites{samples[0].site, elsewhere};
  std::vector<double> values(2);
  line_candidates(field, samples)[0].form.trend[0].fill(sites, values);
  EXPECT_EQ(values[0], 1);
  EXPECT_TRUE(std::isnan(values[1]));
}

TEST(LineCandidates, TurnWithTheLateralsAndStretchAlongThem) {
  Field field = field_under(8);
  for (Lateral& lateral : field.laterals)
    for (Point& p : lateral.line) p = {500000 + (p.y - 4100000), 4100000 - (p.x - 500000)};
  Samples samples = dug_along(8, 4, {}, 48);
  const auto candidates = line_candidates(field, samples);
  const CorrelationFactor& local = named(candidates, "local").form.covariance.terms[0].factors[0];
  EXPECT_NEAR(std::fmod(local.azimuth_deg + 360, 180), 90, 1e-9);
  EXPECT_LT(local.ratio, 1);
  const CorrelationFactor& across =
      named(candidates, "groups of laterals").form.covariance.terms[0].factors[0];
  EXPECT_EQ(across.metric, Metric::across);
  EXPECT_NEAR(std::fmod(across.azimuth_deg + 360, 180), 90, 1e-9);
}

TEST(LineCandidates, DoNotLookAcrossLateralsThatRunAllWays) {
  Field field = field_under(8);
  for (std::size_t l = 0; l < field.laterals.size(); l += 2) {
    for (Point& p : field.laterals[l].line)
      p = {500000 + (p.y - 4100000), 4100000 - (p.x - 500000)};
  }
  for (const Candidate& candidate : line_candidates(field, dug_along(8, 4, {}, 49))) {
    for (const CovarianceTerm& term : candidate.form.covariance.terms) {
      for (const CorrelationFactor& factor : term.factors) {
        EXPECT_NE(factor.metric, Metric::across);
        EXPECT_EQ(factor.ratio, 1);
      }
    }
  }
}

TEST(LineCandidates, StartFromTheSpreadThatIsNotKnownBeforehand) {
  Samples samples = dug_along(8, 4, {0.9, 0.1, 0.1, 0}, 50);
  const auto plain = line_candidates(field_under(8), samples);
  for (Sample& sample : samples) sample.noise_variance = 0.008;
  const auto noisy = line_candidates(field_under(8), samples);
  EXPECT_NEAR(plain[0].form.nugget, 0.02, 0.01);
  EXPECT_NEAR(noisy[0].form.nugget, plain[0].form.nugget - 0.008, 1e-12);
  for (Sample& sample : samples) sample.value = 0.9;
  for (const Candidate& candidate : line_candidates(field_under(8), samples)) {
    EXPECT_GT(candidate.form.nugget, 0);
    for (const CovarianceTerm& term : candidate.form.covariance.terms) EXPECT_GT(term.variance, 0);
  }
}

}  // namespace
}  // namespace evendrip
