// SPDX-License-Identifier: Apache-2.0
// Invented zones whose faults are made by mechanism and solved in the network, and holes dug in
// them: what the estimators of surfaces are tried on. Set down before the first estimator was tried
// and not to be changed to suit one.
//
// A set has 200 fields: 5 kinds of fault x closed ends and flush manifold in turn x 20 severities
// from barely visible to gross. Each is dug three times, with 24, 48 and 96 holes, laterals at
// random, several emitters on each (one in each of as many equal parts of the lateral). Two sets
// of other seeds: one to tune on, one to report.
//
// Knowledge is as in practice. The evaluator's expectation comes from the same solver with a gauge
// that reads the inlet pressure with an error (sd 1.5 %) and slopes known to 1 in 2,000; emitters
// scatter more than the maker states (CV 3 to 6 %, stated 3 %); a catch errs by 2 %.
//
// What is scored at every emitter is `place`: its discharge over the expected one with the true
// pressure there, but with what its fault leaves on the average at that place instead of its own
// make and its own luck. `own` has its own luck (plugged or not, by how much) but an average make;
// it is told besides.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <numeric>
#include <optional>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

#include "evendrip/base/random.hpp"
#include "evendrip/hydraulics/zone_network.hpp"
#include "evendrip/simulate/system.hpp"
#include "evendrip/surface/sample.hpp"

namespace evendrip::bench {

enum class Trouble { clean, tail_sediment, plugged_clusters, bad_inlets, pinched_lines };
constexpr std::array<Trouble, 5> all_troubles = {Trouble::clean, Trouble::tail_sediment,
                                                 Trouble::plugged_clusters, Trouble::bad_inlets,
                                                 Trouble::pinched_lines};
inline std::string to_text(Trouble trouble) {
  constexpr std::array<const char*, 5> names = {"clean", "tail sediment", "plugged clusters",
                                                "bad lateral inlets", "pinched lines"};
  return names[static_cast<std::size_t>(trouble)];
}

struct Digging {
  int laterals = 0;
  int emitters_each = 0;
};
constexpr std::array<Digging, 3> all_diggings = {{{6, 4}, {12, 4}, {16, 6}}};

constexpr std::uint64_t tuning_seed = 20301;
constexpr std::uint64_t report_seed = 40507;
constexpr int fields_each = 40;  ///< of each kind of fault; 200 in a set
constexpr double stated_cv = 0.03;
constexpr double catch_error_cv = 0.02;

/// Field `number` (0 to 199) of a set.
struct SurfaceScenario {
  Trouble trouble = Trouble::clean;
  bool closed = true;
  double severity = 0.5;  ///< 0.025 to 0.975
  std::uint64_t seed = 0;
};
inline SurfaceScenario scenario(std::uint64_t set_seed, int number) {
  SurfaceScenario s;
  s.trouble = all_troubles[static_cast<std::size_t>(number / fields_each)];
  const int within = number % fields_each;
  s.closed = within % 2 == 0;
  s.severity = (within / 2 + 0.5) / (fields_each / 2);
  s.seed = item_seed(set_seed, {static_cast<std::uint64_t>(number)});
  return s;
}

struct ScenarioField {
  SurfaceScenario scenario;
  Field system;
  std::vector<std::vector<std::size_t>> laterals;  ///< emitters of each, from the supply end
  std::vector<Site> sites;                         ///< of every emitter
  std::vector<double> place;
  std::vector<double> own;
  std::vector<double> dug;  ///< what a can catches but for the error of catching
};

/// The random numbers of one part of a scenario.
class Chance {
 public:
  Chance(std::uint64_t seed, std::uint64_t part) : stream_(item_stream(seed, {part})) {}
  double normal() { return normal_(stream_); }
  double even() { return even_(stream_); }
  double between(double low, double high) { return low + (high - low) * even(); }
  int whole(int low, int high) {
    return std::min(high, low + static_cast<int>(even() * (high - low + 1)));
  }
  std::mt19937_64& stream() { return stream_; }

 private:
  std::mt19937_64 stream_;
  boost::random::normal_distribution<double> normal_;
  boost::random::uniform_01<double> even_;
};

/// One zone, 30 to 50 laterals of 120 to 220 m.
inline SimulationPlan scenario_plan(const SurfaceScenario& s) {
  Chance chance(s.seed, 1);
  SimulationPlan plan;
  plan.zones = 1;
  plan.laterals_per_zone = chance.whole(30, 50);
  plan.lateral_spacing_m = std::round(chance.between(1.0, 2.0) * 10) / 10;
  plan.lateral_length_m = chance.whole(12, 22) * 10;
  plan.inside_diameter_mm = plan.lateral_length_m > 160 ? 20 : 16;
  plan.bearing_deg = chance.between(0, 180);
  plan.slope_frac = chance.between(-0.004, 0.004);
  plan.cross_slope_frac = chance.between(-0.004, 0.004);
  plan.inlet_pressure_kpa = chance.between(90, 120);
  plan.plugged_share = 0;
  if (s.closed) plan.closed_zones = {"Z1"};
  return plan;
}

struct Slopes {
  double along = 0;
  double across = 0;
};
/// Heights of a straight slope, from the first lateral's supply end.
inline void lay_on_slope(const SimulatedField& field, const Slopes& slopes, ZoneNetwork& zone) {
  const auto at = [](int i) { return static_cast<std::size_t>(i); };
  const double start_m = field.zones[0].across_min_m;
  std::vector<double>& heights = zone.network.elevation_m;
  std::fill(heights.begin(), heights.end(), 0.0);
  for (const NetworkLateral& line : zone.laterals) {
    const double across_m = field.laterals[at(line.lateral)].across_m - start_m;
    for (std::size_t i = 0; i < line.nodes.size(); ++i)
      heights[at(line.nodes[i])] = slopes.along * line.stations_m[i] + slopes.across * across_m;
  }
  for (const NetworkSection& section : zone.sections) {
    const SimulatedManifold& manifold = field.manifolds[at(section.manifold)];
    const double along_m = manifold.supply ? 0 : field.plan.lateral_length_m;
    const double from_m = manifold.from_across_m - start_m;
    const Pipe& pipe = zone.network.pipes[at(section.pipe)];
    heights[at(pipe.from)] = slopes.along * along_m + slopes.across * (from_m + section.from_m);
    heights[at(pipe.to)] = slopes.along * along_m + slopes.across * (from_m + section.to_m);
  }
}

/// What troubles do to a zone: how much of its water each emitter loses on the average of its
/// place, by lateral and emitter, and what lies in the pipes.
struct Damage {
  std::vector<std::vector<double>> loss;
  std::vector<Fault> faults;
};

/// Grains settle where water is slow: below a speed of their own, more the slower it is. How dirty
/// a lateral's water is varies from one to the next and along the manifold. Deposits take emitters
/// and bore alike. The speeds are those of the solved clean network.
inline void settle_sediment(const SurfaceScenario& s, const SimulatedField& field,
                            ZoneNetwork& zone, const NetworkState& clean, Damage& damage) {
  Chance chance(s.seed, 2);
  const double settling_m_s = chance.between(0.1, 0.3);
  const double power = chance.between(1, 2.5);
  const double gross = 0.05 + 0.85 * s.severity;
  const double tilt = chance.between(-1, 1);
  for (const NetworkLateral& line : zone.laterals) {
    const double across = (line.lateral + 0.5) / field.plan.laterals_per_zone - 0.5;
    const double dirt = std::exp(0.4 * chance.normal() - 0.08) * std::max(0.0, 1 + tilt * across);
    for (int i = 0; i < line.emitters; ++i) {
      const auto pipe_number = static_cast<std::size_t>(line.first_pipe + i + 1);
      Pipe& pipe = zone.network.pipes[pipe_number];
      const double area_m2 = std::numbers::pi / 4 * pipe.diameter_m * pipe.diameter_m;
      const double speed_m_s = std::abs(clean.flow_m3_s[pipe_number]) / area_m2;
      const double slow = std::max(0.0, 1 - speed_m_s / settling_m_s);
      const double loss = std::min(0.95, gross * dirt * std::pow(slow, power));
      damage.loss[static_cast<std::size_t>(line.lateral)][static_cast<std::size_t>(i)] = loss;
      pipe.diameter_m *= 1 - 0.3 * loss;
    }
  }
}

/// Roots, slime or insects: patches along one lateral or over a few neighbours, worst in the
/// middle.
inline void plug_clusters(const SurfaceScenario& s, const SimulatedField& field, Damage& damage) {
  Chance chance(s.seed, 3);
  const int clusters = chance.whole(2, 8);
  for (int c = 0; c < clusters; ++c) {
    const double centre = chance.between(0, field.plan.laterals_per_zone - 1);
    const double station_m = chance.between(0, field.plan.lateral_length_m);
    const double half_laterals = chance.even() < 0.4 ? 0.5 : chance.between(1, 5);
    const double half_m = chance.between(0.05, 0.25) * field.plan.lateral_length_m;
    const double worst = (0.05 + 0.9 * s.severity) * chance.between(0.7, 1);
    for (std::size_t l = 0; l < damage.loss.size(); ++l) {
      const double aside = (static_cast<double>(l) - centre) / half_laterals;
      const std::vector<SimulatedEmitter>& emitters = field.laterals[l].emitters;
      for (std::size_t i = 0; i < emitters.size(); ++i) {
        const double ahead = (emitters[i].station_m - station_m) / half_m;
        const double bump = std::max(0.0, 1 - aside * aside - ahead * ahead);
        damage.loss[l][i] = 1 - (1 - damage.loss[l][i]) * (1 - worst * std::sqrt(bump));
      }
    }
  }
}

inline double lost_bore(const SurfaceScenario& s, Chance& chance, double least_open) {
  const double open = 0.3 * std::pow(least_open / 0.3, s.severity);
  return 1 - std::min(0.5, open * std::exp(0.35 * chance.normal()));
}

/// The fittings of some laterals are part closed; they come in runs, as a crew put them in.
inline void pinch_inlets(const SurfaceScenario& s, const SimulatedField& field, Damage& damage) {
  Chance chance(s.seed, 4);
  const double share = chance.between(0.08, 0.4);
  bool bad = chance.even() < share;
  for (int l = 0; l < field.plan.laterals_per_zone; ++l) {
    // Runs of two laterals on the average, `share` of all bad.
    bad = bad ? chance.even() < 0.5 : chance.even() < 0.5 * share / (1 - share);
    if (bad) damage.faults.push_back({FaultKind::pinch, true, l, 0, lost_bore(s, chance, 0.012)});
  }
}

/// Laterals flattened at one station: under a wheel track across neighbours, or here and there.
inline void pinch_lines(const SurfaceScenario& s, const SimulatedField& field, Damage& damage) {
  Chance chance(s.seed, 5);
  const int count = field.plan.laterals_per_zone;
  const auto station_m = [&] { return chance.between(0.1, 0.7) * field.plan.lateral_length_m; };
  const bool wheel_track = chance.even() < 0.5;
  const int first = chance.whole(0, count / 2);
  const int last = std::min(count - 1, first + chance.whole(count / 10, count / 2));
  const double track_m = station_m();
  const double share = chance.between(0.1, 0.4);
  for (int l = 0; l < count; ++l) {
    const bool hit =
        wheel_track ? l >= first && l <= last && chance.even() < 0.8 : chance.even() < share;
    if (!hit) continue;
    const double at_m = wheel_track ? track_m + chance.normal() : station_m();
    damage.faults.push_back({FaultKind::pinch, true, l, at_m, lost_bore(s, chance, 0.008)});
  }
}

/// Whether an emitter whose place loses `loss` on the average is plugged, and what it passes else:
/// plugged with chance loss^2, the others lose evenly from nothing to twice their mean.
inline double luck(double loss, Chance& chance) {
  const double plugged = chance.even();
  const double part = chance.even();
  if (plugged < loss * loss) return 0;
  return 1 - part * 2 * loss / (1 + loss);
}

/// The zone's network on a slope under a pressure, all emitters clean.
inline ZoneNetwork scenario_network(const SimulatedField& field, const Field& system,
                                    const Slopes& slopes, double inlet_kpa) {
  Doubts doubts;
  std::optional<ZoneNetwork> zone =
      zone_network(system, 0, Terrain(system), HydraulicOptions(), doubts);
  if (!zone) throw std::logic_error("a scenario without a network");
  lay_on_slope(field, slopes, *zone);
  zone->set_inlet_pressure(inlet_kpa);
  return *std::move(zone);
}

/// Fills place, own and dug from the network as it runs.
inline void run_scenario(ZoneNetwork zone, const Damage& damage,
                         const std::vector<double>& expected_lph, ScenarioField& made) {
  Chance chance(made.scenario.seed, 6);
  const double cv = chance.between(0.03, 0.06);
  zone = with_faults(zone, damage.faults);
  std::vector<double> mean(expected_lph.size());
  std::vector<double> lucky(expected_lph.size());
  for (const NetworkLateral& line : zone.laterals) {
    for (int i = 0; i < line.emitters; ++i) {
      const auto e =
          made.laterals[static_cast<std::size_t>(line.lateral)][static_cast<std::size_t>(i)];
      const double loss =
          damage.loss[static_cast<std::size_t>(line.lateral)][static_cast<std::size_t>(i)];
      mean[e] = 1 - loss;
      lucky[e] = luck(loss, chance);
      const double make = std::max(0.0, 1 + cv * chance.normal());
      zone.network.outlets[static_cast<std::size_t>(line.first_outlet + i)].factor =
          make * lucky[e];
    }
  }
  const NetworkState state = solve_network(zone.network);
  const EmitterCurve curve = curve_of(made.system.zones[0].emitter);
  for (const NetworkLateral& line : zone.laterals) {
    for (int i = 0; i < line.emitters; ++i) {
      const auto outlet = static_cast<std::size_t>(line.first_outlet + i);
      const auto e =
          made.laterals[static_cast<std::size_t>(line.lateral)][static_cast<std::size_t>(i)];
      const double full =
          discharge_lph(curve, state.pressure_kpa(zone.network, zone.network.outlets[outlet].node));
      made.place[e] = mean[e] * full / expected_lph[e];
      made.own[e] = lucky[e] * full / expected_lph[e];
      made.dug[e] = state.discharge_lph[outlet] / expected_lph[e];
    }
  }
}

/// Sites of every emitter, and room for what they give.
inline void place_emitters(const SimulatedField& field, ScenarioField& made) {
  for (std::size_t l = 0; l < field.laterals.size(); ++l) {
    std::vector<std::size_t>& emitters = made.laterals.emplace_back();
    for (const SimulatedEmitter& emitter : field.laterals[l].emitters) {
      emitters.push_back(made.sites.size());
      const int lateral = static_cast<int>(l);
      made.sites.push_back({place_on_lateral(made.system, lateral, emitter.station_m), lateral,
                            emitter.station_m, 0});
    }
  }
  for (std::vector<double>* values : {&made.place, &made.own, &made.dug})
    values->assign(made.sites.size(), 0.0);
}

/// What the evaluator expects of every emitter.
inline std::vector<double> expectation(const SimulatedField& field, const Slopes& slopes,
                                       const ScenarioField& made) {
  Chance chance(made.scenario.seed, 7);
  const double read_kpa = field.plan.inlet_pressure_kpa * (1 + 0.015 * chance.normal());
  const Slopes known{slopes.along + 0.0005 * chance.normal(),
                     slopes.across + 0.0005 * chance.normal()};
  const ZoneNetwork zone = scenario_network(field, made.system, known, read_kpa);
  const NetworkState state = solve_network(zone.network);
  std::vector<double> lph(made.sites.size());
  for (const NetworkLateral& line : zone.laterals) {
    for (int i = 0; i < line.emitters; ++i) {
      lph[made.laterals[static_cast<std::size_t>(line.lateral)][static_cast<std::size_t>(i)]] =
          state.discharge_lph[static_cast<std::size_t>(line.first_outlet + i)];
    }
  }
  return lph;
}

inline ScenarioField made_field(const SurfaceScenario& s) {
  const SimulatedField field = laid_out_field(scenario_plan(s));
  ScenarioField made;
  made.scenario = s;
  made.system = system_field(field);
  place_emitters(field, made);
  const Slopes slopes{field.plan.slope_frac, field.plan.cross_slope_frac};
  const std::vector<double> expected_lph = expectation(field, slopes, made);
  ZoneNetwork zone = scenario_network(field, made.system, slopes, field.plan.inlet_pressure_kpa);
  Damage damage;
  for (const SimulatedLateral& lateral : field.laterals)
    damage.loss.emplace_back(lateral.emitters.size(), 0.0);
  switch (s.trouble) {
    case Trouble::clean:
      break;
    case Trouble::tail_sediment:
      settle_sediment(s, field, zone, solve_network(zone.network), damage);
      break;
    case Trouble::plugged_clusters:
      plug_clusters(s, field, damage);
      break;
    case Trouble::bad_inlets:
      pinch_inlets(s, field, damage);
      break;
    case Trouble::pinched_lines:
      pinch_lines(s, field, damage);
      break;
  }
  run_scenario(zone, damage, expected_lph, made);
  return made;
}

/// `count` different numbers below `end`, each set with equal chance.
inline std::vector<std::size_t> picked(std::size_t end, int count, Chance& chance) {
  std::vector<std::size_t> all(end);
  std::iota(all.begin(), all.end(), std::size_t{0});
  for (std::size_t i = 0; i < static_cast<std::size_t>(count); ++i)
    std::swap(all[i], all[i + static_cast<std::size_t>(chance.stream()() % (end - i))]);
  all.resize(static_cast<std::size_t>(count));
  return all;
}

/// Noise known beforehand: the stated make of the emitters and the error of catching.
inline Samples dig(const ScenarioField& made, const Digging& digging) {
  Chance chance(made.scenario.seed,
                100 + static_cast<std::uint64_t>(digging.laterals * digging.emitters_each));
  Samples samples;
  for (const std::size_t l : picked(made.laterals.size(), digging.laterals, chance)) {
    const std::vector<std::size_t>& emitters = made.laterals[l];
    for (int i = 0; i < digging.emitters_each; ++i) {
      const double part = (i + chance.even()) / digging.emitters_each;
      const std::size_t e =
          emitters[static_cast<std::size_t>(part * static_cast<double>(emitters.size()))];
      const double caught = made.dug[e] * (1 + catch_error_cv * chance.normal());
      samples.push_back(
          {made.sites[e], caught, stated_cv * stated_cv + catch_error_cv * catch_error_cv});
    }
  }
  return samples;
}

}  // namespace evendrip::bench
