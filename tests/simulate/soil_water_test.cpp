// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/soil_water.hpp"

#include <gtest/gtest.h>

#include <array>
#include <stdexcept>

namespace evendrip {
namespace {

TEST(SoilWater, FollowsTheWorkedExampleOfATomatoCrop) {
  // FAO 56, example 37: tomato, roots 0.8 m, p 0.40, field capacity 0.32, wilting point 0.12, 55 mm
  // lacking at first, reference ET 5 mm/day, crop coefficient 1.2, no rain.
  const RootZone zone{0.32, 0.12, 0.8, 0.40};
  EXPECT_NEAR(total_available_mm(zone), 160, 1e-9);
  struct Row {
    double stress, et_mm, depletion_mm;
  };
  constexpr std::array<Row, 10> printed = {{{1.00, 6.0, 61.0},
                                            {1.00, 6.0, 67.0},
                                            {0.97, 5.8, 72.8},
                                            {0.91, 5.4, 78.3},
                                            {0.85, 5.1, 83.4},
                                            {0.80, 4.8, 88.2},
                                            {0.75, 4.5, 92.6},
                                            {0.70, 4.2, 96.9},
                                            {0.66, 3.9, 100.8},
                                            {0.62, 3.7, 104.5}}};
  const std::vector<WaterDay> days(printed.size(), {0, 0, 6});
  const auto ends = water_balance(zone, 55, days);
  for (std::size_t i = 0; i < printed.size(); ++i) {
    EXPECT_NEAR(ends[i].stress, printed[i].stress, 0.0051) << i;
    EXPECT_NEAR(ends[i].et_mm, printed[i].et_mm, 0.051) << i;
    EXPECT_NEAR(ends[i].depletion_mm, printed[i].depletion_mm, 0.051) << i;
    EXPECT_EQ(ends[i].percolation_mm, 0) << i;
  }
}

TEST(SoilWater, LosesNothing) {
  const RootZone zone{0.30, 0.10, 0.6, 0.5};
  std::vector<WaterDay> days;
  for (int i = 0; i < 60; ++i)
    days.push_back({i % 9 == 0 ? 35.0 : 0, i % 4 == 0 ? 12.0 : 0, 4 + 0.05 * i});
  const auto ends = water_balance(zone, 40, days);
  double balance_mm = 40;
  for (std::size_t i = 0; i < days.size(); ++i) {
    balance_mm += ends[i].et_mm + ends[i].percolation_mm - days[i].rain_mm - days[i].irrigation_mm;
    EXPECT_NEAR(balance_mm, ends[i].depletion_mm, 1e-9) << i;
    EXPECT_LE(ends[i].et_mm, days[i].crop_et_mm);
  }
}

TEST(SoilWater, RunsDryAndRefusesWhatCannotBe) {
  const RootZone zone{0.30, 0.10, 0.5, 0.5};
  const std::vector<WaterDay> days(400, {0, 0, 8});
  EXPECT_NEAR(water_balance(zone, 0, days).back().depletion_mm, 100, 0.1);
  EXPECT_THROW(water_balance(zone, 101, days), std::invalid_argument);
  EXPECT_THROW(water_balance({0.1, 0.3, 0.5, 0.5}, 0, days), std::invalid_argument);
  EXPECT_THROW(water_balance({0.3, 0.1, 0.5, 1}, 0, days), std::invalid_argument);
}

TEST(SoilWater, ShiftsTheDepletionShareByTheDaysEvaporation) {
  EXPECT_NEAR(depletion_share_at(0.4, 5), 0.4, 1e-12);
  EXPECT_NEAR(depletion_share_at(0.4, 7.5), 0.3, 1e-12);
  EXPECT_NEAR(depletion_share_at(0.15, 9), 0.1, 1e-12);
}

TEST(RelativeYield, IsTheResponseFactorTimesTheShareOfEvaporationMissed) {
  // FAO 56, equation 90 with table 24: maize 1.25, cotton 0.85, onion 1.1, at 10 and 30 % less ET.
  EXPECT_NEAR(1 - relative_yield(1.25, 90, 100), 0.125, 1e-12);
  EXPECT_NEAR(1 - relative_yield(0.85, 70, 100), 0.255, 1e-12);
  EXPECT_NEAR(1 - relative_yield(1.1, 70, 100), 0.33, 1e-12);
  EXPECT_EQ(relative_yield(1.5, 10, 100), 0);
}

}  // namespace
}  // namespace evendrip
