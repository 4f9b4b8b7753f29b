// SPDX-License-Identifier: Apache-2.0
// Tables that R gstat writes at test time, and how to read them.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <optional>
#include <sstream>
#include <string>
#include <vector>

#include <unistd.h>

#include "evendrip/surface/sample.hpp"

namespace evendrip {

using Columns = std::map<std::string, std::vector<double>>;

/// A table of numbers under one line of headings.
inline Columns read_columns(const std::filesystem::path& file) {
  std::ifstream in(file);
  std::string line;
  std::getline(in, line);
  std::vector<std::string> names;
  std::istringstream headings(line);
  for (std::string name; std::getline(headings, name, ',');) names.push_back(name);
  Columns columns;
  while (std::getline(in, line)) {
    std::istringstream cells(line);
    std::string cell;
    for (const std::string& name : names) {
      std::getline(cells, cell, ',');
      columns[name].push_back(std::strtod(cell.c_str(), nullptr));
    }
  }
  return columns;
}

/// Folder of the tables; nothing when R or one of its packages is missing. Written once for all
/// tests, anew when the script has changed.
inline std::optional<std::filesystem::path> gstat_tables() {
  namespace fs = std::filesystem;
  const fs::path script = fs::path(EVENDRIP_TEST_DATA) / "surface" / "surfaces_gstat.R";
  const fs::path folder = fs::path(EVENDRIP_TEST_OUTPUT) / "surface_gstat";
  const fs::path last = folder / "wheat_loo.csv";
  const auto fresh = [&] {
    return fs::exists(last) && fs::last_write_time(last) > fs::last_write_time(script);
  };
  if (fresh()) return folder;
  const std::string needed =
      "Rscript -e 'library(sp);library(gstat);library(sf);library(spData)' > /dev/null 2>&1";
  if (std::system(needed.c_str()) != 0) return std::nullopt;
  fs::path mine = folder;
  mine += "." + std::to_string(::getpid());
  fs::create_directories(mine);
  const std::string run = "Rscript '" + script.string() + "' '" + mine.string() + "'";
  if (std::system(run.c_str()) != 0) return fs::path();
  std::error_code lost_the_race;
  if (!fresh()) fs::remove_all(folder, lost_the_race);
  fs::rename(mine, folder, lost_the_race);
  if (lost_the_race) fs::remove_all(mine, lost_the_race);
  return folder;
}

/// Squared distances of the last sample that counts and the first that does not, as single
/// precision sees them: where they are equal gstat, which orders by single precision, may choose
/// another neighbour. Also true at an exact tie, where any choice is as good.
inline bool tied(const Samples& samples, int most, Point p) {
  if (most <= 0 || static_cast<std::size_t>(most) >= samples.size()) return false;
  std::vector<double> d2;
  for (const Sample& s : samples)
    d2.push_back(std::pow(s.site.place.x - p.x, 2) + std::pow(s.site.place.y - p.y, 2));
  const auto last = d2.begin() + most;
  std::nth_element(d2.begin(), last, d2.end());
  const double before = *std::max_element(d2.begin(), last);
  return (*last - before) <= 1e-6 * *last;
}

}  // namespace evendrip
