// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/season_crop.hpp"

#include "evendrip/base/random.hpp"

#include <boost/random/uniform_01.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <stdexcept>

namespace evendrip {
namespace {

constexpr std::uint64_t rain_stream = 1;
constexpr double rainy_day_share = 0.12;
constexpr double lacking_at_first = 0.25;  ///< of what the soil holds
constexpr double around_m = 6;
constexpr double bare_index = 0.3;

double crop_et_mm(const SeasonPlan& plan, int day) {
  const double part = (day + 0.5) / plan.days;
  return plan.least_et_mm +
         (plan.most_et_mm - plan.least_et_mm) * std::sin(std::numbers::pi * part);
}

/// Showers that add up to `sum_mm`.
std::vector<double> showers_mm(const SeasonPlan& plan, double sum_mm) {
  auto stream = item_stream(plan.seed, {rain_stream});
  boost::random::uniform_01<double> even;
  std::vector<double> rain(static_cast<std::size_t>(plan.days), 0);
  double fallen = 0;
  for (double& shower : rain) {
    const double chance = even(stream);
    const double amount = even(stream);
    if (chance < rainy_day_share) shower = 0.2 + amount;
    fallen += shower;
  }
  if (!(fallen > 0)) fallen = rain[rain.size() / 2] = 1;
  for (double& shower : rain) shower *= sum_mm / fallen;
  return rain;
}

}  // namespace

std::vector<WaterDay> season_days(const SeasonPlan& plan) {
  if (plan.days < 1) throw std::invalid_argument("a season has one day or more");
  if (plan.watered_every_days < 1)
    throw std::invalid_argument("a crop is watered once a day at most");
  if (!(plan.share_irrigated >= 0 && plan.share_irrigated <= 1))
    throw std::invalid_argument("the irrigated share of a season lies between 0 and 1");
  double season_mm = 0;
  for (int day = 0; day < plan.days; ++day) season_mm += crop_et_mm(plan, day);
  const std::vector<double> rain = showers_mm(plan, (1 - plan.share_irrigated) * season_mm);
  const RootZone middling = season_root_zone(plan, plan.middling_available_mm_m);
  double lacking_mm = lacking_at_first * total_available_mm(middling);
  std::vector<WaterDay> days;
  for (int day = 0; day < plan.days; ++day) {
    WaterDay today{rain[static_cast<std::size_t>(day)], 0, crop_et_mm(plan, day)};
    if (day % plan.watered_every_days == 0)
      today.irrigation_mm = plan.irrigation_over_need * lacking_mm;
    days.push_back(today);
    lacking_mm =
        water_balance(middling, lacking_mm, std::span(&days.back(), 1)).front().depletion_mm;
  }
  return days;
}

RootZone season_root_zone(const SeasonPlan& plan, double available_mm_m) {
  RootZone zone;
  zone.field_capacity_frac = zone.wilting_point_frac + available_mm_m / 1000;
  zone.depth_m = plan.root_depth_m * plan.wetted_share;
  zone.depletion_share = plan.depletion_share;
  return zone;
}

double season_yield(const SeasonPlan& plan, std::span<const WaterDay> days, double available_mm_m,
                    double delivery) {
  const RootZone zone = season_root_zone(plan, available_mm_m);
  std::vector<WaterDay> here(days.begin(), days.end());
  double full_mm = 0;
  for (WaterDay& day : here) {
    day.irrigation_mm *= delivery;
    full_mm += day.crop_et_mm;
  }
  double et_mm = 0;
  for (const WaterDayEnd& end :
       water_balance(zone, lacking_at_first * total_available_mm(zone), here))
    et_mm += end.et_mm;
  return relative_yield(plan.yield_response, et_mm, full_mm);
}

double saturating_index(double relative_yield, double saturation) {
  if (!(saturation > 0)) return relative_yield;
  return std::expm1(-saturation * relative_yield) / std::expm1(-saturation);
}

Raster season_crop(const SimulatedField& field, const SoilMap& soil, const SoilPattern& smooth,
                   const SeasonPlan& plan, double cell_m) {
  Extent ground;
  ground.include(Point{field.along_of(0), field.zones.front().across_min_m});
  ground.include(
      Point{field.along_of(field.plan.lateral_length_m), field.zones.back().across_max_m});
  Raster crop(grid_over(ground.grown(around_m), cell_m));
  const std::vector<WaterDay> days = season_days(plan);
  for (int row = 0; row < crop.grid.rows; ++row) {
    for (int column = 0; column < crop.grid.columns; ++column) {
      const Point p = crop.grid.centre(row, column);
      const double water = field.water_at(p.x, p.y);
      double index = bare_index;
      if (water >= 0) {
        const SoilHere here = soil.at(p.x, p.y);
        const double delivery = 1 + plan.follows_the_water * (water - 1);
        const double yield = season_yield(plan, days, here.available_mm_m, delivery);
        index = std::max(0.0, saturating_index(yield, plan.index_saturation) * here.factor *
                                  smooth.index_at(p.x, p.y));
      }
      crop.set(crop.grid.index(row, column), index);
    }
  }
  return crop;
}

}  // namespace evendrip
