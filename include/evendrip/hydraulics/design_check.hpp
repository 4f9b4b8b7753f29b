// SPDX-License-Identifier: Apache-2.0
// Was the zone ever good? Design emission uniformity, flow variation, and whether it can be
// flushed.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/hydraulics/expected.hpp"

namespace evendrip {

/// 100 (1 - 1.27 Cv / sqrt(n')) q_min / q_avg as a fraction; n' emitters a plant. Keller & Karmeli
/// 1974, Trans. ASAE 17:678-684. Throws std::invalid_argument for q_avg <= 0, n' < 1, Cv < 0.
double design_emission_uniformity(double manufacturing_cv, double emitters_per_plant,
                                  double smallest_lph, double mean_lph);
/// (q_max - q_min) / q_max. From memory: Wu & Gitlin 1974. Throws std::invalid_argument for q_max
/// not above 0.
double flow_variation(double smallest_lph, double largest_lph);
/// Flow that gives a velocity in a bore, L/h. Throws std::invalid_argument for a bore not above 0.
double flushing_flow_lph(double velocity_m_s, double inside_diameter_mm);

/// Far ends opened while the emitters keep running, inlet held at its pressure.
struct FlushCheck {
  double inlet_pressure_kpa = 0;  ///< as the gauges say
  int lines_open = 0;  ///< closed ends: neighbours opened at once, at most nine (UC ANR: fewer than
                       ///< ten at a time); flush manifold: all, by its valves
  double smallest_velocity_m_s = 0;  ///< among the far ends of the lines that are open
  int slowest_lateral = -1;          ///< index into Field::laterals
  double inflow_lph = 0;             ///< the zone takes while flushing
  bool reaches_0_3 = false;          ///< 0.3 m/s (1 ft/s), UC ANR
  bool reaches_0_5 = false;          ///< what some recommend for effluent, from memory
  /// For 0.3 m/s with `lines_open`; NaN if the tape's limit (three times the inlet pressure where
  /// the limit is not stated) is met first.
  double needed_inlet_kpa = 0;
  /// Most neighbours that reach 0.3 m/s together, those nearest to the lateral whose end has the
  /// least pressure; flush manifold: all or 0.
  int lines_at_once = 0;
};

struct DesignCheck {
  int zone = -1;
  double emission_uniformity = 0;  ///< fraction; n' = 1
  double flow_variation = 0;
  double smallest_lph = 0;  ///< of one emitter in the soil, as the expectation has it
  double largest_lph = 0;
  double mean_lph = 0;
  double lowest_kpa = 0;
  int lowest_lateral = -1;
  double lowest_station_m = 0;  ///< searched along the lines, not taken at the end
  double highest_kpa = 0;
  int highest_lateral = -1;
  double highest_station_m = 0;
  bool passes_tape_limit = false;   ///< highest pressure beyond max_pressure
  std::optional<FlushCheck> flush;  ///< none: fed from both ends, or no flush manifold found
  /// Largest metered flow of the survey, 0 if none: can it deliver the flush?
  double supply_lph = 0;
};

/// For each computed zone, clean, at the inlet pressure of the expectation. Doubts:
/// "low_flushing_velocity" (under 0.3 m/s), "pressure_beyond_limit", "flow_variation_large" (over
/// 20
/// %; Wu & Gitlin, from memory). Does not depend on the number of threads. A flush that cannot be
/// solved is told with the solver's code. Throws Interrupted.
std::vector<DesignCheck> check_design(const Field& field, const Survey& survey,
                                      const Expectation& expectation, const Work& work,
                                      Doubts& doubts);

}  // namespace evendrip
