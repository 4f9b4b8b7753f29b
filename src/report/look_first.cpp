// SPDX-License-Identifier: Apache-2.0
#include "look_first.hpp"

#include <algorithm>
#include <cstddef>
#include <string_view>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "evendrip/maps/crop_sheets.hpp"
#include "json_values.hpp"
#include "text_lines.hpp"

namespace evendrip {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t most_patches = 12;  // one round of a morning; the rest is in the tables
constexpr std::string_view label = "  Look first  ";

std::string item(const std::string& lead, const std::string& text) {
  return wrapped(std::string(label.size(), ' ') + lead, text);
}

std::string length(const Field& field, double m) {
  return format_quantity(m, Dimension::length, field.report_units, 3);
}

std::string patch_text(const Field& field, const CropPatch& patch) {
  std::string where =
      patch.zone < 0 ? "no zone" : "zone " + field.zones[static_cast<std::size_t>(patch.zone)].id;
  const bool told_where = patch.shape == PatchShape::follows_laterals;
  if (!told_where && patch.first_lateral >= 0 && patch.last_lateral >= 0) {
    const auto& from = field.laterals[static_cast<std::size_t>(patch.first_lateral)].id;
    const auto& to = field.laterals[static_cast<std::size_t>(patch.last_lateral)].id;
    where += from == to ? ", lateral " + from : fmt::format(", laterals {} to {}", from, to);
  }
  if (!told_where && patch.to_m > patch.from_m) {
    where += patch.to_the_end ? fmt::format(", from {} to the far end", length(field, patch.from_m))
                              : fmt::format(", {} to {} from the supply end",
                                            length(field, patch.from_m), length(field, patch.to_m));
  }
  const std::string why = why_not_told(patch);
  return as_sentence(fmt::format("{} ({}{}{})", where, to_text(patch.shape),
                                 why.empty() ? "" : ": ", why)) +
         " " + as_sentence(patch.told);
}

template <class Items>
Json name_in(const Items& items, int index) {
  if (index < 0) return nullptr;
  return items[static_cast<std::size_t>(index)].id;
}

}  // namespace

std::string look_first_text(const Field& field, const CropScreening& screening) {
  const std::vector<CropPatch>& patches = screening.patches;
  // The summary ends with the first place, which the list begins with.
  const std::string& summary = screening.summary;
  std::string out =
      wrapped(std::string(label), as_sentence(summary.substr(0, summary.find(" First: "))));
  const std::size_t told = std::min(patches.size(), most_patches);
  for (std::size_t i = 0; i < told; ++i) {
    out += item(fmt::format("{:>2}. ", i + 1), patch_text(field, patches[i]));
  }
  if (patches.size() > told) {
    out += item("    ", fmt::format("and {} more, in the tables.", patches.size() - told));
  }
  return out;
}

Json look_first_json(const Field& field, const std::vector<CropPatch>& patches) {
  Json list = Json::array();
  for (const CropPatch& patch : patches) {
    list.push_back({{"zone", name_in(field.zones, patch.zone)},
                    {"first_lateral", name_in(field.laterals, patch.first_lateral)},
                    {"last_lateral", name_in(field.laterals, patch.last_lateral)},
                    {"laterals", patch.laterals},
                    {"from_m", finite(patch.from_m)},
                    {"to_m", finite(patch.to_m)},
                    {"to_the_end", patch.to_the_end},
                    {"area_m2", finite(patch.area_m2)},
                    {"level", finite(patch.level)},
                    {"deficit_m2", finite(patch.deficit_m2)},
                    {"p", finite(patch.p)},
                    {"shape", patch_class(patch.shape)},
                    {"shape_p", finite(patch.shape_p)},
                    {"runs_with_passes", patch.runs_with_passes},
                    {"at_field_limit", patch.at_field_limit},
                    {"told", patch.told}});
  }
  return list;
}

}  // namespace evendrip
