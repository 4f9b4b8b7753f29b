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
/// (q_max - q_min) / q_max. From memory: Wu & Gitlin 1974.
double flow_variation(double smallest_lph, double largest_lph);
/// Flow that gives a velocity in a bore, L/h.
double flushing_flow_lph(double velocity_m_s, double inside_diameter_mm);

struct FlushCheck {
  double inlet_pressure_kpa = 0;     ///< that was tried: measured, then the tape's limit
  int lines_open = 0;                ///< closed ends: lines opened at once; flush manifold: all
  double smallest_velocity_m_s = 0;  ///< among the open far ends
  int slowest_lateral = -1;          ///< index into Field::laterals
  double inflow_lph = 0;             ///< the zone takes while flushing
  bool reaches_0_3 = false;          ///< 0.3 m/s (1 ft/s), UC ANR
  bool reaches_0_5 = false;          ///< what some recommend for effluent, from memory
  double needed_inlet_kpa = 0;       ///< for 0.3 m/s; NaN if the tape's limit is met first
  int lines_at_once = 0;             ///< largest number of neighbours that reach 0.3 m/s together
};

struct DesignCheck {
  int zone = -1;
  double emission_uniformity = 0;  ///< fraction; n' = 1
  double flow_variation = 0;
  double smallest_lph = 0;
  double largest_lph = 0;
  double mean_lph = 0;
  double lowest_kpa = 0;
  int lowest_lateral = -1;
  double lowest_station_m = 0;  ///< searched along the lines, not taken at the end
  double highest_kpa = 0;
  bool passes_tape_limit = false;  ///< highest pressure beyond max_pressure
  std::optional<FlushCheck> flush;
  double supply_lph =
      0;  ///< largest metered flow of the survey, 0 if none: can it deliver the flush?
};

/// For each computed zone. Doubts: "low_flushing_velocity", "pressure_beyond_limit",
/// "flow_variation_large".
std::vector<DesignCheck> check_design(const Field& field, const Survey& survey,
                                      const Expectation& expectation, const Work& work,
                                      Doubts& doubts);

}  // namespace evendrip
