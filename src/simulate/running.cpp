// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/running.hpp"

#include "evendrip/hydraulics/water.hpp"
#include "evendrip/hydraulics/zone_network.hpp"
#include "evendrip/simulate/system.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

namespace evendrip {
namespace {

constexpr double lph_per_m3_s = 3.6e6;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Heights of the ground at every node: analytic, not those of a raster.
void set_heights(const SimulatedField& field, ZoneNetwork& zone) {
  const double head_m = field.ground_m(field.along_of(0), field.zones[at(zone.zone)].across_min_m);
  std::vector<double>& heights = zone.network.elevation_m;
  std::fill(heights.begin(), heights.end(), head_m);
  for (const NetworkLateral& line : zone.laterals) {
    const double across_m = field.laterals[at(line.lateral)].across_m;
    for (std::size_t i = 0; i < line.nodes.size(); ++i) {
      heights[at(line.nodes[i])] = field.ground_m(field.along_of(line.stations_m[i]), across_m);
    }
  }
  for (const NetworkSection& section : zone.sections) {
    const SimulatedManifold& manifold = field.manifolds[at(section.manifold)];
    const Pipe& pipe = zone.network.pipes[at(section.pipe)];
    heights[at(pipe.from)] =
        field.ground_m(manifold.along_m, manifold.from_across_m + section.from_m);
    heights[at(pipe.to)] = field.ground_m(manifold.along_m, manifold.from_across_m + section.to_m);
  }
  zone.set_inlet_pressure(field.plan.inlet_pressure_kpa);
}

ZoneNetwork clean_network(const SimulatedField& field, const Field& system, const Terrain& terrain,
                          int zone) {
  HydraulicOptions options;
  options.water_temperature_c = field.plan.water_temperature_c;
  Doubts doubts;
  std::optional<ZoneNetwork> built = zone_network(system, zone, terrain, options, doubts);
  if (!built) {
    for (Doubt& doubt : doubts) doubt.severity = Severity::problem;
    throw InputError(std::move(doubts));
  }
  set_heights(field, *built);
  for (Outlet& outlet : built->network.outlets) outlet.factor = field.plan.in_soil_ratio;
  return *std::move(built);
}

/// The section of the zone's manifold that a place lies on, and the station along it.
Fault on_manifold(const SimulatedField& field, const SimulatedFault& fault, int zone) {
  Fault there;
  there.on_lateral = false;
  const double across_m = field.zones[at(zone)].across_min_m + fault.from_station_m;
  for (std::size_t i = 0; i < field.manifolds.size(); ++i) {
    const SimulatedManifold& manifold = field.manifolds[i];
    const bool right_kind = manifold.supply == (fault.on == "manifold");
    if (manifold.zone != zone || !right_kind) continue;
    if (there.line >= 0 && across_m < manifold.from_across_m) break;
    there.line = static_cast<int>(i);
    there.station_m = std::clamp(across_m - manifold.from_across_m, 0.0,
                                 manifold.to_across_m - manifold.from_across_m);
  }
  return there;
}

std::vector<Fault> faults_of(const SimulatedField& field, int zone) {
  std::vector<Fault> faults;
  for (const SimulatedFault& planned : field.plan.faults) {
    if (planned.kind == "clogging" || planned.zone != field.zones[at(zone)].id) continue;
    Fault fault;
    if (planned.on != "laterals") fault = on_manifold(field, planned, zone);
    fault.kind = planned.kind == "shut"    ? FaultKind::shut
                 : planned.kind == "pinch" ? FaultKind::pinch
                                           : FaultKind::cut;
    fault.severity = planned.severity;
    if (planned.on != "laterals") {
      faults.push_back(fault);
      continue;
    }
    fault.station_m = planned.from_station_m;
    for (int number = planned.first_lateral; number <= planned.last_lateral; ++number) {
      fault.line = zone * field.plan.laterals_per_zone + number - 1;
      faults.push_back(fault);
    }
  }
  return faults;
}

/// The clean network with the emitters as they are, and with the faults.
ZoneNetwork real_network(const SimulatedField& field, const ZoneNetwork& clean) {
  ZoneNetwork real = with_faults(clean, faults_of(field, clean.zone));
  for (const NetworkLateral& line : real.laterals) {
    const SimulatedLateral& lateral = field.laterals[at(line.lateral)];
    for (int i = 0; i < line.emitters; ++i) {
      real.network.outlets[at(line.first_outlet + i)].factor =
          lateral.emitters[at(i)].performance * field.plan.in_soil_ratio;
    }
  }
  return real;
}

[[noreturn]] void refuse_without_pressure(const SimulatedLateral& lateral, double station_m) {
  throw InputError(
      Doubt{"no_pressure", Severity::problem, Place{"", "plan", 0, "inlet_pressure"},
            "The clean system leaves an emitter without pressure",
            fmt::format("lateral {}, station {:.1f} m", lateral.id, station_m), "",
            "Raise inlet_pressure, widen the pipes, or make the lines shorter or more level"});
}

void fill_emitters(SimulatedField& field, const ZoneNetwork& clean, const NetworkState& clean_state,
                   const ZoneNetwork& real, const NetworkState& state) {
  for (std::size_t l = 0; l < clean.laterals.size(); ++l) {
    const NetworkLateral& line = clean.laterals[l];
    SimulatedLateral& lateral = field.laterals[at(line.lateral)];
    for (int i = 0; i < line.emitters; ++i) {
      SimulatedEmitter& emitter = lateral.emitters[at(i)];
      const std::size_t outlet = at(line.first_outlet + i);
      const std::size_t real_outlet = at(real.laterals[l].first_outlet + i);
      const double clean_lph = clean_state.discharge_lph[outlet];
      if (!(clean_lph > 0)) refuse_without_pressure(lateral, emitter.station_m);
      emitter.pressure_kpa =
          state.pressure_kpa(real.network, real.network.outlets[real_outlet].node);
      emitter.discharge_lph = state.discharge_lph[real_outlet] / field.plan.in_soil_ratio;
      emitter.delivery = state.discharge_lph[real_outlet] / clean_lph;
    }
  }
}

void fill_inflows(SimulatedZone& zone, const NetworkState& clean_state, const ZoneNetwork& real,
                  const NetworkState& state) {
  zone.clean_inflow_lph = clean_state.inflow_m3_s * lph_per_m3_s;
  zone.inflow_lph = state.inflow_m3_s * lph_per_m3_s;
  zone.leak_lph = 0;
  for (const int outlet : real.outlet_of_fault) {
    if (outlet >= 0) zone.leak_lph += state.discharge_lph[at(outlet)];
  }
}

/// Above the zone's inlet: what the stated losses leave. Nothing for ports in the zone.
std::optional<double> loss_above_inlet_kpa(const SimulationPlan& plan, const std::string& kind) {
  if (kind == "valve_in") return plan.valve_loss_kpa;
  if (kind == "filter_out") return plan.valve_loss_kpa + plan.main_loss_kpa;
  if (kind == "filter_in") return plan.valve_loss_kpa + plan.main_loss_kpa + plan.filter_loss_kpa;
  if (kind == "pump") {
    return plan.valve_loss_kpa + plan.main_loss_kpa + plan.filter_loss_kpa +
           plan.check_valve_loss_kpa;
  }
  return std::nullopt;
}

double port_pressure_kpa(const SimulatedField& field, std::size_t port, const ZoneNetwork& zone,
                         const NetworkState& state) {
  const SimulatedPort& here = field.ports[port];
  const double inlet_kpa = state.pressure_kpa(zone.network, zone.inlet_node);
  if (const auto loss_kpa = loss_above_inlet_kpa(field.plan, here.kind)) {
    const double rise_m =
        field.ground_m(here.along_m, here.across_m) - zone.network.elevation_m[at(zone.inlet_node)];
    return inlet_kpa + *loss_kpa - pressure_kpa(rise_m);
  }
  for (const NetworkPort& known : zone.ports) {
    if (known.port == static_cast<int>(port)) return state.pressure_kpa(zone.network, known.node);
  }
  throw InputError(Doubt{"port_not_joined", Severity::problem, Place{"", "plan", 0, here.id},
                         "The port is on no pipe of its zone", "", "", ""});
}

void fill_ports(SimulatedField& field, const ZoneNetwork& clean, const NetworkState& clean_state,
                const ZoneNetwork& real, const NetworkState& state) {
  for (std::size_t i = 0; i < field.ports.size(); ++i) {
    SimulatedPort& port = field.ports[i];
    if (std::find(port.zones.begin(), port.zones.end(), clean.zone) == port.zones.end()) continue;
    port.clean_pressure_kpa.push_back(port_pressure_kpa(field, i, clean, clean_state));
    port.pressure_kpa.push_back(port_pressure_kpa(field, i, real, state));
  }
}

}  // namespace

SimulatedField running_field(SimulatedField field) {
  const Field system = system_field(field);
  const Terrain level(system);
  for (int zone = 0; zone < field.plan.zones; ++zone) {
    const ZoneNetwork clean = clean_network(field, system, level, zone);
    const NetworkState clean_state = solve_network(clean.network);
    const ZoneNetwork real = real_network(field, clean);
    const NetworkState state = solve_network(real.network);
    fill_emitters(field, clean, clean_state, real, state);
    fill_inflows(field.zones[at(zone)], clean_state, real, state);
    fill_ports(field, clean, clean_state, real, state);
  }
  return field;
}

}  // namespace evendrip
