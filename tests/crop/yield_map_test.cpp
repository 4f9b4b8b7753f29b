// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/yield_map.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>
#include <numbers>
#include <random>
#include <stdexcept>

namespace evendrip {
namespace {

struct Points {
  std::vector<Point> places;
  std::vector<double> yields;
};

const Grid grid{500'000, 4'400'100, 5, 20, 20};

/// Passes 6 m apart, a record every 2 m, a yield that waves over the field, and noise.
Points passes(double wave_t_ha, double noise_t_ha) {
  std::mt19937_64 random(11);
  std::normal_distribution<double> noise(0, 1);
  Points out;
  for (double x = 3; x < 100; x += 6) {
    for (double y = 1; y < 100; y += 2) {
      out.places.push_back({500'000 + x + 0.1 * noise(random), 4'400'000 + y});
      out.yields.push_back(8 + wave_t_ha * std::sin(x / 15) * std::cos(y / 20) +
                           noise_t_ha * noise(random));
    }
  }
  return out;
}

bool same_bits(const Raster& a, const Raster& b) {
  return a.reasons == b.reasons && a.values.size() == b.values.size() &&
         std::memcmp(a.values.data(), b.values.data(), a.values.size() * sizeof(float)) == 0;
}

TEST(YieldMap, TellsItsMethodInTheUnitsAsked) {
  const Points points = passes(1.5, 0.5);
  YieldMapOptions options;
  options.variogram = VariogramModel{VariogramShape::spherical, 0.2, 1.0, 30, 0, 1};
  options.within_m = 15.24;
  const auto told = [&] {
    return map_yield(points.places, points.yields, grid, {}, options, {}).method_text;
  };
  EXPECT_NE(told().find("within 15.2 m,"), std::string::npos);
  EXPECT_NE(told().find("nugget 0.2 (t/ha)\u00b2"), std::string::npos);
  options.units = UnitSystem::us;
  EXPECT_NE(told().find("within 50 ft,"), std::string::npos) << told();
  EXPECT_NE(told().find("range parameter 98.4 ft"), std::string::npos) << told();
  // 1 t/ha is 892.18 lb/ac, by either acre.
  EXPECT_NE(told().find("partial sill 7959"), std::string::npos) << told();
  EXPECT_NE(told().find(" (lb/ac)\u00b2"), std::string::npos) << told();
}

TEST(YieldMap, FollowsTheYieldUnderTheNoiseWithAnHonestError) {
  const Points points = passes(1.5, 0.5);
  const YieldMap map = map_yield(points.places, points.yields, grid, {}, {}, {});
  EXPECT_NE(map.variogram.shape, VariogramShape::nugget);
  EXPECT_GT(map.variogram.nugget, 0.15);  // the noise has a variance of 0.25
  EXPECT_LT(map.variogram.nugget, 0.35);
  double squares = 0;
  double squared_z = 0;
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      const Point at = grid.centre(row, column);
      const double true_mean =
          8 + 1.5 * std::sin((at.x - 500'000) / 15) * std::cos((at.y - 4'400'000) / 20);
      const std::size_t i = grid.index(row, column);
      ASSERT_TRUE(map.yield.has_value(i));
      const double error = double{map.yield.values[i]} - true_mean;
      squares += error * error;
      squared_z += std::pow(error / double{map.standard_error.values[i]}, 2);
    }
  }
  EXPECT_LT(std::sqrt(squares / 400), 0.25);  // half the noise of one record
  EXPECT_GT(squared_z / 400, 0.5);
  EXPECT_LT(squared_z / 400, 1.6);
}

TEST(YieldMap, WithoutStructureIsTheMeanOfThePointsInReachWithItsError) {
  const Points points = passes(0, 0.5);
  YieldMapOptions options;
  options.most = 9;
  const YieldMap map = map_yield(points.places, points.yields, grid, {}, options, {});
  ASSERT_EQ(map.variogram.shape, VariogramShape::nugget);
  const Point at = grid.centre(7, 11);
  std::vector<std::pair<double, double>> nearest;
  for (std::size_t i = 0; i < points.places.size(); ++i)
    nearest.emplace_back(distance_m(at, points.places[i]), points.yields[i]);
  std::sort(nearest.begin(), nearest.end());
  double mean = 0;
  for (int k = 0; k < 9; ++k) mean += nearest[static_cast<std::size_t>(k)].second / 9;
  const std::size_t i = grid.index(7, 11);
  EXPECT_NEAR(map.yield.values[i], mean, 1e-5);
  EXPECT_NEAR(map.standard_error.values[i], std::sqrt(map.variogram.nugget / 9), 1e-6);
  EXPECT_NE(map.method_text.find("no more alike"), std::string::npos);
}

TEST(YieldMap, SaysWhyACellHasNoValue) {
  Points points = passes(1, 0.3);
  const Grid wide{500'000, 4'400'100, 5, 40, 20};  // its eastern half lies beyond the points
  std::vector<std::uint8_t> wanted(wide.cells(), 1);
  wanted[0] = 0;
  const YieldMap map = map_yield(points.places, points.yields, wide, wanted, {}, {});
  EXPECT_EQ(map.yield.reasons[0], Reason::outside_zones);
  EXPECT_EQ(map.standard_error.reasons[0], Reason::outside_zones);
  EXPECT_EQ(map.yield.reasons[wide.index(10, 39)], Reason::no_source);
  EXPECT_EQ(map.standard_error.reasons[wide.index(10, 39)], Reason::no_source);
  EXPECT_EQ(map.yield.reasons[wide.index(10, 10)], Reason::value);
  const YieldMap nothing = map_yield({}, {}, wide, {}, {}, {});
  EXPECT_EQ(nothing.yield.reasons[wide.index(10, 10)], Reason::no_source);
  const YieldMap one = map_yield(std::span(points.places).first(1),
                                 std::span(points.yields).first(1), wide, {}, {}, {});
  EXPECT_EQ(one.yield.reasons[wide.index(19, 0)], Reason::too_few);
}

TEST(YieldMap, DoesNotDependOnThreadsOrTheOrderOfThePointsAndLeavesOutWhatIsNoNumber) {
  Points points = passes(1, 0.3);
  const YieldMap map = map_yield(points.places, points.yields, grid, {}, {}, {});
  std::reverse(points.places.begin(), points.places.end());
  std::reverse(points.yields.begin(), points.yields.end());
  points.places.push_back({500'050, 4'400'050});
  points.yields.push_back(std::numeric_limits<double>::quiet_NaN());
  Work two;
  two.threads = 2;
  const YieldMap again = map_yield(points.places, points.yields, grid, {}, {}, two);
  EXPECT_TRUE(same_bits(map.yield, again.yield));
  EXPECT_TRUE(same_bits(map.standard_error, again.standard_error));
}

TEST(YieldMap, OfOneAndTheSameYieldIsThatYieldWithoutError) {
  Points points = passes(0, 0);
  const YieldMap map = map_yield(points.places, points.yields, grid, {}, {}, {});
  for (std::size_t i = 0; i < grid.cells(); ++i) {
    EXPECT_EQ(map.yield.values[i], 8);
    EXPECT_EQ(map.standard_error.values[i], 0);
  }
}

TEST(YieldMap, TakesAVariogramThatIsGiven) {
  const Points points = passes(1, 0.3);
  YieldMapOptions options;
  options.variogram = VariogramModel{VariogramShape::spherical, 0.2, 0.7, 40, 0, 1};
  const YieldMap map = map_yield(points.places, points.yields, grid, {}, options, {});
  EXPECT_EQ(map.variogram.range_m, 40);
  EXPECT_NE(map.method_text.find("spherical variogram with nugget 0.2"), std::string::npos);
}

TEST(YieldMap, RefusesWhatDoesNotMatch) {
  const Points points = passes(1, 0.3);
  const std::span yields(points.yields);
  EXPECT_THROW(map_yield(points.places, yields.first(3), grid, {}, {}, {}), std::invalid_argument);
  const std::vector<std::uint8_t> wanted(7, 1);
  EXPECT_THROW(map_yield(points.places, yields, grid, wanted, {}, {}), std::invalid_argument);
  YieldMapOptions options;
  options.most = 0;
  EXPECT_THROW(map_yield(points.places, yields, grid, {}, options, {}), std::invalid_argument);
}

Raster season(std::vector<double> values) {
  Raster out(Grid{0, 10, 5, 2, 2});
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (std::isfinite(values[i])) out.set(i, values[i]);
  }
  return out;
}

TEST(Stability, IsTheMeanAndTheStandardDeviationOverSeasons) {
  constexpr double none = std::numeric_limits<double>::quiet_NaN();
  const std::vector<Raster> seasons{season({1.2, 0.9, none, none}), season({1.0, 0.9, 0.8, none}),
                                    season({0.8, none, none, none})};
  const StabilityMap map = stability_of(seasons);
  EXPECT_EQ(map.seasons, 3);
  EXPECT_FLOAT_EQ(map.level.values[0], 1.0F);
  EXPECT_FLOAT_EQ(map.variation.values[0], 0.2F);  // squares 0.04 + 0 + 0.04 over 2
  EXPECT_FLOAT_EQ(map.level.values[1], 0.9F);
  EXPECT_FLOAT_EQ(map.variation.values[1], 0.0F);
  EXPECT_EQ(map.level.reasons[2], Reason::too_few);
  EXPECT_EQ(map.variation.reasons[3], Reason::no_source);
}

TEST(Stability, RefusesOneSeasonAndGridsThatDiffer) {
  std::vector<Raster> seasons{season({1, 1, 1, 1})};
  EXPECT_THROW(stability_of(seasons), std::invalid_argument);
  seasons.emplace_back(Grid{0, 10, 2.5, 4, 4});
  EXPECT_THROW(stability_of(seasons), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
