// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include "dense_zone.hpp"
#include "deviation_priors.hpp"
#include "drawn_zone.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

TEST(ConditionFit, FindsTheSizeOfThePartsItWasDrawnFrom) {
  ConditionParameters truth;
  truth.along = 0.02;
  truth.own = 0.10;
  truth.group = 0.01;
  truth.local = 1e-3;
  truth.emitter = 0.04;
  truth.soil_short = 0.01;
  truth.soil_long = 0.08;
  truth.crop_error = 0.03;
  double own = 0;
  double error = 0;
  double response = 0;
  constexpr int zones = 4;
  for (std::uint64_t seed = 1; seed <= zones; ++seed) {
    const test::DrawnZone zone = test::drawn_zone(truth, seed);
    const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
    const auto fit = fit_condition(model, {});
    ASSERT_TRUE(fit);
    own += std::hypot(fit->parameters.own, fit->parameters.group) * fit->parameters.response;
    error += fit->parameters.crop_error;
    response += fit->parameters.response;
  }
  // Of 24 laterals a standard deviation is known to one part in seven; four zones halve that.
  EXPECT_NEAR(own / zones, 0.8 * 0.1, 0.02);
  EXPECT_NEAR(error / zones, 0.03, 0.003);
  EXPECT_NEAR(response / zones, 0.8, 0.3);
}

TEST(ConditionFit, IsNoWorseThanItsStart) {
  ConditionParameters truth;
  const test::DrawnZone zone = test::drawn_zone(truth, 5);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto fit = fit_condition(model, {});
  ASSERT_TRUE(fit);
  EXPECT_GE(*model.log_likelihood(fit->parameters), *model.log_likelihood({}) - 5);
}

TEST(ConditionFit, ReachesTheSameTopFromFarStarts) {
  ConditionParameters truth;
  truth.own = 0.08;
  const test::DrawnZone zone = test::zone_of_model(truth, 7);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto usual = fit_condition(model, {});
  ASSERT_TRUE(usual);
  for (const double water : {0.005, 0.3})
    for (const double soil : {0.005, 0.3}) {
      ConditionParameters start;
      start.along = start.own = start.group = start.local = water;
      start.soil_short = start.soil_long = soil;
      const auto fit = fit_condition(model, start);
      ASSERT_TRUE(fit);
      EXPECT_NEAR(fit->log_posterior, usual->log_posterior, 0.02) << water << " " << soil;
    }
}

TEST(ConditionFit, StandsWhereNoSmallStepGains) {
  const test::DrawnZone zone = test::zone_of_model({}, 8);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto fit = fit_condition(model, {});
  ASSERT_TRUE(fit);
  const auto slope = model.slope_at(fit->parameters);
  ASSERT_TRUE(slope);
  // With the slope of the prior, on the response log-normal.
  for (std::size_t i = 0; i < test::deviation_priors.size(); ++i) {
    const auto& [scale, tail] = test::deviation_priors[i];
    const double value = fit->parameters.*fitted_parameters[i];
    const double whole = slope->slope[i] + 1 - (2 + tail) * value / (scale + value);
    if (value > 1.001e-3)
      EXPECT_NEAR(whole, 0, 0.05) << i;
    else
      EXPECT_LT(whole, 0.05) << i;
  }
  EXPECT_NEAR(slope->slope.back() - std::log(fit->parameters.response / 0.8) / 0.25, 0, 0.05);
}

TEST(ConditionFit, IsTheSameForAnyNumberOfThreads) {
  const test::DrawnZone zone = test::drawn_zone({}, 9);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  Work two;
  two.threads = 2;
  const auto alone = fit_condition(model, {});
  const auto both = fit_condition(model, {}, {}, FitSearch::several_starts, two);
  ASSERT_TRUE(alone && both);
  EXPECT_EQ(alone->parameters, both->parameters);
  EXPECT_EQ(alone->log_posterior, both->log_posterior);
  EXPECT_EQ(alone->evaluations, both->evaluations);
}

TEST(ConditionFit, OfHolesAloneLeavesTheCropToItsPrior) {
  ConditionParameters truth;
  truth.own = 0.1;
  test::DrawnZone zone = test::drawn_zone(truth, 6);
  for (const double median : {0.8, 0.3}) {
    zone.ranges.response.median = median;
    const auto other = fit_condition(ZoneModel(zone.grid, zone.holes, {}, zone.ranges), {});
    ASSERT_TRUE(other);
    EXPECT_NEAR(other->parameters.response, median, median / 8);
  }
  const auto fit = fit_condition(ZoneModel(zone.grid, zone.holes, {}, zone.ranges), {});
  ASSERT_TRUE(fit);
  // The mode of the prior: a third of its median.
  EXPECT_NEAR(fit->parameters.soil_long, 0.06 / 3, 1e-3);
}

}  // namespace
}  // namespace evendrip
