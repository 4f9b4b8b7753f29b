// SPDX-License-Identifier: Apache-2.0
#include "layout.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <string>
#include <variant>
#include <vector>

#include <fmt/format.h>

namespace evendrip {
namespace {

std::optional<double> side_bearing_deg(const std::string& side) {
  const std::vector<std::string> sides{"north", "north-east", "east", "south-east",
                                       "south", "south-west", "west", "north-west"};
  const auto found = std::find(sides.begin(), sides.end(), side);
  if (found == sides.end()) return std::nullopt;
  return 45.0 * static_cast<double>(found - sides.begin());
}

/// A bare number of degrees, or text with its unit ("12 deg").
std::optional<double> bearing_of(const TomlTable& table, TomlReader& reader) {
  const bool bare = std::any_of(table.begin(), table.end(), [](const TomlEntry& entry) {
    return entry.key == "bearing" && !std::holds_alternative<std::string>(entry.value.value);
  });
  const auto bearing =
      bare ? reader.number("bearing") : reader.quantity("bearing", Dimension::angle);
  if (!bearing || std::abs(*bearing) <= 360) return bearing;
  reader.problem("bearing", "out_of_range", "the bearing cannot be used",
                 fmt::format("{:g}", *bearing), "0 to 360 degrees");
  return std::nullopt;
}

/// Degrees to add to a bearing so that it counts from grid north.
double grid_turn_deg(TomlReader& reader, const Field& field) {
  const std::string north = reader.text("north").value_or("grid");
  if (north == "grid") return 0;
  if (north != "true") {
    reader.problem("north", "unknown_north", "there is no such north", north, "grid or true");
    return 0;
  }
  const Extent extent = field.extent();
  if (extent.empty()) return 0;
  return convergence_deg(field.crs,
                         {(extent.x_min + extent.x_max) / 2, (extent.y_min + extent.y_max) / 2});
}

/// The bearing turned round where it would lead towards the supply side.
double away_from_supply(TomlReader& reader, double bearing_deg) {
  const auto side = reader.text("supply_side");
  if (!side) return bearing_deg;
  const auto side_deg = side_bearing_deg(*side);
  if (!side_deg) {
    reader.problem("supply_side", "unknown_side", "there is no such side", *side,
                   "north, north-east, east, south-east, south, south-west, west or north-west");
    return bearing_deg;
  }
  const double towards = std::cos((bearing_deg - *side_deg) * std::numbers::pi / 180);
  if (std::abs(towards) < 0.1) {
    reader.problem("supply_side", "side_along_laterals",
                   "laterals of this bearing do not start on this side", *side,
                   "a side that the laterals' ends face");
  }
  return towards > 0 ? bearing_deg + 180 : bearing_deg;
}

double length_key(TomlReader& reader, const char* key, double otherwise_m) {
  const auto value = reader.quantity(key, Dimension::length);
  if (value && !(*value >= 0)) {
    reader.problem(key, "out_of_range", "a length cannot be negative",
                   fmt::format("{:g} m", *value), "0 or more");
    return otherwise_m;
  }
  return value.value_or(otherwise_m);
}

}  // namespace

std::optional<LayoutRequest> layout_request(const TomlTable& table, const Field& field,
                                            Doubts& doubts) {
  TomlReader reader(table, "field.toml", "[lateral_layout]", doubts);
  LayoutRequest request;
  request.place = reader.place_of("bearing");
  reader.required("bearing", "the direction of flow, degrees clockwise from north");
  const auto bearing = bearing_of(table, reader);
  const double turn = grid_turn_deg(reader, field);
  const double turned = away_from_supply(reader, bearing.value_or(0));
  request.bearing_deg = std::fmod(turned + turn + 720, 360);
  request.spacing_m = reader.quantity("spacing", Dimension::length);
  if (request.spacing_m && !(*request.spacing_m > 0)) {
    reader.problem("spacing", "out_of_range", "the spacing cannot be used",
                   fmt::format("{:g} m", *request.spacing_m), "more than 0");
  }
  request.end_clearance_m = length_key(reader, "end_clearance", request.end_clearance_m);
  request.shortest_m = length_key(reader, "shortest", request.shortest_m);
  reader.finish();
  if (!bearing) return std::nullopt;
  return request;
}

}  // namespace evendrip
