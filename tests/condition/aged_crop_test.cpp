// SPDX-License-Identifier: Apache-2.0
// What time did to each lateral between the date of the crop and that of the holes.
#include "evendrip/condition/zone_model.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "dense_zone.hpp"
#include "drawn_zone.hpp"
#include "likelihood_slopes.hpp"

namespace evendrip {
namespace {

ConditionParameters weak_laterals() {
  ConditionParameters p;
  p.own = 0.10;
  p.emitter = 0.04;
  p.soil_short = p.soil_long = 0.03;
  p.crop_error = 0.03;
  return p;
}

TEST(AgedCrop, HasTheLikelihoodOfTheDenseModel) {
  const ConditionParameters p = weak_laterals();
  test::DrawnZone zone = test::drawn_zone(p, 4);
  zone.ranges.aged_sd = 0.05;
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const test::DenseZone dense = test::dense_zone(zone.grid, zone.holes, zone.crop, zone.ranges, p);
  EXPECT_NEAR(*model.log_likelihood(p), dense.log_likelihood(), 1e-7);
}

TEST(AgedCrop, HasTheSlopeOfItsLikelihoodToo) {
  const ConditionParameters p = weak_laterals();
  test::DrawnZone zone = test::drawn_zone(p, 5);
  zone.ranges.aged_sd = 0.05;
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  test::expect_slopes(model, p, 1e-4);
}

TEST(AgedCrop, SaysLessOfSingleLateralsTheOlderItIs) {
  const ConditionParameters p = weak_laterals();
  test::DrawnZone zone = test::drawn_zone(p, 6);
  const ZoneModel now(zone.grid, zone.holes, zone.crop, zone.ranges);
  zone.ranges.aged_sd = 0.1;
  const ZoneModel old(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto sure = now.estimate(p);
  const auto unsure = old.estimate(p);
  ASSERT_TRUE(sure && unsure);
  const auto undug = static_cast<std::size_t>(zone.grid.segment(2, 5));
  EXPECT_GT(unsure->r_variance[undug], 1.2 * sure->r_variance[undug]);
}

TEST(AgedCrop, ChangesNothingWithoutCrop) {
  const ConditionParameters p = weak_laterals();
  test::DrawnZone zone = test::drawn_zone(p, 7);
  const ZoneModel plain(zone.grid, zone.holes, {}, zone.ranges);
  zone.ranges.aged_sd = 0.1;
  const ZoneModel aged(zone.grid, zone.holes, {}, zone.ranges);
  EXPECT_EQ(*plain.log_likelihood(p), *aged.log_likelihood(p));
}

}  // namespace
}  // namespace evendrip
