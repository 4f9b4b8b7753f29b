// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <filesystem>

#include "evendrip/maps/crop_sheets.hpp"
#include "made_crop.hpp"
#include "own_folder.hpp"

namespace evendrip {
namespace {

using test::made_crop;
using test::small_field;

void draw(const Plot& plot, const std::string& name) {
  const auto folder = test::own_folder();
  draw_plot_png(plot, find_map_resources(), folder / (name + ".png"), 420, 300);
  EXPECT_GT(std::filesystem::file_size(folder / (name + ".png")), 5000U);
}

TEST(CropPlots, ShowTheTravelTimeThatWasTaken) {
  TravelTime travel{12, true, {6, 12, 18}, {0.09, 0.03, 0.08}, "at 12 s"};
  Plot plot = travel_time_plot(travel);
  ASSERT_EQ(plot.series.size(), 2U);
  ASSERT_EQ(plot.series[1].points.size(), 1U);
  EXPECT_DOUBLE_EQ(plot.series[1].points[0].y, 0.03);
  draw(plot, "travel_time");
  travel.used_s = 9;  // between two that were tried: on the line that joins them
  plot = travel_time_plot(travel);
  ASSERT_EQ(plot.series[1].points.size(), 1U);
  EXPECT_DOUBLE_EQ(plot.series[1].points[0].y, 0.06);
}

TEST(CropPlots, StateWhyThereIsNoTravelTime) {
  TravelTime travel;
  travel.why = "no opposite passes";
  EXPECT_EQ(travel_time_plot(travel).statement, "no opposite passes");
}

TEST(CropPlots, SetVariogramsBeforeAndAfterSideBySide) {
  const HeardCrop heard = made_crop(small_field("crop_plots_variogram"));
  const Plot plot = yield_variogram_plot(heard.layers[0].harvest->cleaned, UnitSystem::metric);
  ASSERT_EQ(plot.series.size(), 2U);
  EXPECT_EQ(plot.series[0].name, "as logged");
  EXPECT_DOUBLE_EQ(plot.series[0].points[1].y, 1.6);
  EXPECT_DOUBLE_EQ(plot.series[1].points[1].y, 0.9);
  draw(plot, "variogram");
  const Plot us = yield_variogram_plot(heard.layers[0].harvest->cleaned, UnitSystem::us);
  EXPECT_EQ(us.x.title, "Distance, ft");
  EXPECT_NEAR(us.series[0].points[1].x, plot.series[0].points[1].x / 0.3048, 1e-9);
  EXPECT_NEAR(us.series[0].points[1].y, 1.6 * 892.179 * 892.179, 20);  // lb/ac in a t/ha
  EXPECT_FALSE(yield_variogram_plot(CleanedLog{}, UnitSystem::metric).statement.empty());
}

TEST(CropPlots, DrawTheProfileWithItsLimitsInReportUnits) {
  HeardCrop heard = made_crop(small_field("crop_plots_profile"));
  heard.field.report_units = UnitSystem::us;
  const LateralProfile& profile = heard.layers[0].profiles[1];
  const Plot plot = profile_plot(heard.field, profile, "Yield");
  EXPECT_EQ(plot.title, "Yield: zone Z2 along the laterals");
  EXPECT_EQ(plot.x.title, "From the supply end, ft");
  ASSERT_EQ(plot.series.size(), 4U);
  // The median is named in the key: a name at the line's end would lie over the curve.
  EXPECT_TRUE(plot.guides.empty());
  EXPECT_EQ(plot.series[2].name, "median of the field");
  EXPECT_EQ(plot.series[2].points[1].y, 1);
  EXPECT_NEAR(plot.series[3].points[1].x, 30 / 0.3048, 1e-9);
  EXPECT_DOUBLE_EQ(plot.series[0].points[2].y, 0.86);
  EXPECT_DOUBLE_EQ(plot.series[1].points[2].y, 0.94);
  draw(plot, "profile");
}

TEST(CropPlots, SetZonesAgainstTheDaysOrTheSeasons) {
  const HeardCrop heard = made_crop(small_field("crop_plots_zones"));
  const Plot days = zones_over_dates_plot(heard.over_dates[1], "Biomass");
  EXPECT_EQ(days.x.title, "Days after 2025-06-01");
  ASSERT_EQ(days.series.size(), heard.over_dates[1].zones.size() + 1);
  EXPECT_EQ(days.series[0].points[2], (Point{60, 0.94}));  // 30 days of June and 30 of July
  EXPECT_EQ(days.series.back().name, "median of the field");
  EXPECT_DOUBLE_EQ(*days.y.low, 0.8);
  EXPECT_DOUBLE_EQ(*days.y.high, 1.2);
  draw(days, "zones_over_dates");
  const Plot seasons = zones_over_dates_plot(heard.over_dates[0], "Yield");
  EXPECT_EQ(seasons.x.title, "Seasons in their order, 2023 to 2025");
  EXPECT_EQ(seasons.series[0].points[2].x, 3);
  CropOverDates many = heard.over_dates[1];
  while (many.zones.size() < 9) many.zones.push_back(many.zones.front());
  many.zones[7].level = 0.5;
  many.zones[7].name = "lowest";
  const Plot lowest = zones_over_dates_plot(many, "Biomass");
  EXPECT_EQ(lowest.series.size(), 5U);
  many.zones[7].each[0] = 0.43;
  EXPECT_DOUBLE_EQ(*zones_over_dates_plot(many, "Biomass").y.low, 0.4);
  EXPECT_EQ(lowest.series[0].name, "zone lowest");
  EXPECT_EQ(lowest.title, "Biomass, the 4 lowest zones of 9");
}

TEST(CropPlots, SetCropAgainstDischargeByHowTheyGoTogether) {
  CropAtEmitters emitters{{}, {0.4, 0.5, 1.1}, {0.7, 0.8, 1.0}, {}, "nothing to tell"};
  EXPECT_EQ(association_plot(emitters, "Yield").statement, "nothing to tell");
  emitters.local = {LocalAssociation::both_low, LocalAssociation::both_low, LocalAssociation::none};
  const Plot plot = association_plot(emitters, "Yield");
  ASSERT_EQ(plot.series.size(), 2U);
  EXPECT_EQ(plot.series[1].name, "both low around it");
  EXPECT_EQ(plot.series[1].points[1], (Point{0.5, 0.8}));
  draw(plot, "scatter");
}

TEST(CropPlots, StateWhyThereIsNoProfile) {
  LateralProfile none;
  none.verdict = "no lateral has values";
  EXPECT_EQ(profile_plot({}, none, "Yield").statement, "no lateral has values");
}

}  // namespace
}  // namespace evendrip
