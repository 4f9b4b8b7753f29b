// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/agronomy.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "agronomy.hpp"
#include "evendrip/field/plausible.hpp"

namespace evendrip {
namespace {

constexpr const char* toml_name = "field.toml";

// Ranges are common practice, no source.
const PlausibleRange set_times{Dimension::time, 1, 60.0 * 86400, 300, 7.0 * 86400, {{"h", "min"}}};
const PlausibleRange intervals{Dimension::time, 60,          366.0 * 86400, 3600,
                               60.0 * 86400,    {{"d", "h"}}};
const PlausibleRange season_depths{
    Dimension::depth, 0, 10'000, 20, 3000, {{"mm", "cm"}, {"mm", "in"}}};

std::optional<double> checked(TomlReader& reader, const char* key, const PlausibleRange& range,
                              Doubts& doubts) {
  const auto value = reader.quantity(key, range.dimension);
  if (!value) return std::nullopt;
  const std::string unit{accepted_units(range.dimension).front()};
  if (auto doubt =
          implausible(*value, range, reader.place_of(key), fmt::format("{:g} {}", *value, unit))) {
    doubts.push_back(*std::move(doubt));
  }
  return value;
}

std::optional<int> whole(TomlReader& reader, const char* key, std::int64_t most) {
  const auto value = reader.integer(key);
  if (!value) return std::nullopt;
  if (*value < 1 || *value > most) {
    reader.problem(key, "out_of_range", "the number cannot be used", fmt::format("{}", *value),
                   fmt::format("1 to {}", most));
    return std::nullopt;
  }
  return static_cast<int>(*value);
}

/// Widths of machines that work the field. Ranges are common practice, no source.
std::vector<double> implement_widths(TomlReader& reader) {
  std::vector<double> widths = reader.quantities("implement_widths", Dimension::length);
  std::erase_if(widths, [&reader](double width_m) {
    if (width_m > 0.5 && width_m < 100) return false;
    reader.problem("implement_widths", "out_of_range", "the width cannot be used",
                   fmt::format("{:g} m", width_m), "more than 0.5 m and less than 100 m");
    return true;
  });
  return widths;
}

/// Keys of the crop that are accepted and told as read by no part.
void list_unused(TomlReader& reader, std::vector<std::string>& not_computed) {
  std::vector<std::string> unused;
  if (reader.text("crop")) unused.emplace_back("crop");
  if (reader.has("planting")) {
    reader.date("planting");
    unused.emplace_back("planting");
  }
  if (reader.quantity("row_spacing", Dimension::length)) unused.emplace_back("row_spacing");
  for (const std::string& key : unused) {
    not_computed.push_back(fmt::format("[agronomy] {} is read by no part of this version", key));
  }
}

Agronomy agronomy_from(TomlReader& root, std::vector<std::string>& not_computed, Doubts& doubts) {
  Agronomy agronomy;
  const TomlTable* table = root.table("agronomy");
  if (table == nullptr) return agronomy;
  TomlReader reader(*table, toml_name, "[agronomy]", doubts);
  agronomy.emitters_per_root_zone = whole(reader, "emitters_per_root_zone", 100).value_or(0);
  agronomy.season_et_mm = checked(reader, "season_et", season_depths, doubts);
  agronomy.season_effective_rain_mm =
      checked(reader, "season_effective_rain", season_depths, doubts);
  agronomy.implement_widths_m = implement_widths(reader);
  list_unused(reader, not_computed);
  reader.finish();
  return agronomy;
}

Irrigation irrigation_from(TomlReader& root, const Agronomy& agronomy,
                           std::vector<std::string>& not_computed, Doubts& doubts) {
  Irrigation irrigation;
  if (const TomlTable* table = root.table("irrigation")) {
    TomlReader reader(*table, toml_name, "[irrigation]", doubts);
    irrigation.set_time_s = checked(reader, "set_time", set_times, doubts);
    irrigation.interval_s = checked(reader, "interval", intervals, doubts);
    if (irrigation.interval_s) {
      not_computed.emplace_back("[irrigation] interval is read by no part of this version");
    }
    irrigation.pulses = whole(reader, "pulses", 1000);
    irrigation.began = reader.date("began").value_or("");
    irrigation.season_depth_mm = checked(reader, "season_depth", season_depths, doubts);
    irrigation.season_net_need_mm = checked(reader, "season_net_need", season_depths, doubts);
    reader.finish();
  }
  if (!irrigation.season_net_need_mm && agronomy.season_et_mm) {
    irrigation.season_net_need_mm =
        std::max(0.0, *agronomy.season_et_mm - agronomy.season_effective_rain_mm.value_or(0));
  }
  return irrigation;
}

}  // namespace

Watering watering_from(TomlReader& root, std::vector<std::string>& not_computed, Doubts& doubts) {
  Watering watering;
  watering.agronomy = agronomy_from(root, not_computed, doubts);
  watering.irrigation = irrigation_from(root, watering.agronomy, not_computed, doubts);
  return watering;
}

Watering read_watering(const std::filesystem::path& folder) {
  const TomlTable document = read_toml(folder / toml_name, toml_name);
  Doubts doubts;
  std::vector<std::string> not_computed;
  TomlReader root(document, toml_name, "", doubts);
  return watering_from(root, not_computed, doubts);
}

}  // namespace evendrip
