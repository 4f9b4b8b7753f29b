// SPDX-License-Identifier: Apache-2.0
// An invented field for pictures: two zones of slanted laterals, a smooth surface, dug emitters in
// every state. Made by plain formulas, so that it is the same everywhere.
#pragma once

#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <numbers>
#include <sstream>
#include <string>

#include "evendrip/maps/discharge_sheets.hpp"
#include "evendrip/maps/pressure_sheet.hpp"

#include "own_folder.hpp"

namespace evendrip::example {

struct Example {
  Field field;
  Survey survey;
  Findings findings;
  Raster discharge;
  Raster relative;
  Raster standard_error;
  Raster crop;
  SheetContext context;
};

inline constexpr Point origin{612340, 4118720};

inline Point at(double along, double across) {
  constexpr double bearing = 0.12;
  return {origin.x + along * std::cos(bearing) - across * std::sin(bearing),
          origin.y + along * std::sin(bearing) + across * std::cos(bearing)};
}

inline Polygon block(double a0, double a1, double b0, double b1) {
  return {{at(a0, b0), at(a1, b0), at(a1, b1), at(a0, b1)}, {}};
}

/// A bell of height 1 around (a0, b0) in shares of the field.
inline double bell(Point p, double a0, double b0, double narrow) {
  const double a = (p.x - origin.x) / 240 - a0, b = (p.y - origin.y) / 160 - b0;
  return std::exp(-narrow * (2 * a * a + b * b));
}

inline double relative_at(Point p) {
  return 1.06 - 0.62 * bell(p, 0.72, 0.75, 30) - 0.14 * (p.x - origin.x) / 240 +
         0.28 * bell(p, 0.2, 0.3, 30);
}

/// Grows from the middle of the field outwards.
inline double standard_error_at(Point p) {
  return 0.36 - 0.33 * bell(p, 0.5, 0.5, 4);
}

inline double crop_at(Point p) {
  return 1.02 - 0.35 * bell(p, 0.70, 0.75, 25) - 0.3 * bell(p, 0.3, 0.9, 50) +
         0.08 * std::sin((p.x - origin.x) / 27) * std::cos((p.y - origin.y) / 23);
}

inline void add_zone(Field& field, const std::string& id, double a0, double a1) {
  Zone zone;
  zone.id = id;
  zone.area = {block(a0, a1, 0, 160)};
  const int index = static_cast<int>(field.zones.size());
  field.zones.push_back(zone);
  for (int i = 0; i < 52; ++i) {
    const double across = 2 + 3.0 * i;
    Lateral lateral;
    lateral.id = id + "-" + std::to_string(i + 1);
    lateral.zone = index;
    lateral.line = {at(a0 + 2, across), at(a1 - 2, across)};
    field.laterals.push_back(lateral);
  }
  field.manifolds.push_back({id + "s", index, true, 75, {at(a0 + 2, 1), at(a0 + 2, 157)}});
  field.manifolds.push_back({id + "f", index, false, 50, {at(a1 - 2, 1), at(a1 - 2, 157)}});
}

template <class Value>
Raster raster_of(const Field& field, const Grid& grid, const Value& value) {
  Raster raster(grid, Reason::outside_zones);
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      const Point p = grid.centre(row, column);
      for (const Zone& zone : field.zones) {
        if (contains(zone.area, p)) raster.set(grid.index(row, column), value(p));
      }
    }
  }
  return raster;
}

inline void add_emitters(Example& e) {
  for (int i = 0; i < 64; ++i) {
    MeasuredEmitter emitter;
    const double along = 8 + 227 * std::fmod(0.5 + i * 0.754877666, 1.0);
    const double across = 4 + 150 * std::fmod(0.5 + i * 0.569840291, 1.0);
    emitter.site.place = at(along, across);
    emitter.name = std::to_string(i + 1);
    emitter.discharge_lph = 1.04 * relative_at(emitter.site.place) + 0.04 * std::sin(12.9 * i);
    if (i % 16 == 5) emitter.state = EmitterState::drips;
    if (i % 21 == 7) emitter.state = EmitterState::none;
    if (i == 11) emitter.state = EmitterState::dug_damage;
    if (i == 23) emitter.state = EmitterState::leak;
    if (i == 31) emitter.state = EmitterState::not_found;
    if (emitter.state == EmitterState::none) emitter.discharge_lph = 0;
    if (i == 40 || i == 47) {
      emitter.placement = Placement::ambiguous;
      emitter.position_sd_m = 4;
    }
    e.survey.emitters.push_back(emitter);
  }
}

inline Polygon round_patch(double along, double across, double radius) {
  Polygon polygon;
  for (int i = 0; i < 40; ++i) {
    const double angle = 2 * std::numbers::pi * i / 40;
    const double r = radius * (1 + 0.18 * std::sin(3 * angle));
    polygon.outer.push_back(at(along + r * std::cos(angle), across + r * std::sin(angle)));
  }
  return polygon;
}

inline void add_finding(Example& e, FindingKind kind, Polygon outline, double mean_relative,
                        double mean_crop) {
  Finding finding;
  finding.id = "A" + std::to_string(e.findings.list.size() + 1);
  finding.kind = kind;
  finding.zone = kind == FindingKind::crop_low ? 0 : 1;
  finding.area_ha = area_m2(outline) / 1e4;
  finding.outline = {std::move(outline)};
  finding.mean_relative = mean_relative;
  finding.mean_crop = mean_crop;
  e.findings.list.push_back(finding);
}

inline Example make_example() {
  Example e;
  e.field.name = "Heron Flat (invented)";
  e.field.crs = parse_crs("EPSG:32614");
  e.field.scale_factor = 0.99976;
  add_zone(e.field, "Z1", 0, 118);
  add_zone(e.field, "Z2", 122, 240);
  e.survey.date = "2026-05-12";
  const Grid grid = grid_over(e.field.extent(), 2);
  e.relative = raster_of(e.field, grid, relative_at);
  e.standard_error = raster_of(e.field, grid, standard_error_at);
  e.discharge = raster_of(e.field, grid, [](Point p) { return 1.04 * relative_at(p); });
  e.crop = raster_of(e.field, grid, crop_at);
  add_emitters(e);
  add_finding(e, FindingKind::both_low, round_patch(178, 108, 24), 0.58, 0.74);
  add_finding(e, FindingKind::water_low, round_patch(222, 30, 14), 0.84, 0.99);
  add_finding(e, FindingKind::crop_low, round_patch(84, 135, 18), 0.98, 0.78);
  e.context.method =
      "ordinary kriging, exponential variogram, 32 nearest emitters within the zone; 60 emitters; "
      "leave-one-out root mean square error 0.06.";
  e.context.further = {
      "2 emitters have an uncertain place: they count in their zone and stay out of the surface."};
  return e;
}

/// Pressures of the example: highest at each supply manifold.
inline double pressure_at(Point p) {
  const double along = (p.x - origin.x) * std::cos(0.12) + (p.y - origin.y) * std::sin(0.12);
  const double from_supply = along < 120 ? along : along - 122;
  return 108 - 0.085 * from_supply - 0.01 * (p.y - origin.y);
}

inline void add_port(Example& e, std::vector<ExpectedZone>& zones, int zone, const char* kind,
                     Point place, double measured_kpa) {
  Port port;
  port.id = "P" + std::to_string(e.field.ports.size() + 1);
  port.zones = {zone};
  port.kind = kind;
  port.place = place;
  PortComparison comparison;
  comparison.port = static_cast<int>(e.field.ports.size());
  comparison.measured_kpa = measured_kpa;
  comparison.modelled_kpa = pressure_at(place) - 1;
  comparison.gauge_sd_kpa = 1;
  comparison.flagged = std::abs(measured_kpa - comparison.modelled_kpa) > 3;
  e.field.ports.push_back(port);
  zones[static_cast<std::size_t>(zone)].gauges.ports.push_back(comparison);
}

/// Both zones computed, gauges at inlets and far ends, one of them off; a filter gauge that nothing
/// is compared with.
inline std::vector<ExpectedZone> make_pressures(Example& e) {
  std::vector<ExpectedZone> zones(2);
  for (const int z : {0, 1}) {
    ExpectedZone& zone = zones[static_cast<std::size_t>(z)];
    zone.zone = z;
    zone.computed = true;
    zone.gauges.inlet_kpa = {z == 0 ? 108.2 : 107.5, 0.8};
    zone.gauges.inlet_source = "gauge " + e.field.zones[static_cast<std::size_t>(z)].id + " inlet";
    const double begin = z == 0 ? 2 : 124;
    add_port(e, zones, z, "zone_inlet", at(begin, 1), 107.6 - z);
    for (const double across : {5.0, 80.0, 155.0}) {
      const Point place = at(begin + 114, across);
      const bool off = z == 1 && across == 80.0;
      add_port(e, zones, z, "lateral_end", place, pressure_at(place) - (off ? 30 : 1.4));
    }
  }
  Port filter;
  filter.id = "filter";
  filter.zones = {0, 1};
  filter.kind = "filter_out";
  filter.place = at(-6, -2);
  e.field.ports.push_back(filter);
  e.survey.pressures.push_back({2, 8, 131, 1, "irrigating", "Z1", ""});
  return zones;
}

inline Raster pressure_raster(const Field& field) {
  return raster_of(field, grid_over(field.extent(), 2), pressure_at);
}

/// A file of the running test.
inline std::filesystem::path output(const std::string& name) {
  return test::own_folder() / name;
}

inline std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream stream(file, std::ios::binary);
  std::ostringstream text;
  text << stream.rdbuf();
  return text.str();
}

}  // namespace evendrip::example
