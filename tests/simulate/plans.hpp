// SPDX-License-Identifier: Apache-2.0
// Plans and files for the tests of this room.
#pragma once

#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "evendrip/simulate/plan.hpp"

#include "own_folder.hpp"

namespace evendrip::test {

/// Cells of a table of plain commas, row by row.
inline std::vector<std::vector<std::string>> rows_of(const std::string& table) {
  std::vector<std::vector<std::string>> rows;
  std::istringstream lines(table);
  for (std::string line; std::getline(lines, line);) {
    std::vector<std::string> cells(1);
    for (const char c : line) {
      if (c == ',') {
        cells.emplace_back();
      } else {
        cells.back() += c;
      }
    }
    rows.push_back(cells);
  }
  return rows;
}

/// Two zones of eight lines of 60 m; the first has closed ends.
inline SimulationPlan small_plan() {
  SimulationPlan plan;
  plan.name = "Test field";
  plan.lonlat_centre = {10.5, 44.5};
  plan.laterals_per_zone = 8;
  plan.lateral_length_m = 60;
  plan.laterals_dug = 4;
  plan.closed_zones = {"Z1"};
  plan.biomass_pixel_m = 3;
  plan.yield_swath_m = 4;
  plan.seed = 99;
  return plan;
}

/// The same without chance or slope, with pipes so wide that hardly anything is lost to friction
/// (1 mm of water): every emitter passes the rated discharge.
inline SimulationPlan even_plan() {
  SimulationPlan plan = small_plan();
  plan.manufacturing_cv = 0;
  plan.plugged_share = 0;
  plan.inside_diameter_mm = 40;
  plan.manifold_diameters_m = {0.2};
  plan.flush_manifold_diameter_m = 0.2;
  plan.slope_frac = 0;
  plan.cross_slope_frac = 0;
  plan.soil_sd = 0;
  return plan;
}

inline SimulatedFault clogging(const std::string& zone, int first, int last, double from_m,
                               double factor, double gradual_m) {
  SimulatedFault fault;
  fault.zone = zone;
  fault.first_lateral = first;
  fault.last_lateral = last;
  fault.from_station_m = from_m;
  fault.factor = factor;
  fault.gradual_m = gradual_m;
  return fault;
}

/// pinch, shut or cut.
inline SimulatedFault obstruction(const std::string& kind, const std::string& zone, int first,
                                  int last, double from_m, double severity) {
  SimulatedFault fault;
  fault.kind = kind;
  fault.zone = zone;
  fault.first_lateral = first;
  fault.last_lateral = last;
  fault.from_station_m = from_m;
  if (kind != "shut") fault.severity = severity;
  return fault;
}

inline SimulatedFault on_manifold(const std::string& kind, const std::string& zone, double from_m,
                                  double severity) {
  SimulatedFault fault = obstruction(kind, zone, 1, 1, from_m, severity);
  fault.on = "manifold";
  return fault;
}

inline std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream stream(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

inline std::filesystem::path put(const std::filesystem::path& file, const std::string& bytes) {
  std::ofstream(file, std::ios::binary) << bytes;
  return file;
}

/// Every file below a folder, path inside it to bytes.
inline std::map<std::string, std::string> files_of(const std::filesystem::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& entry : std::filesystem::recursive_directory_iterator(folder)) {
    if (!entry.is_regular_file()) continue;
    files[entry.path().lexically_relative(folder).string()] = bytes_of(entry.path());
  }
  return files;
}

}  // namespace evendrip::test
