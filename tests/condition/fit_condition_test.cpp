// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "drawn_zone.hpp"

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

TEST(ConditionFit, OfHolesAloneLeavesTheCropToItsPrior) {
  ConditionParameters truth;
  truth.own = 0.1;
  const test::DrawnZone zone = test::drawn_zone(truth, 6);
  const auto fit = fit_condition(ZoneModel(zone.grid, zone.holes, {}, zone.ranges), {});
  ASSERT_TRUE(fit);
  EXPECT_NEAR(fit->parameters.response, 0.8, 0.1);
  EXPECT_LT(fit->parameters.soil_long, 0.03);
}

}  // namespace
}  // namespace evendrip
