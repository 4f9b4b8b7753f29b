// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/quick_fit.hpp"

#include <gtest/gtest.h>

#include "dense_zone.hpp"

namespace evendrip {
namespace {

TEST(QuickFit, OfASmallZoneIsItsFit) {
  const test::DrawnZone zone = test::drawn_zone({}, 4);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  ASSERT_EQ(model.coarser(), nullptr);
  const auto quick = quick_fit(zone.grid, zone.holes, zone.crop, zone.ranges, {}, {});
  const auto whole = fit_condition(model, {}, {}, FitSearch::one_start);
  ASSERT_TRUE(quick && whole);
  EXPECT_EQ(quick->parameters, whole->parameters);
}

TEST(QuickFit, OfManyDataIsOfSomeOfThem) {
  const test::DrawnZone zone = test::drawn_zone({}, 4);
  std::vector<CropDatum> many;
  while (many.size() <= 16000) many.insert(many.end(), zone.crop.begin(), zone.crop.end());
  const ZoneModel model = quick_model(zone.grid, zone.holes, many, zone.ranges);
  EXPECT_LE(model.crop_data(), 8000U);
  EXPECT_GT(model.crop_data(), 4000U);
}

}  // namespace
}  // namespace evendrip
