// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/condition_method.hpp"

#include "evendrip/geo/line.hpp"

#include "condition_figures.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include <fmt/format.h>

namespace evendrip {

std::string condition_method(const Story& story) {
  std::string out =
      "One estimate zone by zone from holes, crop, gauges and the network of pipes; its parts "
      "follow stations, laterals, groups of them and the soil.";
  if (story.condition.zones.empty()) return out;
  const std::vector<ZoneState>& zones = story.condition.zones;
  constexpr std::size_t most = 6;
  std::string told;
  for (std::size_t z = 0; z < std::min(most, zones.size()); ++z)
    told += fmt::format("{} {}: {}", told.empty() ? "" : ";", story.field.zones[z].id,
                        judged_by(zones[z]));
  if (zones.size() > most)
    told += fmt::format("; and {} more zones, in the tables", zones.size() - most);
  return out + told + ".";
}

std::string fault_name(const FieldCondition& condition, std::size_t zone, std::size_t fault) {
  std::size_t number = fault + 1;
  for (std::size_t z = 0; z < zone; ++z) number += condition.zones[z].network.faults.size();
  return fmt::format("F{}", number);
}

std::string told_crop_shares(const CropShares& shares) {
  const std::array<std::pair<const char*, double>, 9> parts{
      {{"along the laterals alike", shares.water_station},
       {"whole laterals", shares.water_lateral},
       {"groups of laterals", shares.water_group},
       {"a few laterals from somewhere on", shares.water_local},
       {"faults in the network", shares.network},
       {"soil", shares.soil},
       {"edges of the field", shares.edge},
       {"elevation and soil map", shares.ground},
       {"the crop's own error", shares.error}}};
  double all = 0;
  std::string text;
  for (const auto& [name, share] : parts) {
    all += share;
    text += fmt::format("{}{} {:.0f} %", text.empty() ? "" : ", ", name, 100 * share);
  }
  return all > 0 ? text : "";
}

Point fault_place(const Field& field, const Fault& fault) {
  if (fault.on_lateral) return place_on_lateral(field, fault.line, fault.station_m);
  return point_at(field.manifolds.at(static_cast<std::size_t>(fault.line)).line,
                  fault.station_m * field.scale_factor);
}

}  // namespace evendrip
