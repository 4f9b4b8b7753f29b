// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/plugged_holes.hpp"

#include "dense_zone.hpp"
#include "likelihood_slopes.hpp"
#include "wide_laterals.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

namespace evendrip {
namespace {

constexpr CropKink flat_beyond{1.0, 0.0};

double bent(const CropKink& kink, double r) {
  return r < kink.need ? r - 1 : kink.need - 1 + kink.beyond * (r - kink.need);
}

ConditionParameters wide_laterals() {
  return test::wide_laterals(0.03);
}

test::DrawnZone saturated_zone(std::uint64_t seed) {
  return test::saturated_zone(wide_laterals(), seed);
}

ConditionEstimate certain(const std::vector<double>& r) {
  ConditionEstimate about;
  about.r = r;
  about.r_variance.assign(r.size(), 0);
  return about;
}

TEST(CropKink, TakesTheSlopeAndTheOffsetOfEachSide) {
  // Certain of r, the model is that of data whose footprints and values are changed to match.
  const test::DrawnZone zone = saturated_zone(2);
  const CropKink kink{1.02, 0.25};
  const ConditionParameters p = wide_laterals();
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  std::vector<double> change(static_cast<std::size_t>(zone.grid.segments()), 0);
  change[17] = change[18] = -0.2;
  model.set_known_change(change);
  model.bend_crop(kink, certain(zone.r), 1e-9);
  test::DrawnZone changed = zone;
  for (CropDatum& datum : changed.crop) {
    const double r = zone.r[static_cast<std::size_t>(datum.segments[0])];
    const double slope = r < kink.need ? 1 : kink.beyond;
    datum.weights[0] = slope;
    datum.value -= p.response * (bent(kink, r) - slope * (r - 1));
  }
  const test::DenseZone wanted =
      test::dense_zone(changed.grid, changed.holes, changed.crop, changed.ranges, p, {}, change);
  EXPECT_NEAR(*model.log_likelihood(p), wanted.log_likelihood(), 1e-7);
  model.bend_crop({}, certain(zone.r), 1e-9);
  ZoneModel straight(zone.grid, zone.holes, zone.crop, zone.ranges);
  straight.set_known_change(change);
  EXPECT_NEAR(*model.log_likelihood(p), *straight.log_likelihood(p), 1e-8);
  EXPECT_THROW(model.bend_crop(kink, certain({1, 1}), 0.05), std::invalid_argument);
}

TEST(CropKink, HasTheSlopeOfItsLikelihoodToo) {
  const test::DrawnZone zone = saturated_zone(3);
  ConditionParameters p = wide_laterals();
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  model.bend_crop(flat_beyond, certain(zone.r), 0.05);
  const auto found = model.slope_at(p);
  ASSERT_TRUE(found);
  const double wanted = test::slope_by_differences(model, p, fitted_count - 1);
  EXPECT_NEAR(found->slope.back(), wanted, 1e-5 * (1 + std::abs(wanted)));
}

TEST(CropKink, FindsWhatASaturatedCropHides) {
  double straight_error = 0;
  double bent_error = 0;
  double straight_response = 0;
  double bent_response = 0;
  constexpr int zones = 4;
  for (std::uint64_t seed = 1; seed <= zones; ++seed) {
    const test::DrawnZone zone = saturated_zone(seed);
    ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
    const auto straight = zone_condition(model, 0.3);
    const auto bends = bent_condition(model, 0.3, flat_beyond);
    ASSERT_TRUE(straight && bends);
    straight_error += test::rms_difference(straight->estimate.r, zone.r) / zones;
    bent_error += test::rms_difference(bends->estimate.r, zone.r) / zones;
    straight_response += straight->fit.parameters.response / zones;
    bent_response += bends->fit.parameters.response / zones;
  }
  EXPECT_LT(bent_error, 0.9 * straight_error);
  EXPECT_LT(std::abs(bent_response - 0.9), std::abs(straight_response - 0.9));
}

}  // namespace
}  // namespace evendrip
