// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/truth.hpp"

#include "evendrip/base/random.hpp"
#include "evendrip/simulate/running.hpp"
#include "evendrip/simulate/system.hpp"

#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

#include <algorithm>
#include <cmath>
#include <utility>

namespace evendrip {
namespace {

constexpr std::uint64_t emitter_stream = 1;

double fault_factor(const SimulatedFault& fault, double station_m) {
  const double beyond_m = station_m - fault.from_station_m;
  if (beyond_m <= 0) return 1;
  const double share = fault.gradual_m > 0 ? std::min(1.0, beyond_m / fault.gradual_m) : 1;
  return 1 - share * (1 - fault.factor);
}

/// What clogging leaves at a station of a lateral.
double clogged_factor(const SimulatedField& field, const SimulatedLateral& lateral,
                      double station_m) {
  double factor = 1;
  for (const SimulatedFault& fault : field.plan.faults) {
    const bool here = fault.kind == "clogging" &&
                      fault.zone == field.zones[static_cast<std::size_t>(lateral.zone)].id &&
                      lateral.number >= fault.first_lateral && lateral.number <= fault.last_lateral;
    if (here) factor *= fault_factor(fault, station_m);
  }
  return factor;
}

/// Each clogged emitter differs from the mean of its place by a third of what is lost there.
double clogging(double mean_factor, double chance) {
  if (mean_factor >= 1) return 1;
  return std::clamp(mean_factor + chance * (1 - mean_factor) / 3, 0.0, 1.0);
}

/// Manufacture, clogging and plugging of each emitter.
void make_emitters(const SimulatedField& field, SimulatedLateral& lateral) {
  const SimulationPlan& plan = field.plan;
  auto stream = item_stream(plan.seed, {emitter_stream, static_cast<std::uint64_t>(lateral.zone),
                                        static_cast<std::uint64_t>(lateral.number)});
  boost::random::normal_distribution<double> normal;
  boost::random::uniform_01<double> uniform;
  for (SimulatedEmitter& emitter : lateral.emitters) {
    const double clogged = clogged_factor(field, lateral, emitter.station_m);
    const double made = std::max(0.0, 1 + plan.manufacturing_cv * normal(stream));
    const double passing = clogging(clogged, normal(stream));
    const bool plugged = uniform(stream) < plan.plugged_share;
    emitter.performance = plugged ? 0 : made * passing;
  }
}

void refuse_problems(const SimulationPlan& plan) {
  Doubts problems;
  for (const PlanProblem& problem : problems_of(plan)) {
    problems.push_back(Doubt{"bad_plan", Severity::problem, Place{"", "plan", 0, problem.key},
                             "This plan cannot be made", problem.found, problem.expected, ""});
  }
  throw_if_problem(problems);
}

}  // namespace

Point LocalFrame::to_grid(double along_m, double across_m) const {
  return {origin.x + scale * (along_m * along.x + across_m * across.x),
          origin.y + scale * (along_m * along.y + across_m * across.y)};
}

Point LocalFrame::from_grid(Point p) const {
  const double dx = (p.x - origin.x) / scale;
  const double dy = (p.y - origin.y) / scale;
  return {dx * along.x + dy * along.y, dx * across.x + dy * across.y};
}

double SimulatedField::ground_m(double along_m, double across_m) const {
  return plan.elevation_m + plan.slope_frac * along_m + plan.cross_slope_frac * across_m;
}

double SimulatedField::zone_discharge_lph(int zone) const {
  double sum = 0;
  for (const SimulatedLateral& lateral : laterals) {
    if (lateral.zone != zone) continue;
    for (const SimulatedEmitter& emitter : lateral.emitters) sum += emitter.discharge_lph;
  }
  return sum;
}

double SimulatedField::water_at(double along_m, double across_m) const {
  const double station_m = along_m + plan.lateral_length_m / 2;
  if (station_m < 0 || station_m > plan.lateral_length_m) return -1;
  const auto zone = std::find_if(zones.begin(), zones.end(), [&](const SimulatedZone& z) {
    return across_m >= z.across_min_m && across_m <= z.across_max_m;
  });
  if (zone == zones.end()) return -1;
  const double spread_m = std::max({1.0, plan.lateral_spacing_m / 2, plan.emitter_spacing_m / 2});
  const double reach_m = 2.5 * spread_m;
  const auto first_lateral = (zone - zones.begin()) * plan.laterals_per_zone;
  const double full = plan.discharge_lph *
                      std::pow(plan.inlet_pressure_kpa / plan.rated_pressure_kpa, plan.exponent);
  double sum = 0;
  double weights = 0;
  for (int j = 0; j < plan.laterals_per_zone; ++j) {
    const SimulatedLateral& lateral = laterals[static_cast<std::size_t>(first_lateral + j)];
    const double aside_m = lateral.across_m - across_m;
    if (std::abs(aside_m) > reach_m) continue;
    const int count = static_cast<int>(lateral.emitters.size());
    const double first_m = lateral.emitters.front().station_m;
    const auto index_at = [&](double s) {
      return static_cast<int>(std::lround((s - first_m) / plan.emitter_spacing_m));
    };
    const int from = std::clamp(index_at(station_m - reach_m), 0, count - 1);
    const int to = std::clamp(index_at(station_m + reach_m), 0, count - 1);
    for (int i = from; i <= to; ++i) {
      const SimulatedEmitter& emitter = lateral.emitters[static_cast<std::size_t>(i)];
      const double ahead_m = emitter.station_m - station_m;
      const double weight =
          std::exp(-(aside_m * aside_m + ahead_m * ahead_m) / (2 * spread_m * spread_m));
      sum += weight * emitter.discharge_lph / full;
      weights += weight;
    }
  }
  return weights > 0 ? sum / weights : -1;
}

SimulatedField simulated_truth(const SimulationPlan& plan) {
  refuse_problems(plan);
  SimulatedField field = laid_out_field(plan);
  for (SimulatedLateral& lateral : field.laterals) make_emitters(field, lateral);
  return running_field(std::move(field));
}

}  // namespace evendrip
