// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/crop_signal.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <sstream>

#include "plans.hpp"

namespace evendrip {
namespace {

/// Mean of the raster over the stations from-to of the first zone.
double mean_over(const SimulatedField& field, const Raster& raster, double from_m, double to_m) {
  double sum = 0;
  int n = 0;
  for (int row = 0; row < raster.grid.rows; ++row) {
    for (int column = 0; column < raster.grid.columns; ++column) {
      const Point local = field.frame.from_grid(raster.grid.centre(row, column));
      const SimulatedZone& zone = field.zones.front();
      const bool inside = local.x > field.along_of(from_m) && local.x < field.along_of(to_m) &&
                          local.y > zone.across_min_m + 3 && local.y < zone.across_max_m - 3;
      if (!inside) continue;
      sum += static_cast<double>(raster.values[raster.grid.index(row, column)]);
      ++n;
    }
  }
  EXPECT_GT(n, 3);
  return sum / n;
}

/// Takes three quarters of the pressure, and so half of the discharge, beyond station 30 m: see
/// Truth.APinchStarvesAClosedLineBeyondItAndDoesNotClog.
SimulatedFault halving_pinch() {
  return test::obstruction("pinch", "Z1", 1, 8, 30, 0.99921);
}

TEST(CropSignal, SoilVariesSmoothlyByTheStatedAmount) {
  SimulationPlan plan = test::small_plan();
  plan.soil_sd = 0.08;
  double squares = 0, mean = 0, steps = 0;
  int n = 0;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    plan.seed = seed;
    const SoilPattern soil(simulated_truth(plan));
    for (double along = -500; along <= 500; along += 50) {
      const double index = soil.index_at(along, 2 * along);
      mean += index;
      squares += (index - 1) * (index - 1);
      steps = std::max(steps, std::abs(soil.index_at(along + 1, 2 * along) - index));
      ++n;
    }
  }
  EXPECT_NEAR(mean / n, 1, 0.02);
  EXPECT_NEAR(std::sqrt(squares / n), 0.08, 0.01);
  // Sum of 32 waves of amplitude 0.08 / 4, none shorter than 40 m.
  EXPECT_LT(steps, 32 * 0.02 * 2 * 3.1416 / 40);
}

TEST(CropSignal, TheCropFollowsTheWaterByTheStatedResponse) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {halving_pinch()};
  plan.water_response = 0.8;
  const SimulatedField field = simulated_truth(plan);
  const SoilPattern soil(field);
  const double across = field.zones.front().across_min_m + 6;
  const double water = field.water_at(field.along_of(50), across);
  ASSERT_NEAR(water, 0.5, 0.1);
  EXPECT_NEAR(crop_index_at(field, soil, field.along_of(10), across), 1, 2e-3);
  EXPECT_NEAR(crop_index_at(field, soil, field.along_of(50), across), 1 - 0.8 * (1 - water), 1e-9);
}

TEST(CropSignal, ASoilPatchLowersTheCropWhereTheWaterIsFine) {
  SimulationPlan plan = test::even_plan();
  plan.soil_patches = {{"Z1", 4, 30, 6, 0.7}};
  const SimulatedField field = simulated_truth(plan);
  const SoilPattern soil(field);
  const double across = field.zones.front().across_min_m + 3.5 * plan.lateral_spacing_m;
  EXPECT_NEAR(crop_index_at(field, soil, field.along_of(30), across), 0.7, 1e-3);
  EXPECT_NEAR(crop_index_at(field, soil, field.along_of(55), across), 1, 2e-3);
  EXPECT_NEAR(field.water_at(field.along_of(30), across), 1, 1e-3);
}

TEST(CropSignal, TheRasterShowsTheFaultInEitherKind) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {halving_pinch()};
  const SimulatedField field = simulated_truth(plan);
  const Raster biomass = canopy_raster(field);
  EXPECT_NEAR(mean_over(field, biomass, 40, 56) / mean_over(field, biomass, 4, 20), 0.6, 0.03);
  plan.canopy = "canopy_temperature";
  const SimulatedField warm = simulated_truth(plan);
  const Raster canopy = canopy_raster(warm);
  EXPECT_NEAR(mean_over(warm, canopy, 40, 56) - mean_over(warm, canopy, 4, 20), 0.4 * 12, 0.5);
}

TEST(CropSignal, TheGroundRisesAsPlanned) {
  SimulationPlan plan = test::small_plan();
  plan.slope_frac = 0.01;
  plan.cross_slope_frac = 0;
  const SimulatedField field = simulated_truth(plan);
  const Raster ground = elevation_raster(field);
  EXPECT_NEAR(mean_over(field, ground, 40, 56) - mean_over(field, ground, 4, 20), 0.36, 0.03);
}

TEST(CropSignal, TheCombineCutsEveryPassAndFindsTheFault) {
  SimulationPlan plan = test::even_plan();
  plan.faults = {halving_pinch(), test::clogging("Z2", 1, 8, 30, 0.5, 0)};
  const SimulatedField field = simulated_truth(plan);
  const Transform to_grid(wgs84(), field.frame.crs);
  std::istringstream lines(yield_table(field));
  std::string line;
  std::getline(lines, line);
  EXPECT_EQ(line, "lat,lon,yield_t_ha,swath_m,time_s");
  double near = 0, far = 0;
  int near_n = 0, far_n = 0;
  while (std::getline(lines, line)) {
    double lat = 0, lon = 0, t_ha = 0;
    ASSERT_EQ(std::sscanf(line.c_str(), "%lf,%lf,%lf", &lat, &lon, &t_ha), 3);
    const double station = field.frame.from_grid(to_grid({lon, lat})).x + 30;
    ASSERT_GT(station, 0);
    ASSERT_LT(station, 60);
    if (station < 23.5) near += t_ha, ++near_n;
    if (station > 38) far += t_ha, ++far_n;
  }
  // 28 m of two zones and their gap hold seven swaths of 4 m; 60 m hold 18 points of 3.2 m, from
  // station 1.6 on the way out (four passes) and from 58.4 on the way back (three).
  EXPECT_EQ(near_n, 7 * 7);
  EXPECT_EQ(far_n, 4 * 6 + 3 * 7);
  EXPECT_NEAR((far / far_n) / (near / near_n), 0.6, 0.04);
}

}  // namespace
}  // namespace evendrip
