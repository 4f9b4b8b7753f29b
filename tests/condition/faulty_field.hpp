// SPDX-License-Identifier: Apache-2.0
// An invented zone with faults in its pipes, solved emitter by emitter, and what was seen of it:
// holes, gauges, a meter, the crop. Emitters, soil and errors are drawn.
#pragma once

#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <random>
#include <string>
#include <vector>

#include "../hydraulics/small_zone.hpp"
#include "evendrip/condition/zone_model.hpp"
#include "evendrip/hydraulics/expected.hpp"

namespace evendrip::test {

struct FaultyPlan {
  invented_zone::Layout layout{24, 120, 1.5, 0.5, 0.25, LateralEnds::closed};
  double manifold_mm = 50;
  std::vector<Fault> faults;
  double emitters_sd = 0.05;  ///< each on its own
  double laterals_sd = 0.02;
  double plugged = 0.03;
  double in_soil = 0.9;
  int dug_laterals = 8;
  int holes_each = 3;
  std::vector<int> end_gauges;  ///< laterals whose far end was read; the inlet always is
  double gauge_sd_kpa = 1;
  bool crop = true;
  double response = 0.8;
  double soil_sd = 0.04;
  double crop_error = 0.04;
  std::uint64_t seed = 1;
};

struct FaultyField {
  Field field;
  Survey survey;
  Expectation expectation;
  SegmentGrid grid;
  std::vector<double> delivery;  ///< true, of each segment
  std::vector<HoleDatum> holes;
  std::vector<CropDatum> crop;
  const ExpectedZone& zone() const { return expectation.zones[0]; }
};

inline Field field_of(const FaultyPlan& plan) {
  Field field = invented_zone::field_of(plan.layout);
  field.manifolds[0].inside_diameter_mm = plan.manifold_mm;
  for (const int lateral : plan.end_gauges) {
    const Lateral& line = field.laterals[static_cast<std::size_t>(lateral)];
    field.ports.push_back(
        invented_zone::port_from("end-" + line.id, "lateral_end", line.line.back()));
  }
  return field;
}

/// Soil as a sum of waves of random directions, 60 to 200 m long, of sd 1.
class Waves {
 public:
  explicit Waves(std::mt19937_64& stream) {
    std::uniform_real_distribution<double> even(0, 1);
    for (int i = 0; i < 40; ++i) {
      const double angle = 2 * std::numbers::pi * even(stream);
      const double k = 2 * std::numbers::pi / (60 + 140 * even(stream));
      waves_.push_back(
          {k * std::cos(angle), k * std::sin(angle), 2 * std::numbers::pi * even(stream)});
    }
  }
  double at(Point p) const {
    double sum = 0;
    for (const auto& wave : waves_) sum += std::cos(wave[0] * p.x + wave[1] * p.y + wave[2]);
    return sum * std::sqrt(2.0 / static_cast<double>(waves_.size()));
  }

 private:
  std::vector<std::array<double, 3>> waves_;
};

class FaultyFieldMaker {
 public:
  explicit FaultyFieldMaker(const FaultyPlan& plan) : plan_(plan), stream_(plan.seed) {}

  FaultyField make() {
    out_.field = field_of(plan_);
    out_.grid = segment_grid(out_.field, 0, 5);
    solve();
    read_gauges();
    out_.expectation = expect(out_.field, out_.survey, {}, {});
    compare();
    dig();
    if (plan_.crop) look_at_crop();
    return std::move(out_);
  }

 private:
  double normal(double sd) { return sd * std::normal_distribution<double>()(stream_); }
  static std::size_t at(int i) { return static_cast<std::size_t>(i); }

  void solve() {
    Doubts doubts;
    clean_ = *zone_network(out_.field, 0, Terrain(out_.field), {}, doubts);
    for (Outlet& outlet : clean_.network.outlets) outlet.factor = plan_.in_soil;
    clean_state_ = solve_network(clean_.network);
    real_ = with_faults(clean_, plan_.faults);
    std::uniform_real_distribution<double> even(0, 1);
    for (const NetworkLateral& lateral : real_.laterals) {
      const double own = 1 + normal(plan_.laterals_sd);
      for (int i = 0; i < lateral.emitters; ++i) {
        const double r = std::max(0.0, own + normal(plan_.emitters_sd));
        const double stuck = even(stream_) < plan_.plugged ? 0.5 * even(stream_) : 1;
        real_.network.outlets[at(lateral.first_outlet + i)].factor = plan_.in_soil * r * stuck;
      }
    }
    state_ = solve_network(real_.network);
  }

  void read_gauges() {
    out_.survey.id = "spring";
    for (const NetworkPort& port : real_.ports) {
      PressureReading reading;
      reading.row = out_.survey.pressures.size() + 2;
      reading.port = port.port;
      reading.pressure_kpa =
          state_.pressure_kpa(real_.network, port.node) + normal(plan_.gauge_sd_kpa);
      reading.gauge_accuracy_kpa = plan_.gauge_sd_kpa;
      out_.survey.pressures.push_back(reading);
    }
    MeterReading meter;
    meter.zones = {0};
    meter.flow_lph = state_.inflow_m3_s * 3.6e6 * (1 + normal(0.02));
    meter.accuracy_frac = 0.02;
    out_.survey.meter.push_back(meter);
  }

  void compare() {
    std::vector<double> clean(at(out_.grid.segments()), 0.0);
    out_.delivery.assign(clean.size(), 0.0);
    for (const NetworkLateral& lateral : clean_.laterals)
      for (int i = 0; i < lateral.emitters; ++i) {
        const int row = out_.grid.row_of(lateral.lateral);
        const std::size_t segment =
            at(out_.grid.segment(row, out_.grid.station_of(lateral.stations_m[at(i) + 1])));
        clean[segment] += clean_state_.discharge_lph[at(lateral.first_outlet + i)];
        out_.delivery[segment] += state_.discharge_lph[at(lateral.first_outlet + i)];
      }
    for (std::size_t i = 0; i < clean.size(); ++i)
      if (clean[i] > 0) out_.delivery[i] /= clean[i];
  }

  void dig() {
    const int laterals = out_.grid.rows();
    for (int k = 0; k < plan_.dug_laterals; ++k) {
      const int row = (2 * k + 1) * laterals / (2 * plan_.dug_laterals);
      const NetworkLateral& lateral = real_.laterals[at(row)];
      for (int j = 0; j < plan_.holes_each; ++j) {
        const int emitter = (2 * j + 1) * lateral.emitters / (2 * plan_.holes_each);
        const double station_m = lateral.stations_m[at(emitter) + 1];
        const auto expected = out_.expectation.at_station(lateral.lateral, station_m);
        const double lph = state_.discharge_lph[at(lateral.first_outlet + emitter)] / plan_.in_soil;
        out_.holes.push_back({out_.grid.row_of(lateral.lateral), out_.grid.station_of(station_m),
                              lph / expected->discharge_lph * (1 + normal(0.01)), 1e-4});
      }
    }
  }

  void look_at_crop() {
    const Waves soil(stream_);
    for (int row = 0; row < out_.grid.rows(); ++row)
      for (int station = 0; station < out_.grid.stations(); ++station) {
        const Point place{out_.grid.across_m[at(row)], out_.grid.stations_m[at(station)]};
        const int segment = out_.grid.segment(row, station);
        out_.crop.push_back({{segment},
                             {1},
                             place,
                             1 + plan_.response * (out_.delivery[at(segment)] - 1) +
                                 plan_.soil_sd * soil.at(place) + normal(plan_.crop_error)});
      }
  }

  FaultyPlan plan_;
  std::mt19937_64 stream_;
  FaultyField out_;
  ZoneNetwork clean_;
  NetworkState clean_state_;
  ZoneNetwork real_;
  NetworkState state_;
};

inline FaultyField faulty_field(const FaultyPlan& plan) {
  return FaultyFieldMaker(plan).make();
}

}  // namespace evendrip::test
