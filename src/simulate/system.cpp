// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/system.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <set>
#include <utility>

namespace evendrip {
namespace {

constexpr double zone_gap_m = 4;
/// From a lateral's end to the middle of the manifold that it is joined to.
constexpr double joint_m = 0.1;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

LocalFrame local_frame(const SimulationPlan& plan) {
  Extent extent;
  extent.include(plan.lonlat_centre);
  LocalFrame frame;
  frame.crs = utm_for(extent);
  frame.origin = Transform(wgs84(), frame.crs)(plan.lonlat_centre);
  frame.scale = scale_factor(frame.crs, frame.origin);
  const double bearing = plan.bearing_deg * std::numbers::pi / 180;
  frame.along = {std::sin(bearing), std::cos(bearing)};
  frame.across = {std::cos(bearing), -std::sin(bearing)};
  return frame;
}

std::vector<SimulatedZone> zones_of(const SimulationPlan& plan) {
  const double width = plan.laterals_per_zone * plan.lateral_spacing_m;
  const double whole = plan.zones * width + (plan.zones - 1) * zone_gap_m;
  std::vector<SimulatedZone> zones;
  for (int i = 0; i < plan.zones; ++i) {
    SimulatedZone zone;
    zone.id = fmt::format("Z{}", i + 1);
    zone.across_min_m = -whole / 2 + i * (width + zone_gap_m);
    zone.across_max_m = zone.across_min_m + width;
    zone.closed = std::find(plan.closed_zones.begin(), plan.closed_zones.end(), zone.id) !=
                  plan.closed_zones.end();
    zones.push_back(std::move(zone));
  }
  return zones;
}

bool obstructed(const SimulationPlan& plan, const std::string& zone, int number) {
  return std::any_of(plan.faults.begin(), plan.faults.end(), [&](const SimulatedFault& fault) {
    return fault.kind != "clogging" && fault.on == "laterals" && fault.zone == zone &&
           number >= fault.first_lateral && number <= fault.last_lateral;
  });
}

SimulatedLateral lateral_of(const SimulatedField& field, int zone_index, int number) {
  const SimulationPlan& plan = field.plan;
  const SimulatedZone& zone = field.zones[at(zone_index)];
  SimulatedLateral lateral;
  lateral.id = fmt::format("{}-{:02}", zone.id, number);
  lateral.zone = zone_index;
  lateral.number = number;
  lateral.across_m = zone.across_min_m + (number - 0.5) * plan.lateral_spacing_m;
  lateral.obstructed = obstructed(plan, zone.id, number);
  const double first_m = plan.emitter_spacing_m / 2;
  const int emitters = static_cast<int>(std::floor(
                           (plan.lateral_length_m - first_m) / plan.emitter_spacing_m + 1e-6)) +
                       1;
  for (int i = 0; i < emitters; ++i) {
    lateral.emitters.emplace_back().station_m = first_m + i * plan.emitter_spacing_m;
  }
  return lateral;
}

void add_manifolds(SimulatedField& field, int zone_index) {
  const SimulationPlan& plan = field.plan;
  const SimulatedZone& zone = field.zones[at(zone_index)];
  const auto sections = plan.manifold_diameters_m.size();
  const double section_m = (zone.across_max_m - zone.across_min_m) / static_cast<double>(sections);
  for (std::size_t i = 0; i < sections; ++i) {
    field.manifolds.push_back(
        {sections == 1 ? zone.id + "-supply" : fmt::format("{}-supply-{}", zone.id, i + 1),
         zone_index, true, plan.manifold_diameters_m[i], field.along_of(-joint_m),
         zone.across_min_m + static_cast<double>(i) * section_m,
         i + 1 == sections ? zone.across_max_m
                           : zone.across_min_m + static_cast<double>(i + 1) * section_m});
  }
  if (zone.closed) return;
  field.manifolds.push_back({zone.id + "-flush", zone_index, false, plan.flush_manifold_diameter_m,
                             field.along_of(plan.lateral_length_m + joint_m), zone.across_min_m,
                             zone.across_max_m});
}

/// Laterals whose far end has a port. With caps of their own: first, middle, last, and the first of
/// those with a fault. On a flush manifold: the middle one.
std::set<int> numbers_with_end_port(const SimulatedField& field, int zone_index) {
  const int count = field.plan.laterals_per_zone;
  if (!field.zones[at(zone_index)].closed) return {count / 2 + 1};
  std::set<int> numbers = {1, count / 2 + 1, count};
  for (int i = 0; i < count; ++i) {
    if (!field.laterals[at(zone_index * count + i)].obstructed) continue;
    numbers.insert(i + 1);
    break;
  }
  return numbers;
}

void add_zone_ports(SimulatedField& field, int zone_index) {
  const SimulatedZone& zone = field.zones[at(zone_index)];
  const auto add = [&](const std::string& id, const char* kind, double gauge_height_m,
                       double along_m, double across_m) {
    field.ports.push_back({id, {zone_index}, kind, gauge_height_m, along_m, across_m, {}, {}});
  };
  const double inlet_m = field.along_of(-joint_m);
  const double far_m = field.along_of(field.plan.lateral_length_m);
  add(zone.id + "-valve_in", "valve_in", 0.3, inlet_m - 1, zone.across_min_m);
  add(zone.id + "-zone_inlet", "zone_inlet", 0.3, inlet_m, zone.across_min_m);
  for (const int number : numbers_with_end_port(field, zone_index)) {
    const SimulatedLateral& lateral =
        field.laterals[at(zone_index * field.plan.laterals_per_zone + number - 1)];
    add(lateral.id + "-end", "lateral_end", 0, far_m, lateral.across_m);
  }
  if (zone.closed) return;
  add(zone.id + "-flush-1", "flush_end", 0.2, far_m + joint_m, zone.across_min_m);
  add(zone.id + "-flush-2", "flush_end", 0.2, far_m + joint_m, zone.across_max_m);
}

void add_ports(SimulatedField& field) {
  std::vector<int> all(field.zones.size());
  std::iota(all.begin(), all.end(), 0);
  const double across_m = field.zones.front().across_min_m;
  field.ports.push_back({"pump", all, "pump", 0.8, field.along_of(-14), across_m, {}, {}});
  field.ports.push_back({"filter_in", all, "filter_in", 0.6, field.along_of(-6), across_m, {}, {}});
  field.ports.push_back(
      {"filter_out", all, "filter_out", 0.6, field.along_of(-5), across_m, {}, {}});
  for (int zone = 0; zone < field.plan.zones; ++zone) add_zone_ports(field, zone);
}

EmitterSpec emitter_spec(const SimulationPlan& plan) {
  EmitterSpec spec;
  spec.discharge_lph = plan.discharge_lph;
  spec.pressure_kpa = plan.rated_pressure_kpa;
  spec.exponent = plan.exponent;
  spec.manufacturing_cv = plan.manufacturing_cv;
  spec.spacing_m = plan.emitter_spacing_m;
  spec.first_offset_m = plan.emitter_spacing_m / 2;
  return spec;
}

LateralSpec lateral_spec(const SimulationPlan& plan, const SimulatedZone& zone) {
  LateralSpec spec;
  spec.inside_diameter_mm = plan.inside_diameter_mm;
  spec.max_pressure_kpa = plan.max_pressure_kpa;
  spec.installed_year = plan.installed_year;
  spec.roughness_mm = plan.roughness_mm;
  spec.hazen_williams_c = plan.hazen_williams_c;
  spec.spacing_m = plan.lateral_spacing_m;
  spec.depth_m = plan.depth_m;
  spec.ends = zone.closed ? LateralEnds::closed : LateralEnds::flush_manifold;
  spec.source = "surveyed";
  return spec;
}

Zone zone_of(const SimulatedField& field, const SimulatedZone& zone) {
  const auto corner = [&](double station_m, double across_m) {
    return field.frame.to_grid(field.along_of(station_m), across_m);
  };
  const double far_m = field.plan.lateral_length_m + 1;
  return {zone.id,
          {{{corner(-1, zone.across_min_m), corner(-1, zone.across_max_m),
             corner(far_m, zone.across_max_m), corner(far_m, zone.across_min_m)},
            {}}},
          field.plan.inlet_pressure_kpa,
          emitter_spec(field.plan),
          lateral_spec(field.plan, zone)};
}

}  // namespace

SimulatedField laid_out_field(const SimulationPlan& plan) {
  SimulatedField field;
  field.plan = plan;
  field.frame = local_frame(plan);
  field.zones = zones_of(plan);
  for (int zone = 0; zone < plan.zones; ++zone) {
    for (int number = 1; number <= plan.laterals_per_zone; ++number) {
      field.laterals.push_back(lateral_of(field, zone, number));
    }
    add_manifolds(field, zone);
  }
  add_ports(field);
  return field;
}

Field system_field(const SimulatedField& field) {
  Field system;
  system.name = field.plan.name;
  system.crs = system.stated_crs = field.frame.crs;
  system.scale_factor = field.frame.scale;
  for (const SimulatedZone& zone : field.zones) system.zones.push_back(zone_of(field, zone));
  for (const SimulatedLateral& lateral : field.laterals) {
    system.laterals.push_back(
        {lateral.id,
         lateral.zone,
         {field.frame.to_grid(field.along_of(0), lateral.across_m),
          field.frame.to_grid(field.along_of(field.plan.lateral_length_m), lateral.across_m)},
         field.plan.lateral_length_m,
         static_cast<int>(lateral.emitters.size())});
  }
  for (const SimulatedManifold& manifold : field.manifolds) {
    system.manifolds.push_back({manifold.id,
                                manifold.zone,
                                manifold.supply,
                                manifold.inside_diameter_m * 1000,
                                {field.frame.to_grid(manifold.along_m, manifold.from_across_m),
                                 field.frame.to_grid(manifold.along_m, manifold.to_across_m)}});
  }
  for (const SimulatedPort& port : field.ports) {
    system.ports.push_back({port.id, port.zones, port.kind, port.gauge_height_m,
                            field.frame.to_grid(port.along_m, port.across_m)});
  }
  return system;
}

}  // namespace evendrip
