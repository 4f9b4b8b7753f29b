// SPDX-License-Identifier: Apache-2.0
// An invented zone whose faults are solved through its network, and what gauges and a meter would
// read on it: the truth that screening is tried on.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "../hydraulics/small_zone.hpp"
#include "evendrip/findings/screening.hpp"
#include "evendrip/hydraulics/water.hpp"

namespace evendrip::invented_zone {

constexpr double in_soil_truth = 0.9;  ///< emitters in the soil over dug free
constexpr int gauged_lines = 4;

/// Field with gauges at pump, filter, valve, zone inlet and the far ends of some laterals.
inline Field gauged_field(LateralEnds ends = LateralEnds::closed, int laterals = 16) {
  Layout layout;
  layout.laterals = laterals;
  layout.length_m = 150;
  layout.ends = ends;
  Field field = field_of(layout);
  field.name = "Curlew Bottom";
  field.zones[0].emitter.manufacturing_cv = 0.04;
  for (const char* kind : {"filter_in", "filter_out", "valve_in"}) {
    field.ports.push_back(port_from(kind, kind, {0, -5}));
  }
  for (int i = 0; i < gauged_lines; ++i) {
    const int lateral = i * (laterals - 1) / (gauged_lines - 1);
    const auto& line = field.laterals[static_cast<std::size_t>(lateral)].line;
    field.ports.push_back(port_from("end" + std::to_string(i), "lateral_end", line.back()));
  }
  return field;
}

inline int port_of(const Field& field, const std::string& id) {
  for (std::size_t i = 0; i < field.ports.size(); ++i) {
    if (field.ports[i].id == id) return static_cast<int>(i);
  }
  return -1;
}

/// How the zone is on one day.
struct Truth {
  double filter_in_kpa = 150;
  double filter_out_kpa = 140;
  double valve_in_kpa = 130;
  double inlet_kpa = 100;
  double emitter_factor = 1;  ///< on every emitter
  double meter_factor = 1;    ///< read over true flow
  std::vector<Fault> faults;
};

/// Accuracy of the instruments: one standard deviation.
struct Instruments {
  double gauge_kpa = 1;
  double meter_frac = 0.02;
};

inline NetworkState solved(const Field& field, const Truth& truth, ZoneNetwork& network) {
  Doubts doubts;
  const auto clean = zone_network(field, 0, Terrain(field), {}, doubts);
  network = with_faults(*clean, truth.faults);
  network.set_inlet_pressure(truth.inlet_kpa);
  for (const NetworkLateral& lateral : network.laterals) {
    for (int i = 0; i < lateral.emitters; ++i) {
      network.network.outlets[static_cast<std::size_t>(lateral.first_outlet + i)].factor *=
          truth.emitter_factor * in_soil_truth;
    }
  }
  return solve_network(network.network);
}

/// What is read that day; `seed` draws the errors of the instruments, none: exact readings.
inline Survey readings(const Field& field, const Truth& truth, const Instruments& instruments,
                       std::optional<unsigned> seed) {
  ZoneNetwork network;
  const NetworkState state = solved(field, truth, network);
  std::mt19937 random(seed.value_or(0));
  std::normal_distribution<double> normal;
  const auto error = [&] { return seed ? normal(random) : 0.0; };
  Survey survey;
  survey.id = "spring";
  survey.date = "2026-05-12";
  const auto read = [&](const std::string& id, double kpa) {
    PressureReading reading;
    reading.port = port_of(field, id);
    reading.pressure_kpa = kpa + instruments.gauge_kpa * error();
    reading.gauge_accuracy_kpa = instruments.gauge_kpa;
    reading.running = "irrigating";
    survey.pressures.push_back(reading);
  };
  read("filter_in", truth.filter_in_kpa);
  read("filter_out", truth.filter_out_kpa);
  read("valve_in", truth.valve_in_kpa);
  read("inlet", truth.inlet_kpa);
  for (const NetworkPort& port : network.ports) {
    const Port& known = field.ports[static_cast<std::size_t>(port.port)];
    if (known.kind == "lateral_end") {
      read(known.id, state.pressure_kpa(network.network, port.node));
    }
  }
  MeterReading meter;
  meter.meter = "M1";
  meter.zones = {0};
  meter.flow_lph =
      state.inflow_m3_s * 3.6e6 * truth.meter_factor * (1 + instruments.meter_frac * error());
  meter.accuracy_frac = instruments.meter_frac;
  survey.meter.push_back(meter);
  return survey;
}

inline Screening screened(const Field& field, const Survey& survey,
                          const std::optional<Commissioning>& record) {
  Doubts doubts;
  const Expectation expectation = expect(field, survey, {}, {});
  const auto meter = compare_meter(field, survey, expectation, doubts);
  return screen_zones(field, survey, expectation, meter, record);
}

}  // namespace evendrip::invented_zone
