// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/crop_signal.hpp"

#include "evendrip/base/random.hpp"
#include "evendrip/units/quantity.hpp"

#include <fmt/format.h>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_real_distribution.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace evendrip {
namespace {

constexpr std::uint64_t soil_stream = 2;
constexpr std::uint64_t pixel_stream = 3;
constexpr std::uint64_t yield_stream = 4;
constexpr int soil_waves = 32;
constexpr double bare_index = 0.3;
constexpr double full_vegetation_index = 0.82;
constexpr double cool_canopy_c = 25;
constexpr double warming_c = 12;  ///< of a canopy that has no water at all
constexpr double combine_m_s = 1.6;
constexpr double point_every_s = 2;

Extent extent_of_zones(const SimulatedField& field, double margin_m) {
  Extent extent;
  const double half_m = field.plan.lateral_length_m / 2 + margin_m;
  for (const double along : {-half_m, half_m}) {
    extent.include(field.frame.to_grid(along, field.zones.front().across_min_m - margin_m));
    extent.include(field.frame.to_grid(along, field.zones.back().across_max_m + margin_m));
  }
  return extent;
}

/// Mean over what a pixel sees: five by five places over one and a half times its side.
double blurred(const SimulatedField& field, const SoilPattern& soil, Point centre, double pixel_m) {
  double sum = 0;
  for (int i = -2; i <= 2; ++i) {
    for (int j = -2; j <= 2; ++j) {
      const Point local =
          field.frame.from_grid({centre.x + i * 0.3 * pixel_m, centre.y + j * 0.3 * pixel_m});
      sum += crop_index_at(field, soil, local.x, local.y);
    }
  }
  return sum / 25;
}

/// Mean crop index over what the combine cut for one point, smeared along its way.
double cut_index(const SimulatedField& field, const SoilPattern& soil, double along_m,
                 double across_m) {
  double sum = 0;
  int seen = 0;
  for (int back = -3; back <= 3; ++back) {
    const double there_m = along_m + back * 1.5;
    if (std::abs(there_m) > field.plan.lateral_length_m / 2) continue;
    for (int side = -2; side <= 2; ++side) {
      const double aside_m = across_m + side * 0.2 * field.plan.yield_swath_m;
      if (field.water_at(there_m, aside_m) < 0) continue;
      sum += crop_index_at(field, soil, there_m, aside_m);
      ++seen;
    }
  }
  return seen > 0 ? sum / seen : bare_index;
}

struct YieldUnits {
  const char* heading;
  double factor;
  const char* swath_heading;
  double swath;
};

YieldUnits yield_units(const SimulationPlan& plan) {
  if (!plan.us_units) return {"yield_t_ha", 1, "swath_m", plan.yield_swath_m};
  return {"yield_lb_ac", from_canonical(1, "lb/ac", Dimension::yield), "swath_ft",
          from_canonical(plan.yield_swath_m, "ft", Dimension::length)};
}

}  // namespace

SoilPattern::SoilPattern(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  auto stream = item_stream(plan.seed, {soil_stream});
  boost::random::uniform_real_distribution<double> turn(0, 2 * std::numbers::pi);
  boost::random::uniform_real_distribution<double> wavelength(40, 120);
  for (int i = 0; i < soil_waves; ++i) {
    const double direction = turn(stream);
    const double per_m = 2 * std::numbers::pi / wavelength(stream);
    const double phase = turn(stream);
    waves_.push_back({per_m * std::cos(direction), per_m * std::sin(direction), phase});
  }
  amplitude_ = plan.soil_sd * std::sqrt(2.0 / soil_waves);
  for (const SimulatedSoilPatch& patch : plan.soil_patches) {
    const auto zone = std::find_if(field.zones.begin(), field.zones.end(),
                                   [&](const SimulatedZone& z) { return z.id == patch.zone; });
    patches_.push_back({field.along_of(patch.station_m),
                        zone->across_min_m + (patch.lateral - 0.5) * plan.lateral_spacing_m,
                        patch.radius_m, patch.factor});
  }
}

double SoilPattern::index_at(double along_m, double across_m) const {
  double index = 1;
  for (const Wave& wave : waves_) {
    index += amplitude_ *
             std::cos(wave.along_per_m * along_m + wave.across_per_m * across_m + wave.phase);
  }
  for (const Patch& patch : patches_) {
    const double r = std::hypot(along_m - patch.along_m, across_m - patch.across_m);
    // Flat in the middle, half of the loss at the radius, gone at twice the radius.
    const double depth = 1 / (1 + std::pow(r / patch.radius_m, 6));
    index *= 1 - (1 - patch.factor) * depth;
  }
  return index;
}

double crop_index_at(const SimulatedField& field, const SoilPattern& soil, double along_m,
                     double across_m) {
  const double water = field.water_at(along_m, across_m);
  if (water < 0) return bare_index;
  const double missed = std::max(0.0, 1 - water);
  const double by_water = 1 - std::min(1.0, field.plan.water_response * missed);
  return std::max(0.0, by_water * soil.index_at(along_m, across_m));
}

Raster canopy_raster(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  const SoilPattern soil(field);
  Raster raster(grid_over(extent_of_zones(field, 15), plan.biomass_pixel_m));
  for (int row = 0; row < raster.grid.rows; ++row) {
    for (int column = 0; column < raster.grid.columns; ++column) {
      const std::size_t i = raster.grid.index(row, column);
      auto stream = item_stream(plan.seed, {pixel_stream, i});
      boost::random::normal_distribution<double> noise(0, plan.canopy_noise_sd);
      const double index =
          blurred(field, soil, raster.grid.centre(row, column), plan.biomass_pixel_m) +
          noise(stream);
      raster.set(i, plan.canopy == "biomass" ? std::clamp(full_vegetation_index * index, 0.0, 1.0)
                                             : cool_canopy_c + warming_c * (1 - index));
    }
  }
  return raster;
}

Raster elevation_raster(const SimulatedField& field) {
  Raster raster(grid_over(extent_of_zones(field, 20), 5));
  for (int row = 0; row < raster.grid.rows; ++row) {
    for (int column = 0; column < raster.grid.columns; ++column) {
      const Point local = field.frame.from_grid(raster.grid.centre(row, column));
      raster.set(raster.grid.index(row, column), field.ground_m(local.x, local.y));
    }
  }
  return raster;
}

std::string yield_table(const SimulatedField& field) {
  const SimulationPlan& plan = field.plan;
  const SoilPattern soil(field);
  const Transform to_lonlat(field.frame.crs, wgs84());
  const YieldUnits units = yield_units(plan);
  std::string table = fmt::format("lat,lon,{},{},time_s\n", units.heading, units.swath_heading);
  const double from_m = field.zones.front().across_min_m;
  const double width_m = field.zones.back().across_max_m - from_m;
  const int passes = static_cast<int>(std::floor(width_m / plan.yield_swath_m + 1e-9));
  const int points =
      static_cast<int>(std::floor(plan.lateral_length_m / (combine_m_s * point_every_s)));
  double time_s = 0;
  for (int pass = 0; pass < passes; ++pass) {
    const double across_m = from_m + (pass + 0.5) * plan.yield_swath_m;
    auto stream = item_stream(plan.seed, {yield_stream, static_cast<std::uint64_t>(pass)});
    boost::random::normal_distribution<double> noise(0, plan.yield_noise_cv);
    for (int i = 0; i < points; ++i, time_s += point_every_s) {
      const double done_m = (i + 0.5) * combine_m_s * point_every_s;
      const double along_m =
          field.along_of(pass % 2 == 0 ? done_m : plan.lateral_length_m - done_m);
      const double t_ha = plan.yield_t_ha * cut_index(field, soil, along_m, across_m) *
                          std::max(0.0, 1 + noise(stream));
      const Point lonlat = to_lonlat(field.frame.to_grid(along_m, across_m));
      table += fmt::format("{:.7f},{:.7f},{:.{}f},{:.2f},{:.0f}\n", lonlat.y, lonlat.x,
                           t_ha * units.factor, plan.us_units ? 0 : 2, units.swath, time_s);
    }
    time_s += 40;
  }
  return table;
}

}  // namespace evendrip
