// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/model_choice.hpp"

#include "../../src/surface/joint_samples.hpp"

#include "lateral_samples.hpp"
#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

SurfaceModel lateral_model() {
  SurfaceModel model;
  model.trend = {constant_term()};
  model.covariance.terms = {{"laterals", 0.0025, {{Metric::same_lateral}}}};
  model.nugget = 0.0025;
  return model;
}

std::vector<Site> sites_all_over() {
  std::vector<Site> sites;
  for (const Sample& sample : dug_along(12, 20, {}, 31)) sites.push_back(sample.site);
  return sites;
}

/// The map at sites, one by one.
std::vector<double> map_of(const Samples& samples, const SurfaceModel& model,
                           const std::vector<Site>& sites) {
  const JointSamples joint(samples, model);
  std::vector<double> values;
  for (const Site& site : sites) {
    const auto weights = joint.weights_of_mean(std::vector{site}, {});
    double sum = 0;
    for (std::size_t i = 0; i < samples.size(); ++i) sum += weights[i] * samples[i].value;
    values.push_back(sum);
  }
  return values;
}

double rms_difference(const std::vector<double>& a, const std::vector<double>& b) {
  double squares = 0;
  for (std::size_t i = 0; i < a.size(); ++i) squares += (a[i] - b[i]) * (a[i] - b[i]);
  return std::sqrt(squares / static_cast<double>(a.size()));
}

Samples clean_samples(unsigned seed) {
  return dug_along(12, 4, {0.9, 0.05, 0.05, 0}, seed);
}

TEST(WildSamples, OfCleanDataHoldingHardlyMovesTheMap) {
  const std::vector<Site> sites = sites_all_over();
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const Samples samples = clean_samples(seed);
    const RobustSamples held = with_wild_ones_held(samples, lateral_model(), 3, {});
    EXPECT_LE(held.wild.size(), 3U);
    EXPECT_LT(rms_difference(map_of(samples, lateral_model(), sites),
                             map_of(held.samples, lateral_model(), sites)),
              0.005);  // a tenth of the spread from emitter to emitter
  }
}

TEST(WildSamples, APlantedWildRecordNoLongerWrecksTheMap) {
  const std::vector<Site> sites = sites_all_over();
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const Samples clean = clean_samples(seed);
    Samples spoiled = clean;
    spoiled[13].value = 9;  // a decimal point lost
    const auto truth = map_of(clean, lateral_model(), sites);
    const RobustSamples held = with_wild_ones_held(spoiled, lateral_model(), 3, {});
    ASSERT_FALSE(held.wild.empty());
    EXPECT_EQ(held.wild[0].sample, 13);
    EXPECT_EQ(held.wild[0].value, 9);
    EXPECT_NEAR(held.wild[0].predicted, 0.9, 0.3);
    EXPECT_LT(held.wild[0].weight, 0.1);
    const double with_it = rms_difference(truth, map_of(spoiled, lateral_model(), sites));
    const double with_it_held = rms_difference(truth, map_of(held.samples, lateral_model(), sites));
    EXPECT_GT(with_it, 0.3);
    EXPECT_LT(with_it_held, 0.03);
  }
}

TEST(WildSamples, AreFoundThoughTheModelWasFittedWithThem) {
  Samples spoiled = clean_samples(3);
  spoiled[13].value = 4;
  spoiled[30].value = 3.5;
  SurfaceModel swollen = lateral_model();
  swollen.nugget = 0.4;  // what the two add to the variance
  swollen.covariance.terms[0].variance = 0.2;
  const RobustSamples held = with_wild_ones_held(spoiled, swollen, 3, {});
  ASSERT_GE(held.wild.size(), 2U);
  EXPECT_EQ(held.wild[0].sample, 13);
  EXPECT_EQ(held.wild[1].sample, 30);
}

TEST(WildSamples, TwoOnOneLateralDoNotHideEachOther) {
  Samples spoiled = clean_samples(4);
  spoiled[8].value = 3;
  spoiled[9].value = 3;
  const RobustSamples held = with_wild_ones_held(spoiled, lateral_model(), 3, {});
  ASSERT_GE(held.wild.size(), 2U);
  EXPECT_EQ(std::max(held.wild[0].sample, held.wild[1].sample), 9);
  EXPECT_EQ(std::min(held.wild[0].sample, held.wild[1].sample), 8);
}

TEST(WildSamples, MoveThePredictionAsFarAsOneAtTheLimitWould) {
  // Huber's function: beyond the limit a larger error pulls no harder.
  const std::vector<Site> sites = sites_all_over();
  Samples spoiled = clean_samples(5);
  std::vector<std::vector<double>> maps;
  for (const double value : {2.0, 5.0, 50.0}) {
    spoiled[13].value = value;
    maps.push_back(map_of(with_wild_ones_held(spoiled, lateral_model(), 3, {}).samples,
                          lateral_model(), sites));
  }
  EXPECT_LT(rms_difference(maps[0], maps[1]), 0.005);
  EXPECT_LT(rms_difference(maps[1], maps[2]), 0.005);
}

TEST(WildSamples, KnownToBeRightAreNeverHeld) {
  Samples spoiled = clean_samples(6);
  spoiled[13].value = 0;
  std::vector<std::uint8_t> trusted(spoiled.size(), 0);
  EXPECT_EQ(with_wild_ones_held(spoiled, lateral_model(), 3, {}, trusted).wild[0].sample, 13);
  trusted[13] = 1;
  const RobustSamples held = with_wild_ones_held(spoiled, lateral_model(), 3, {}, trusted);
  for (const WildSample& wild : held.wild) EXPECT_NE(wild.sample, 13);
  EXPECT_EQ(held.samples[13].noise_variance, 0);
}

TEST(WildSamples, AreNotCalledSoWhenTheFieldIsLikeThat) {
  Samples plugged = clean_samples(7);
  for (const std::size_t i : {2U, 7U, 11U, 17U, 22U, 29U, 33U, 40U}) plugged[i].value = 0.1;
  const RobustSamples held = with_wild_ones_held(plugged, lateral_model(), 3, {});
  EXPECT_TRUE(held.wild.empty());
  EXPECT_NE(held.why.find("how the field is"), std::string::npos);
  for (const Sample& sample : held.samples) EXPECT_EQ(sample.noise_variance, 0);
}

TEST(WildSamples, AreNotSoughtAmongFew) {
  const Samples few = dug_along(1, 7, {}, 8);
  EXPECT_EQ(with_wild_ones_held(few, lateral_model(), 3, {}).why,
            "too few samples to call one wild");
}

TEST(WildSamples, StandOutAmongEqualValues) {
  Samples equal = dug_along(5, 4, {0.9, 0, 0, 0}, 9);
  EXPECT_TRUE(with_wild_ones_held(equal, lateral_model(), 3, {}).wild.empty());
  equal[3].value = 1.4;
  const RobustSamples held = with_wild_ones_held(equal, lateral_model(), 3, {});
  ASSERT_EQ(held.wild.size(), 1U);
  EXPECT_EQ(held.wild[0].sample, 3);
  EXPECT_TRUE(std::isfinite(held.samples[3].noise_variance));
}

TEST(WildSamples, RefuseALimitOrFlagsThatMakeNoSense) {
  const Samples samples = clean_samples(1);
  const std::vector<std::uint8_t> two(2, 0);
  EXPECT_THROW(with_wild_ones_held(samples, lateral_model(), 0, {}), std::invalid_argument);
  EXPECT_THROW(with_wild_ones_held(samples, lateral_model(), 3, {}, two), std::invalid_argument);
}

TEST(Influence, IsWhatTheMeanOfTheMapMovesWhenASampleIsTakenAway) {
  const Samples samples = clean_samples(10);
  const std::vector<Site> sites = sites_all_over();
  const auto mean_of = [&](const Samples& some) {
    const auto map = map_of(some, lateral_model(), sites);
    double sum = 0;
    for (const double v : map) sum += v;
    return sum / static_cast<double>(map.size());
  };
  const auto moved = influence(samples, lateral_model(), sites, {});
  for (const std::size_t i : {0U, 7U, 20U, 47U}) {
    Samples rest = samples;
    rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(i));
    EXPECT_NEAR(moved[i], mean_of(samples) - mean_of(rest), 1e-11);
  }
}

TEST(Influence, IsUnknownWithoutAnAnswer) {
  const Samples samples = clean_samples(11);
  for (const double v : influence(samples, lateral_model(), {}, {})) EXPECT_TRUE(std::isnan(v));
}

}  // namespace
}  // namespace evendrip
