// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/zone_influence.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "evendrip/surface/prediction.hpp"

#include "mapped_field.hpp"

namespace evendrip {
namespace {

double zone_mean(const Field& field, const Samples& samples, const SurfaceModel& model) {
  std::vector<Site> sites;
  for (int lateral = 0; lateral < 20; ++lateral)
    for (int k = 0; k < 6; ++k) {
      const double station_m = 5 + 10 * k;
      sites.push_back({place_on_lateral(field, lateral, station_m), lateral, station_m, 0});
    }
  const SurfacePredictor predictor(observations_of(samples), model, {DataUse::all});
  double sum = 0;
  for (const Prediction& one : predictor.at(sites, {})) sum += one.value;
  return sum / static_cast<double>(sites.size());
}

TEST(ZoneInfluence, IsWhatLeavingTheSampleOutChanges) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, test::survey_of(field));
  ASSERT_NE(map.model(), nullptr);
  const std::vector<double> moved = zone_influence(field, map, {});
  const Samples& all = map.fitted_samples();
  ASSERT_EQ(moved.size(), all.size());
  const double with_all = zone_mean(field, all, *map.model());
  for (const std::size_t i : {std::size_t{0}, all.size() / 2, all.size() - 1}) {
    Samples others = all;
    others.erase(others.begin() + static_cast<std::ptrdiff_t>(i));
    EXPECT_NEAR(moved[i], with_all - zone_mean(field, others, *map.model()), 1e-9) << i;
  }
}

TEST(ZoneInfluence, HardlyChangesWhenTheZoneIsThinned) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, test::survey_of(field));
  const std::vector<double> whole = zone_influence(field, map, {}, 1000);
  const std::vector<double> thinned = zone_influence(field, map, {}, 60);
  double largest = 0;
  for (const double v : whole) largest = std::max(largest, std::abs(v));
  EXPECT_GT(largest, 0);
  for (std::size_t i = 0; i < whole.size(); ++i) EXPECT_NEAR(thinned[i], whole[i], 0.5 * largest);
}

}  // namespace
}  // namespace evendrip
