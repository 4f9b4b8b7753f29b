// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/hole_sites.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "drawn_zone.hpp"

namespace evendrip {
namespace {

test::DrawnZone one_hole(double value) {
  test::DrawnZone zone = test::drawn_zone({}, 1);
  zone.crop.clear();
  zone.holes = {{3, 4, value, 0.02 * 0.02}};
  return zone;
}

struct Moments {
  double mean = 0;
  double variance = 0;
};

/// What one hole makes of a place, by brute force over its delivery.
Moments exactly(const Clogging& clogging, const Moments& before, double variance, double caught) {
  double sum = 0;
  double first = 0;
  double second = 0;
  constexpr double step = 2e-4;
  for (double f = -1; f < 3; f += step) {
    const double off = f - before.mean;
    const double weight = std::exp(-0.5 * off * off / before.variance) *
                          discharge_density(clogging, {std::max(0.0, f), 1}, variance, caught);
    sum += weight;
    first += weight * f;
    second += weight * f * f;
  }
  const double mean = first / sum;
  return {mean, second / sum - mean * mean};
}

TEST(HoleSites, OfOneHoleTellWhatTheHoleTells) {
  for (const double value : {1.03, 0.93, 0.8, 0.5}) {
    const test::DrawnZone zone = one_hole(value);
    ConditionParameters p;
    p.local = 0.12;
    ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
    const auto nothing = ZoneModel(zone.grid, {}, {}, zone.ranges).estimate(p);
    HoleSites sites = first_sites(model, p, 0.75);
    ASSERT_TRUE(settle_sites(model, p, sites));
    const auto found = model.estimate(p);
    ASSERT_TRUE(nothing && found);
    const auto at = static_cast<std::size_t>(zone.grid.segment(3, 4));
    const Moments wanted = exactly(sites.clogging, {nothing->r[at], nothing->r_variance[at]},
                                   p.emitter * p.emitter + zone.holes[0].noise_variance, value);
    EXPECT_NEAR(found->r[at], wanted.mean, 2e-3) << value;
    // Plugged or in a low place: the two can lie so far apart that less is known than before.
    const double variance = std::min(wanted.variance, nothing->r_variance[at]);
    EXPECT_NEAR(found->r_variance[at], variance, 0.05 * variance) << value;
  }
}

TEST(HoleSites, HaveTheLikelihoodOfWhatWasCaught) {
  for (const double value : {1.03, 0.8, 0.5}) {
    const test::DrawnZone zone = one_hole(value);
    ConditionParameters p;
    p.local = 0.12;
    ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
    const auto nothing = ZoneModel(zone.grid, {}, {}, zone.ranges).estimate(p);
    HoleSites sites = first_sites(model, p, 0.75);
    ASSERT_TRUE(settle_sites(model, p, sites));
    const auto at = static_cast<std::size_t>(zone.grid.segment(3, 4));
    const double variance = p.emitter * p.emitter + zone.holes[0].noise_variance;
    double wanted = 0;
    constexpr double step = 2e-4;
    const double place = nothing->r_variance[at];
    for (double f = -1; f < 3; f += step)
      wanted += step * std::exp(-0.5 * (f - 1) * (f - 1) / place) / std::sqrt(6.283185307 * place) *
                discharge_density(sites.clogging, {std::max(0.0, f), 1}, variance, value);
    EXPECT_NEAR(*model.log_likelihood(p) + *log_over_sites(model, p, sites.clogging),
                std::log(wanted), 1e-4)
        << value;
  }
}

TEST(HoleSites, AsCaughtAreTheHoles) {
  const test::DrawnZone zone = one_hole(0.3);
  const ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
  const HoleSites sites = sites_as_caught(model, 0.75);
  EXPECT_EQ(sites.sites[0].value, 0.3);
  EXPECT_EQ(sites.sites[0].extra_variance, 0);
  EXPECT_EQ(sites.plugged[0], 0);
  EXPECT_EQ(sites.clogging.plugged_below, 0.75);
}

TEST(HoleSites, OfASoundHoleAreAboutWhatWasCaught) {
  const test::DrawnZone zone = one_hole(1.02);
  ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
  HoleSites sites = first_sites(model, {}, 0.75);
  ASSERT_TRUE(settle_sites(model, {}, sites));
  EXPECT_NEAR(sites.sites[0].value, 1.02, 0.02);
  EXPECT_LT(sites.sites[0].extra_variance, 0.05 * 0.05);
  EXPECT_LT(sites.plugged[0], 0.01);
}

TEST(HoleSites, OfAPluggedHoleInASoundZoneTellLittleOfItsPlace) {
  const test::DrawnZone zone = one_hole(0);
  ConditionParameters tight;
  tight.level = tight.along = tight.own = tight.group = tight.local = 0.02;
  ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
  HoleSites sites = first_sites(model, tight, 0.75);
  ASSERT_TRUE(settle_sites(model, tight, sites));
  const auto found = model.estimate(tight);
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->r[static_cast<std::size_t>(zone.grid.segment(3, 4))], 1, 0.03);
  EXPECT_GT(sites.plugged[0], 0.99);
  EXPECT_GT(sites.by_chance[0], 0.5);
}

TEST(HoleSites, LearnThatLowEmittersOfALowPlaceAgree) {
  // All at 0.7: pressure does that, plugging does not.
  test::DrawnZone zone = test::drawn_zone({}, 2);
  zone.crop.clear();
  for (HoleDatum& hole : zone.holes) hole.value = 0.7;
  ConditionParameters p;
  p.level = 0.3;
  ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
  HoleSites sites = first_sites(model, p, 0.75);
  ASSERT_TRUE(settle_sites(model, p, sites));
  EXPECT_LT(sites.clogging.plugging, 0.4);
  EXPECT_LT(sites.clogging.spread, 0.1);
  const auto found = model.estimate(p);
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->r[0], 0.7, 0.05);
}

}  // namespace
}  // namespace evendrip
