// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/truth.hpp"

#include "evendrip/base/random.hpp"

#include <fmt/format.h>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace evendrip {
namespace {

constexpr double kpa_per_m_water = 9.80665;
constexpr double zone_gap_m = 4;
constexpr std::uint64_t emitter_stream = 1;

/// Share of a line's whole friction loss that has happened at a share of its length.
double friction_share(double length_share) {
  return 1 - std::pow(1 - length_share, 2.75);
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

/// Pressure of the clean system at a station of a lateral.
double clean_pressure_kpa(const SimulatedField& field, const SimulatedLateral& lateral,
                          double station_m) {
  const SimulationPlan& plan = field.plan;
  const double line_loss = 1 - std::pow(1 - plan.far_end_fall, 1 / plan.exponent);
  const double manifold_loss = 1 - std::pow(1 - plan.manifold_end_fall, 1 / plan.exponent);
  const SimulatedZone& zone = field.zones[static_cast<std::size_t>(lateral.zone)];
  const double from_inlet_m = lateral.across_m - zone.across_min_m;
  const double inlet_m = field.ground_m(field.along_of(0), zone.across_min_m);
  const double here_m = field.ground_m(field.along_of(station_m), lateral.across_m);
  const double manifold =
      1 - manifold_loss * friction_share(from_inlet_m / (zone.across_max_m - zone.across_min_m));
  const double line = 1 - line_loss * friction_share(station_m / plan.lateral_length_m);
  return plan.inlet_pressure_kpa * manifold * line + kpa_per_m_water * (inlet_m - here_m);
}

double rated_k(const SimulationPlan& plan) {
  return plan.discharge_lph / std::pow(plan.rated_pressure_kpa, plan.exponent);
}

double fault_factor(const SimulatedFault& fault, double station_m) {
  const double beyond_m = station_m - fault.from_station_m;
  if (beyond_m <= 0) return 1;
  const double share = fault.gradual_m > 0 ? std::min(1.0, beyond_m / fault.gradual_m) : 1;
  return 1 - share * (1 - fault.factor);
}

/// What faults of one kind leave at a station of a lateral.
double faults_there(const SimulatedField& field, const SimulatedLateral& lateral, double station_m,
                    std::string_view kind) {
  double factor = 1;
  for (const SimulatedFault& fault : field.plan.faults) {
    const bool here = fault.kind == kind &&
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

void fill_emitters(const SimulatedField& field, SimulatedLateral& lateral) {
  const SimulationPlan& plan = field.plan;
  auto stream = item_stream(plan.seed, {emitter_stream, static_cast<std::uint64_t>(lateral.zone),
                                        static_cast<std::uint64_t>(lateral.number)});
  boost::random::normal_distribution<double> normal;
  boost::random::uniform_01<double> uniform;
  const double first_m = plan.emitter_spacing_m / 2;
  const double k = rated_k(plan);
  const int emitters = static_cast<int>(std::floor(
                           (plan.lateral_length_m - first_m) / plan.emitter_spacing_m + 1e-6)) +
                       1;
  for (int i = 0; i < emitters; ++i) {
    SimulatedEmitter emitter;
    emitter.station_m = first_m + i * plan.emitter_spacing_m;
    const double clean_kpa = clean_pressure_kpa(field, lateral, emitter.station_m);
    const double pinch = faults_there(field, lateral, emitter.station_m, "pinch");
    const double clogged = faults_there(field, lateral, emitter.station_m, "clogging");
    const double made = std::max(0.0, 1 + plan.manufacturing_cv * normal(stream));
    const double passing = clogging(clogged, normal(stream));
    const bool plugged = uniform(stream) < plan.plugged_share;
    emitter.pressure_kpa = clean_kpa * std::pow(pinch, 1 / plan.exponent);
    emitter.performance = plugged ? 0 : made * passing;
    emitter.discharge_lph = emitter.performance * k * std::pow(emitter.pressure_kpa, plan.exponent);
    emitter.delivery = emitter.discharge_lph / (k * std::pow(clean_kpa, plan.exponent));
    lateral.emitters.push_back(emitter);
  }
}

SimulatedLateral made_lateral(const SimulatedField& field, int zone_index, int number) {
  const SimulatedZone& zone = field.zones[static_cast<std::size_t>(zone_index)];
  SimulatedLateral lateral;
  lateral.id = fmt::format("{}-{:02}", zone.id, number);
  lateral.zone = zone_index;
  lateral.number = number;
  lateral.across_m = zone.across_min_m + (number - 0.5) * field.plan.lateral_spacing_m;
  const double far_m = field.plan.lateral_length_m;
  const double pinch = faults_there(field, lateral, far_m, "pinch");
  lateral.pinched = pinch < 1;
  lateral.clean_far_pressure_kpa = clean_pressure_kpa(field, lateral, far_m);
  lateral.far_pressure_kpa =
      lateral.clean_far_pressure_kpa * std::pow(pinch, 1 / field.plan.exponent);
  fill_emitters(field, lateral);
  return lateral;
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
  SimulatedField field;
  field.plan = plan;
  field.frame = local_frame(plan);
  field.zones = zones_of(plan);
  for (int zone = 0; zone < plan.zones; ++zone) {
    for (int number = 1; number <= plan.laterals_per_zone; ++number) {
      field.laterals.push_back(made_lateral(field, zone, number));
    }
  }
  return field;
}

}  // namespace evendrip
