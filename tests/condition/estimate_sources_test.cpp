// SPDX-License-Identifier: Apache-2.0
// What moved the estimate of each segment: holes or crop.
#include "evendrip/condition/zone_model.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "drawn_zone.hpp"

namespace evendrip {
namespace {

TEST(EstimateSources, AddUpToTheEstimate) {
  const ConditionParameters p;
  const test::DrawnZone zone = test::drawn_zone(p, 1);
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  std::vector<double> change(static_cast<std::size_t>(zone.grid.segments()), 0);
  change[17] = change[18] = -0.3;
  model.set_known_change(change);
  std::vector<double> weights(zone.holes.size(), 1);
  weights[2] = 0.1;
  const auto sources = model.sources(p, weights);
  const auto estimate = model.estimate(p, weights);
  ASSERT_TRUE(sources && estimate);
  for (std::size_t i = 0; i < change.size(); ++i)
    EXPECT_NEAR(1 + change[i] + sources->holes[i] + sources->crop[i], estimate->r[i], 1e-10);
}

TEST(EstimateSources, AreLinearInTheHolesAndInTheCropAlone) {
  const ConditionParameters p;
  const test::DrawnZone zone = test::drawn_zone(p, 2);
  const auto sources_with = [&](double holes_by, double crop_by) {
    test::DrawnZone moved = zone;
    for (HoleDatum& hole : moved.holes) hole.value = 1 + holes_by * (hole.value - 1);
    for (CropDatum& datum : moved.crop) datum.value = 1 + crop_by * (datum.value - 1);
    return *ZoneModel(moved.grid, moved.holes, moved.crop, moved.ranges).sources(p);
  };
  const EstimateSources plain = sources_with(1, 1);
  const EstimateSources holes = sources_with(2, 1);
  const EstimateSources crop = sources_with(1, 3);
  for (std::size_t i = 0; i < plain.holes.size(); ++i) {
    EXPECT_NEAR(holes.holes[i], 2 * plain.holes[i], 1e-10);
    EXPECT_NEAR(holes.crop[i], plain.crop[i], 1e-10);
    EXPECT_NEAR(crop.holes[i], plain.holes[i], 1e-10);
    EXPECT_NEAR(crop.crop[i], 3 * plain.crop[i], 1e-10);
  }
}

TEST(EstimateSources, AreTheHolesAloneWithoutCrop) {
  const ConditionParameters p;
  const test::DrawnZone zone = test::drawn_zone(p, 3);
  const auto sources = ZoneModel(zone.grid, zone.holes, {}, zone.ranges).sources(p);
  ASSERT_TRUE(sources);
  double most = 0;
  for (std::size_t i = 0; i < sources->crop.size(); ++i) {
    EXPECT_NEAR(sources->crop[i], 0, 1e-12);
    most = std::max(most, std::abs(sources->holes[i]));
  }
  EXPECT_GT(most, 0.01);
}

}  // namespace
}  // namespace evendrip
