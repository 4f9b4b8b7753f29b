// SPDX-License-Identifier: Apache-2.0
// A zone laid by hand, without files: three laterals of 30 emitters with closed ends on a supply
// manifold, level, with a port at the inlet, one behind the valve and one at every far end. The
// laterals lose about a fifth of the pressure, so that friction shows at the gauges.
#pragma once

#include <string>

#include "evendrip/hydraulics/gauges.hpp"

namespace evendrip::testing {

struct HandLaidZone {
  Field field;
  ZoneNetwork network;
  Survey survey;

  static constexpr int laterals = 3;
  static constexpr int emitters = 30;
  enum Port { inlet, valve, first_end };

  HandLaidZone() {
    lay_field();
    lay_network();
    survey.id = "spring";
  }

  HandLaidZone& read(int port, double kpa, double accuracy_kpa = 1,
                     const std::string& zones_open = "", const std::string& running = "") {
    PressureReading reading;
    reading.row = survey.pressures.size() + 2;
    reading.port = port;
    reading.pressure_kpa = kpa;
    reading.gauge_accuracy_kpa = accuracy_kpa;
    reading.zones_open = zones_open;
    reading.running = running;
    survey.pressures.push_back(reading);
    return *this;
  }

  /// What stands at a port if the zone is so.
  static double pressure_at(const ZoneNetwork& zone, int port) {
    const NetworkState state = solve_network(zone.network);
    for (const NetworkPort& known : zone.ports) {
      if (known.port == port) return state.pressure_kpa(zone.network, known.node);
    }
    return state.pressure_kpa(zone.network, zone.inlet_node);
  }

 private:
  void lay_field() {
    Zone zone;
    zone.id = "Z1";
    zone.inlet_pressure_kpa = 110;
    zone.emitter.discharge_lph = 8;
    zone.emitter.pressure_kpa = 100;
    zone.emitter.spacing_m = 5;
    zone.emitter.first_offset_m = 2.5;
    zone.lateral.inside_diameter_mm = 13;
    field.zones = {zone, zone};
    field.zones[1].id = "Z2";
    field.ports = {evendrip::Port{"inlet", {0}, "zone_inlet", 0, {}},
                   evendrip::Port{"valve", {0}, "valve_out", 0, {}}};
    for (int i = 0; i < laterals; ++i) {
      Lateral lateral;
      lateral.id = "L" + std::to_string(i + 1);
      lateral.zone = 0;
      lateral.emitters = emitters;
      lateral.length_m = 150;
      lateral.line = {{0, 2.0 * i}, {150, 2.0 * i}};
      field.laterals.push_back(lateral);
      field.ports.push_back(evendrip::Port{"end-" + lateral.id, {0}, "lateral_end", 0, {}});
    }
    SurveySource source;
    source.id = "spring";
    source.pressures = FileRef{"pressures.csv", "", "pressures.csv"};
    field.surveys.push_back(source);
  }

  int new_node() {
    network.network.elevation_m.push_back(0);
    return static_cast<int>(network.network.elevation_m.size()) - 1;
  }
  void new_pipe(int from, int to, double length_m, double diameter_m) {
    network.network.pipes.push_back({from, to, length_m, diameter_m, 0, 0, false});
  }

  void lay_network() {
    network.zone = 0;
    network.network.frictions.push_back(Friction{});
    network.network.curves.push_back(curve_of(field.zones[0].emitter));
    network.inlet_node = new_node();
    network.ports.push_back({inlet, network.inlet_node});
    int joint = network.inlet_node;
    for (int i = 0; i < laterals; ++i) {
      const int next = new_node();
      new_pipe(joint, next, 2, 0.05);
      joint = next;
      lay_lateral(i, joint);
    }
    network.network.fixed_heads.push_back({network.inlet_node, 0});
    network.set_inlet_pressure(110);
  }

  void lay_lateral(int index, int joint) {
    NetworkLateral lateral;
    lateral.lateral = index;
    lateral.first_outlet = static_cast<int>(network.network.outlets.size());
    lateral.first_pipe = static_cast<int>(network.network.pipes.size());
    lateral.emitters = emitters;
    lateral.nodes = {joint};
    lateral.stations_m = {0};
    for (int i = 0; i <= emitters; ++i) {
      const int node = new_node();
      const double station_m = i < emitters ? 2.5 + 5 * i : 150;
      new_pipe(lateral.nodes.back(), node, station_m - lateral.stations_m.back(), 0.013);
      if (i < emitters) network.network.outlets.push_back({node, 0, 1});
      lateral.nodes.push_back(node);
      lateral.stations_m.push_back(station_m);
    }
    network.ports.push_back({first_end + index, lateral.nodes.back()});
    network.laterals.push_back(lateral);
  }
};

}  // namespace evendrip::testing
