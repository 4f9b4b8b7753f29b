// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/hole_sites.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

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
  double probability = 0;  ///< density of what was caught
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
  return {mean, second / sum - mean * mean,
          sum * step / std::sqrt(2 * std::numbers::pi * before.variance)};
}

/// A zone of one hole, its site settled, beside what the hole makes of its place.
struct SettledHole {
  explicit SettledHole(double value)
      : zone(one_hole(value)), model(zone.grid, zone.holes, {}, zone.ranges) {
    parameters.local = 0.12;
    sites = first_sites(model, parameters, 0.75);
    settled = settle_sites(model, parameters, sites);
    const ConditionEstimate nothing =
        ZoneModel(zone.grid, {}, {}, zone.ranges).estimate(parameters).value();
    before = {nothing.r[at()], nothing.r_variance[at()], 1};
    wanted = exactly(sites.clogging, before,
                     parameters.emitter * parameters.emitter + zone.holes[0].noise_variance, value);
  }
  std::size_t at() const { return static_cast<std::size_t>(zone.grid.segment(3, 4)); }

  test::DrawnZone zone;
  ZoneModel model;
  ConditionParameters parameters;
  HoleSites sites;
  bool settled = false;
  Moments before;
  Moments wanted;
};

TEST(HoleSites, OfOneHoleTellWhatTheHoleTells) {
  for (const double value : {1.03, 0.93, 0.8, 0.5}) {
    const SettledHole hole(value);
    ASSERT_TRUE(hole.settled);
    const auto found = hole.model.estimate(hole.parameters);
    ASSERT_TRUE(found);
    EXPECT_NEAR(found->r[hole.at()], hole.wanted.mean, 2e-3) << value;
    // Plugged or in a low place: the two can lie so far apart that less is known than before.
    const double variance = std::min(hole.wanted.variance, hole.before.variance);
    EXPECT_NEAR(found->r_variance[hole.at()], variance, 0.05 * variance) << value;
  }
}

// That plugged emitters may keep company says little of one hole.
TEST(HoleSites, HaveTheLikelihoodOfWhatWasCaught) {
  for (const double value : {1.03, 0.8, 0.5}) {
    const SettledHole hole(value);
    ASSERT_TRUE(hole.settled);
    EXPECT_NEAR(*hole.model.log_likelihood(hole.parameters) +
                    *log_over_sites(hole.model, hole.parameters, hole.sites.clogging),
                std::log(hole.wanted.probability), value < 0.75 ? 0.01 : 1e-4)
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
