// SPDX-License-Identifier: Apache-2.0
// A field whose truth is known, made from a seed and written as a field folder; to prove what the
// other rooms say. Clearly synthetic.
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

/// What is made. Defaults give a small metric field.
struct SimulatedFault {
  std::string zone;
  int first_lateral = 1;  ///< 1-based within the zone
  int last_lateral = 1;
  double from_station_m = 0;
  double factor = 0.5;  ///< discharge beyond that station is multiplied by it
};
struct SimulationPlan {
  std::string name = "Untitled field";
  std::string layers_crs = "EPSG:4326";  ///< of the files written
  std::string crs = "auto";              ///< of field.toml
  Point lonlat_centre;
  int zones = 2;
  int laterals_per_zone = 40;
  double lateral_length_m = 150;
  double lateral_spacing_m = 1.5;
  double bearing_deg = 20;
  double emitter_spacing_m = 0.5;
  double discharge_lph = 1.0;
  double manufacturing_cv = 0.04;
  double plugged_share = 0.03;
  double soil_sd = 0.06;       ///< of the crop index, smooth in space
  double far_end_fall = 0.06;  ///< discharge lost by the far end
  std::vector<SimulatedFault> faults;
  int laterals_dug = 8;  ///< per zone
  int emitters_per_lateral = 4;
  double biomass_pixel_m = 5;  ///< 0: none
  double yield_swath_m = 0;    ///< 0: none
  bool us_units = false;
  bool gps_only = false;
  std::string survey_id = "2026-spring";
  std::string survey_date = "2026-05-12";
  std::uint64_t seed = 1;
};

/// Writes the folder: field.toml, layers, survey, crop and truth/ (true discharge of every emitter
/// as CSV). Refuses a folder that exists and is not empty (FileError).
void simulate_field(const SimulationPlan& plan, const std::filesystem::path& folder);

/// Reads a plan from TOML (all keys optional).
SimulationPlan read_plan(const std::filesystem::path& file);

}  // namespace evendrip
