// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/over_dates.hpp"

#include "invented_field.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using invented::small_field;
using invented::small_grid;
using invented::west;

/// A layer whose relative value depends on the place, with its statistics.
struct Layer {
  DatedCrop dated;
  std::vector<CropStatistics> zones;
  std::vector<CropStatistics> laterals;
};

class OverDates : public testing::Test {
 protected:
  void add(const std::string& id, const std::string& kind, const std::string& date,
           const std::function<double(Point)>& value) {
    Raster raster(grid_);
    for (int r = 0; r < grid_.rows; ++r)
      for (int c = 0; c < grid_.columns; ++c)
        raster.set(grid_.index(r, c), value(grid_.centre(r, c)));
    add(id, kind, date, std::move(raster));
  }
  void add(const std::string& id, const std::string& kind, const std::string& date, Raster raster) {
    auto layer = std::make_unique<Layer>();
    CropLayer crop;
    crop.median = 1;
    crop.relative = crop.values = reader_of(std::move(raster));
    layer->zones = crop_by_zone(field_, crop);
    layer->laterals = crop_by_lateral(field_, crop, {});
    layer->dated = {id, kind, date, crop.relative, layer->zones, layer->laterals};
    layers_.push_back(std::move(layer));
  }
  std::vector<CropOverDates> joined(bool southern = false) const {
    std::vector<DatedCrop> dated;
    for (const auto& layer : layers_) dated.push_back(layer->dated);
    return over_dates(field_, dated, southern);
  }

  Field field_ = small_field();
  Grid grid_ = small_grid(1);
  std::vector<std::unique_ptr<Layer>> layers_;
};

/// Lateral W1, the westernmost 2 m, at one level and the rest at another.
std::function<double(Point)> first_lateral(double level, double rest) {
  return [=](Point p) { return p.x < west + 2 ? level : rest; };
}

TEST(SeasonOf, IsTheYearOrFromJulyToJune) {
  EXPECT_EQ(season_of("2025-07-24", false), "2025");
  EXPECT_EQ(season_of("2026-02-03", true), "2025-26");
  EXPECT_EQ(season_of("2025-07-01", true), "2025-26");
  EXPECT_EQ(season_of("2025-06-30", true), "2024-25");
  EXPECT_EQ(season_of("1999-12-31", true), "1999-00");
}

TEST_F(OverDates, CountsOnHowManyDatesAPlaceIsLow) {
  add("a", "biomass", "2025-06-01", first_lateral(0.8, 1));
  add("b", "biomass", "2025-07-01", first_lateral(0.7, 1));
  add("c", "biomass", "2025-08-01", first_lateral(0.95, 1));
  const auto all = joined();
  ASSERT_EQ(all.size(), 1U);
  const CropOverDates& season = all[0];
  EXPECT_EQ(season.id, "biomass_2025");
  EXPECT_EQ(season.season, "2025");
  ASSERT_EQ(season.dates.size(), 3U);
  EXPECT_EQ(season.dates[1].name, "2025-07-01");
  EXPECT_EQ(season.dates[1].layers, "b");
  const PlaceOverDates& lateral = season.laterals[0];
  EXPECT_EQ(lateral.name, "W1");
  EXPECT_EQ(lateral.low, 2);
  EXPECT_EQ(lateral.dates, 3);
  EXPECT_EQ(low_on(season, lateral), "low on 2 of 3 dates");
  EXPECT_NEAR(lateral.level, (0.8 + 0.7 + 0.95) / 3, 1e-6);
  // Of 0.80, 0.70 and 0.95: squares about 49/60 sum to 0.031 666 7.
  EXPECT_NEAR(lateral.variation, std::sqrt(0.0316666667 / 2), 1e-6);
  EXPECT_EQ(season.laterals[1].low, 0);
  EXPECT_EQ(season.low_dates.values[season.low_dates.grid.index(5, 0)], 2);
  EXPECT_EQ(season.low_dates.values[season.low_dates.grid.index(5, 10)], 0);
  // 2 of 40 m are low on exactly two dates.
  EXPECT_EQ(season.share_low_on.size(), 4U);
  EXPECT_NEAR(season.share_low_on[2], 0.05, 1e-12);
  EXPECT_NEAR(season.share_low_on[0], 0.95, 1e-12);
  EXPECT_EQ(
      season.stability.method_text.rfind("mean and standard deviation of the relative biomass "
                                         "over 3 dates",
                                         0),
      0U);
}

TEST_F(OverDates, TellsWhatShareOfTheVariationIsTheSameOnAllDates) {
  add("a", "biomass", "2025-06-01", first_lateral(0.8, 1));
  add("b", "biomass", "2025-07-01", first_lateral(0.8, 1));
  EXPECT_NEAR(joined()[0].steady_share, 1, 1e-6);
  EXPECT_NEAR(joined()[0].median_variation, 0, 1e-6);
  layers_.pop_back();
  add("b", "biomass", "2025-07-01", [](Point p) { return p.x >= west + 38 ? 0.8 : 1; });
  EXPECT_LT(joined()[0].steady_share, 0.1);
}

TEST_F(OverDates, AgreesWithAOneWayLayoutWorkedByHand) {
  // Two halves of the field on two dates: 1.1 and 0.9, 1.0 and 0.8. Means of places 1.05 and 0.85;
  // between: 2 x 0.01 x n / (n - 1), within 0.005.
  add("a", "biomass", "2025-06-01", [](Point p) { return p.x < west + 20 ? 1.1 : 0.9; });
  add("b", "biomass", "2025-07-01", [](Point p) { return p.x < west + 20 ? 1.0 : 0.8; });
  const double n = 1200;
  const double between = 2 * 0.01 * n / (n - 1);
  EXPECT_NEAR(joined()[0].steady_share, (between - 0.005) / (between + 0.005), 1e-5);
}

TEST_F(OverDates, CountsASeasonOnceOverTheYears) {
  add("a", "biomass", "2024-07-01", first_lateral(0.8, 1));
  add("b", "biomass", "2025-06-01", first_lateral(0.7, 1));
  add("c", "biomass", "2025-07-01", first_lateral(0.9, 1));
  const auto all = joined();
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[0].id, "biomass_2025");
  EXPECT_EQ(all[1].id, "biomass");
  EXPECT_TRUE(all[1].season.empty());
  ASSERT_EQ(all[1].dates.size(), 2U);
  EXPECT_EQ(all[1].dates[1].name, "2025");
  EXPECT_EQ(all[1].dates[1].layers, "b, c");
  EXPECT_NEAR(all[1].laterals[0].each[0], 0.8, 1e-6);
  EXPECT_NEAR(all[1].laterals[0].each[1], 0.8, 1e-6);
  EXPECT_EQ(low_on(all[1], all[1].laterals[0]), "low in 2 of 2 seasons");
}

TEST_F(OverDates, KnowsThatASouthernSeasonCrossesTheNewYear) {
  add("a", "canopy_temperature", "2025-12-20", first_lateral(0.8, 1));
  add("b", "canopy_temperature", "2026-02-03", first_lateral(0.8, 1));
  EXPECT_EQ(joined(true)[0].id, "canopy_temperature_2025-26");
  EXPECT_EQ(joined(false)[0].id, "canopy_temperature");
}

TEST_F(OverDates, TakesOneYieldASeasonAndOneLayerADate) {
  add("a", "yield", "2025-09-30", first_lateral(0.8, 1));
  add("again", "yield", "2025-10-02", first_lateral(0.5, 1));
  EXPECT_TRUE(joined().empty());
  add("before", "yield", "2024-10-01", first_lateral(0.8, 1));
  const auto yields = joined();
  ASSERT_EQ(yields.size(), 1U);
  EXPECT_EQ(yields[0].id, "yield");
  EXPECT_EQ(yields[0].dates[1].layers, "a");
  add("ndvi", "biomass", "2025-07-01", first_lateral(0.8, 1));
  add("red-edge", "biomass", "2025-07-01", first_lateral(0.8, 1));
  EXPECT_EQ(joined().size(), 1U);
}

TEST_F(OverDates, HasNothingOfASingleDateAndNoValueWhereOnlyOneIsSeen) {
  EXPECT_TRUE(joined().empty());
  add("a", "biomass", "2025-06-01", first_lateral(0.8, 1));
  EXPECT_TRUE(joined().empty());
  Raster half(grid_, Reason::source_nodata);
  for (int r = 0; r < grid_.rows; ++r)
    for (int c = 0; c < 20; ++c) half.set(grid_.index(r, c), 1);
  add("b", "biomass", "2025-07-01", std::move(half));
  const auto all = joined();
  EXPECT_EQ(all[0].low_dates.reasons[grid_.index(3, 30)], Reason::too_few);
  EXPECT_EQ(all[0].zones[1].dates, 1);
  EXPECT_TRUE(std::isnan(all[0].zones[1].variation));
  EXPECT_TRUE(std::isnan(all[0].zones[1].each[1]));
}

}  // namespace
}  // namespace evendrip
