// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include "drawn_zone.hpp"
#include "likelihood_slopes.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

ConditionParameters parameters() {
  ConditionParameters p;
  p.along = 0.02;
  p.own = 0.08;
  p.group = 0.04;
  p.local = 0.03;
  p.soil_short = 0.03;
  p.response = 0.6;
  return p;
}

void expect_slopes(const ZoneModel& model, std::span<const double> weights) {
  test::expect_slopes(model, parameters(), 1e-6, weights);
}

std::vector<double> weights_of(const test::DrawnZone& zone) {
  std::vector<double> weights;
  for (std::size_t i = 0; i < zone.holes.size(); ++i) weights.push_back(i % 5 == 0 ? 0.2 : 0.9);
  return weights;
}

TEST(LikelihoodSlope, IsThatOfCentralDifferences) {
  test::DrawnZone zone = test::drawn_zone(parameters(), 4);
  for (HoleDatum& hole : zone.holes) hole.noise_variance = 1e-4 * (1 + hole.row);
  expect_slopes(ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges), weights_of(zone));
}

TEST(LikelihoodSlope, HoldsWithoutCropAndWithoutHoles) {
  const test::DrawnZone zone = test::drawn_zone(parameters(), 5);
  expect_slopes(ZoneModel(zone.grid, zone.holes, {}, zone.ranges), {});
  expect_slopes(ZoneModel(zone.grid, {}, zone.crop, zone.ranges), {});
}

TEST(LikelihoodSlope, HoldsWithAKnownChange) {
  const test::DrawnZone zone = test::drawn_zone(parameters(), 6);
  std::vector<double> change(static_cast<std::size_t>(zone.grid.segments()), 0);
  for (std::size_t i = 0; i < change.size(); ++i) change[i] = -0.1 * std::sin(0.1 * double(i));
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  model.set_known_change(change);
  expect_slopes(model, {});
}

TEST(LikelihoodSlope, HasTheInformationOfItsWorkingData) {
  // Average information is the mean of the observed and the expected one, so that over drawn zones
  // its mean is near that of minus the second differences.
  double average = 0;
  double observed = 0;
  constexpr std::size_t crop_error = 7;
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    const test::DrawnZone zone = test::drawn_zone(parameters(), seed);
    const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
    average += model.slope_at(parameters())->information[crop_error][crop_error];
    ConditionParameters more = parameters();
    ConditionParameters less = parameters();
    more.crop_error *= std::exp(0.01);
    less.crop_error *= std::exp(-0.01);
    observed -=
        (model.slope_at(more)->slope[crop_error] - model.slope_at(less)->slope[crop_error]) / 0.02;
  }
  EXPECT_NEAR(average / observed, 1, 0.15);
}

}  // namespace
}  // namespace evendrip
