// SPDX-License-Identifier: Apache-2.0
// A harvester that drives to and fro over an invented yield surface: grain is mixed on its way and
// reaches the sensor later than it was cut, so that the truth behind every record is known.
#pragma once

#include "evendrip/crop/harvest_log.hpp"

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <random>
#include <vector>

#include <boost/random/normal_distribution.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip::invented {

struct HarvestPlan {
  int passes = 24;
  double length_m = 300;
  double swath_m = 6;
  double spacing_m = 6;  ///< between passes; less than the swath: they overlap
  double speed_m_s = 1.8;
  double interval_s = 2;
  double travel_s = 11;   ///< of grain, without mixing
  double mixing_s = 1.5;  ///< time constant: mixing delays by that on average
  double turn_s = 14;     ///< with the header up
  double noise = 0.03;    ///< of each record's flow, relative
  double place_error_m = 0.05;
  std::uint64_t seed = 1;
  std::function<double(double x, double y)> yield_t_ha;  ///< empty: rolling_yield
};

/// Waves of 60 to 140 m about 9 t/ha.
inline double rolling_yield(double x, double y) {
  return 9 + 1.2 * std::sin(x / 17 + 1) * std::cos(y / 13) + 0.8 * std::sin(y / 21 + x / 40);
}

struct Harvest {
  HarvestLog log;
  std::vector<double> truth_t_ha;  ///< at each record's place; NaN with the header up
  std::vector<int> pass;           ///< truth; -1 with the header up
  double delay_s = 0;  ///< that moves records right: travel, mixing, and half a record, because a
                       ///< place is that of a record's end
};

constexpr double harvest_west = 500'000;
constexpr double harvest_south = 4'400'000;

/// Where the machine is at a time, and what it cuts there.
struct MachineState {
  double x = 0, y = 0;
  int pass = -1;  ///< -1: turning
};

inline MachineState machine_at(const HarvestPlan& plan, double time_s) {
  const double pass_s = plan.length_m / plan.speed_m_s;
  const double round_s = pass_s + plan.turn_s;
  const int pass = static_cast<int>(std::floor(time_s / round_s));
  const double into = time_s - pass * round_s;
  const bool north = pass % 2 == 0;
  MachineState state;
  if (into < pass_s && pass < plan.passes) {
    state.pass = pass;
    state.x = pass * plan.spacing_m;
    state.y = north ? into * plan.speed_m_s : plan.length_m - into * plan.speed_m_s;
    return state;
  }
  const double share = (into - pass_s) / plan.turn_s;
  const double out = 8 * std::sin(3.14159265358979 * share);
  state.x = (pass + share) * plan.spacing_m;
  state.y = north ? plan.length_m + out : -out;
  return state;
}

inline double surface_at(const HarvestPlan& plan, const MachineState& state) {
  return plan.yield_t_ha ? plan.yield_t_ha(state.x, state.y) : rolling_yield(state.x, state.y);
}

inline Harvest harvest(const HarvestPlan& plan) {
  constexpr double nan = std::numeric_limits<double>::quiet_NaN();
  constexpr double step_s = 0.1;
  std::mt19937_64 stream = item_stream(plan.seed, {});
  boost::random::normal_distribution<double> normal;
  const double end_s = plan.passes * (plan.length_m / plan.speed_m_s + plan.turn_s) + plan.travel_s;
  const auto lag = static_cast<std::size_t>(std::lround(plan.travel_s / step_s));
  const auto per_record = static_cast<std::size_t>(std::lround(plan.interval_s / step_s));
  std::vector<double> mixed;  // grain flow, t/ha m2/s, leaving the mixing
  double flow = 0;
  for (double t = step_s; t < end_s; t += step_s) {
    const MachineState state = machine_at(plan, t);
    const double fresh = state.pass < 0 || t > end_s - plan.travel_s - plan.turn_s
                             ? 0
                             : surface_at(plan, state) * plan.speed_m_s * plan.swath_m;
    flow += (fresh - flow) * (plan.mixing_s > 0 ? step_s / plan.mixing_s : 1);
    mixed.push_back(flow);
  }
  Harvest made;
  HarvestLog& log = made.log;
  log.file = "harvest.csv";
  log.has_mass_flow = true;
  log.machines = {"1"};
  for (std::size_t end = per_record; end <= mixed.size(); end += per_record) {
    double mean = 0;
    for (std::size_t k = end - per_record; k < end; ++k)
      mean += k >= lag ? mixed[k - lag] / static_cast<double>(per_record) : 0;
    mean *= 1 + plan.noise * normal(stream);
    const double time = static_cast<double>(end) * step_s;
    const MachineState state = machine_at(plan, time);
    const double off_x = plan.place_error_m * normal(stream);
    const double off_y = plan.place_error_m * normal(stream);
    log.places.push_back({harvest_west + state.x + off_x, harvest_south + state.y + off_y});
    log.lines.push_back(log.lines.size() + 2);
    log.time_s.push_back(time);
    log.duration_s.push_back(plan.interval_s);
    log.distance_m.push_back(plan.speed_m_s * plan.interval_s);
    log.swath_m.push_back(plan.swath_m);
    log.mass_flow_kg_s.push_back(mean / 10);
    log.moisture_frac.push_back(0);
    log.yield_t_ha.push_back(mean / (plan.speed_m_s * plan.swath_m));
    log.machine.push_back(0);
    const bool cutting = state.pass >= 0;
    made.truth_t_ha.push_back(cutting ? surface_at(plan, state) : nan);
    made.pass.push_back(state.pass);
  }
  made.delay_s = plan.travel_s + plan.mixing_s + 0.5 * plan.interval_s;
  return made;
}

/// Appends the records of one log to another, as those of one more machine or of the same.
inline void append(HarvestLog& log, const HarvestLog& more, int machine) {
  const auto join = [](auto& to, const auto& from) {
    to.insert(to.end(), from.begin(), from.end());
  };
  join(log.places, more.places);
  join(log.lines, more.lines);
  join(log.time_s, more.time_s);
  join(log.duration_s, more.duration_s);
  join(log.distance_m, more.distance_m);
  join(log.swath_m, more.swath_m);
  join(log.mass_flow_kg_s, more.mass_flow_kg_s);
  join(log.moisture_frac, more.moisture_frac);
  join(log.yield_t_ha, more.yield_t_ha);
  log.machine.resize(log.places.size(), machine);
}

inline Field plain_field() {
  Field field;
  field.name = "Curlew Bottom";
  return field;
}

}  // namespace evendrip::invented
