// SPDX-License-Identifier: Apache-2.0
// Rasters of a made-up condition over the invented field of example_field.hpp: neighbours that are
// weak from the middle on, a lateral pinched at its inlet, ground without a verdict, and a strip
// that was not judged.
#pragma once

#include <algorithm>
#include <cmath>

#include "evendrip/maps/condition_sheets.hpp"
#include "example_field.hpp"

namespace evendrip::example {

struct MadeCondition {
  std::vector<PartMap> parts;
  Raster delivery, performance, lower, upper, standard_error, p_low, p_clogged, crop;
  std::vector<FaultMark> faults;
};

struct OnField {
  double along = 0;
  double across = 0;
  int lateral = 0;
  double from_supply = 0;
  bool second = false;
};
inline OnField on_field(Point p) {
  const double dx = p.x - origin.x, dy = p.y - origin.y;
  OnField place;
  place.along = dx * std::cos(0.12) + dy * std::sin(0.12);
  place.across = -dx * std::sin(0.12) + dy * std::cos(0.12);
  place.lateral = std::clamp(static_cast<int>(std::floor((place.across - 0.5) / 3)), 0, 51);
  place.second = place.along > 120;
  place.from_supply = place.along - (place.second ? 122 : 0);
  return place;
}

inline double station_part(Point p) {
  return 0.05 - 0.001 * on_field(p).from_supply;
}
inline double lateral_part(Point p) {
  const OnField place = on_field(p);
  return 0.06 * std::sin(0.35 * place.lateral + (place.second ? 2 : 0));
}
inline double group_part(Point p) {
  return 0.05 * std::cos(0.09 * on_field(p).lateral);
}
inline double soil_part(Point p) {
  return 0.08 * std::sin(0.05 * p.x) * std::cos(0.04 * p.y);
}
inline double edge_part(Point p) {
  return -0.15 * std::exp(-on_field(p).from_supply / 5);
}
inline double ground_part(Point p) {
  return on_field(p).across > 60 ? 0.04 : -0.06;
}
inline double local_part(Point p) {
  const OnField place = on_field(p);
  const bool weak =
      !place.second && place.lateral >= 18 && place.lateral <= 24 && place.from_supply > 62;
  return weak ? -0.3 : 0;
}
inline double network_part(Point p) {
  const OnField place = on_field(p);
  return place.second && place.lateral >= 39 && place.lateral <= 41 ? -0.45 : 0;
}
inline double performance_of(Point p) {
  return 0.99 + station_part(p) + lateral_part(p) + group_part(p) + local_part(p);
}
inline double share_below(double mean, double limit) {
  return 0.5 * std::erfc((mean - limit) / (0.06 * std::sqrt(2.0)));
}

/// The north of the second zone was not judged; a patch of the first is too uncertain.
inline void mark_unknown(Raster& raster) {
  const Grid& grid = raster.grid;
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      const std::size_t i = grid.index(row, column);
      if (!raster.has_value(i)) continue;
      const OnField place = on_field(grid.centre(row, column));
      if (place.second && place.across > 140) raster.clear(i, Reason::too_few);
      if (!place.second && place.lateral >= 34 && place.lateral <= 36)
        raster.reasons[i] = Reason::too_uncertain;
    }
  }
}

inline MadeCondition make_condition(Example& e) {
  const Grid grid = grid_over(e.field.extent(), 1.5);
  const auto over = [&](const auto& value) {
    Raster raster = raster_of(e.field, grid, value);
    mark_unknown(raster);
    return raster;
  };
  const auto delivery = [](Point p) { return performance_of(p) + network_part(p); };
  MadeCondition made;
  made.parts = {{"Along the laterals alike", over(station_part), 0.05},
                {"Single laterals", over(lateral_part), 0.12},
                {"Groups of laterals", over(group_part), 0.08},
                {"A few laterals from somewhere on", over(local_part), 0.2},
                {"Faults found in the pipes", over(network_part), 0.03},
                {"Soil and stand (crop)", over(soil_part), 0.3, true},
                {"Ends of laterals (crop)", over(edge_part), 0.06, true},
                {"Elevation, soil map (crop)", over(ground_part), 0.04, true}};
  made.performance = over(performance_of);
  made.delivery = over(delivery);
  const auto sd = [](Point p) { return 0.03 + 0.0003 * on_field(p).along; };
  made.standard_error = over(sd);
  made.lower = over([&](Point p) { return delivery(p) - 1.645 * sd(p); });
  made.upper = over([&](Point p) { return delivery(p) + 1.645 * sd(p); });
  made.p_low = over([&](Point p) { return share_below(delivery(p), 0.9); });
  made.p_clogged = over([](Point p) { return share_below(performance_of(p), 0.75); });
  made.crop = over([&](Point p) { return 1 + 0.6 * (delivery(p) - 1); });
  made.faults = {{at(124, 121.5), "F1", FaultKind::pinch,
                  "laterals Z2-40 to Z2-42: manifold narrowed, delivery beyond it 55 % of clean"},
                 {at(60, 62), "F2", FaultKind::cut, "lateral Z1-21: cut at 58 m"}};
  e.context.references = {ReferenceKind::clean_system, ReferenceKind::clean_system};
  e.context.method =
      "One estimate zone by zone from holes, crop, gauges and the network of pipes; its parts "
      "follow stations, laterals, groups of them and the soil. Z1: holes and the crop layer "
      "2025-yield; Z2: holes, without crop.";
  return made;
}

}  // namespace evendrip::example
