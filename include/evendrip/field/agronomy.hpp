// SPDX-License-Identifier: Apache-2.0
// How a field is watered and what its plants need: the sections [irrigation] and [agronomy] of
// field.toml. What is not stated stays nothing.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace evendrip {

/// [irrigation]
struct Irrigation {
  std::optional<double> set_time_s;  ///< of one irrigation
  std::optional<double> interval_s;  ///< from one irrigation to the next
  std::optional<int> pulses;         ///< into which a set is cut
  std::string began;                 ///< of a season, ISO 8601; empty if not stated
  std::optional<double> season_depth_mm;
  /// What the plants need of it; where not stated, season_et less season_effective_rain.
  std::optional<double> season_net_need_mm;
};

/// [agronomy]
struct Agronomy {
  int emitters_per_root_zone = 0;  ///< 0 if not stated
  std::optional<double> season_et_mm;
  std::optional<double> season_effective_rain_mm;
  std::vector<double> implement_widths_m;  ///< planter, sprayer, spreader, header
};

struct Watering {
  Irrigation irrigation;
  Agronomy agronomy;
};

/// Of a field folder that read_field has read, which tells every problem of these sections and what
/// nothing reads; here a value with a problem is nothing.
/// Throws InputError only when field.toml is missing or cannot be parsed.
Watering read_watering(const std::filesystem::path& folder);

}  // namespace evendrip
