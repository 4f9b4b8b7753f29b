// SPDX-License-Identifier: Apache-2.0
#include "patch_words.hpp"

#include <algorithm>
#include <cstddef>
#include <string_view>

#include <fmt/format.h>

namespace evendrip {
namespace {

const Lateral& lateral_of(const Field& field, int lateral) {
  return field.laterals[static_cast<std::size_t>(lateral)];
}

/// To whole metres or feet.
std::string length_text(const Field& field, double m) {
  const std::string_view unit = report_unit(Dimension::length, field.report_units);
  return fmt::format("{:.0f} {}", from_canonical(m, unit, Dimension::length), unit);
}

std::string area_text(const Field& field, double m2) {
  const char* unit = field.report_units == UnitSystem::us ? "ft2" : "m2";
  return fmt::format("{:.0f} {}", from_canonical(m2 / 10'000, unit, Dimension::area), unit);
}

std::string laterals_text(const Field& field, const CropPatch& patch) {
  const std::string first = lateral_of(field, patch.first_lateral).id;
  if (patch.laterals == 1) return "Lateral " + first;
  return fmt::format("Laterals {} to {} ({} side by side)", first,
                     lateral_of(field, patch.last_lateral).id, patch.laterals);
}

std::string loss_text(const CropPatch& patch) {
  return fmt::format("{:.0f} % under the ground beside {}", 100 * (1 - patch.level),
                     patch.laterals == 1 ? "it" : "them");
}

std::string along_laterals(const Field& field, const CropPatch& patch) {
  const std::string who = laterals_text(field, patch);
  const std::string verb = patch.laterals == 1 ? "is" : "are";
  const std::string loss = loss_text(patch);
  const bool single = patch.laterals == 1;
  const bool fed_twice =
      field.zones[static_cast<std::size_t>(patch.zone)].lateral.ends == LateralEnds::both_fed;
  if (!(patch.from_m > 0) && patch.to_the_end)
    return fmt::format(
        "{} {} low over the whole length, {}: look first at {}, then at the flush end.", who, verb,
        loss,
        single ? "the lateral's inlet (joint, pinch, closed valve)"
               : "the part of the manifold and the inlets that feed them");
  if (!(patch.from_m > 0))
    return fmt::format(
        "{} {} low from the supply end to about {}, {}: look first at the emitters there, "
        "then for leaks and roots; farther on the crop holds, so water gets past.",
        who, verb, length_text(field, patch.to_m), loss);
  if (patch.to_the_end && !fed_twice)
    return fmt::format(
        "{} {} low from about {} to the far end, {}: look first at the line about {} "
        "(pinch, break, plugging), then at the flush end and the pressure there.",
        who, verb, length_text(field, patch.from_m), loss, length_text(field, patch.from_m));
  return fmt::format(
      "{} {} low between about {} and {}, {}: look first at the emitters between these "
      "stations.",
      who, verb, length_text(field, patch.from_m), length_text(field, patch.to_m), loss);
}

std::string at_limit(const Field& field, const CropPatch& patch) {
  return fmt::format(
      "{} {} {} between about {} and {}, with a sharp inner side; but the limit of the field lies "
      "beside {}, where margins are low too{} and no lateral beyond tells the difference: read the "
      "pressure there before any digging.",
      laterals_text(field, patch), patch.laterals == 1 ? "is" : "are", loss_text(patch),
      length_text(field, patch.from_m), length_text(field, patch.to_m),
      patch.laterals == 1 ? "it" : "them",
      patch.runs_with_passes ? ", passes of a machine run alike" : "");
}

std::string with_passes(const Field& field, const CropPatch& patch) {
  return fmt::format(
      "{} {} {} between about {} and {}, but passes of a machine and laterals run alike there: the "
      "crop does not tell which of them it is. Dig or gauge here.",
      laterals_text(field, patch), patch.laterals == 1 ? "is" : "are", loss_text(patch),
      length_text(field, patch.from_m), length_text(field, patch.to_m));
}

constexpr std::string_view along_passes = "along passes of a machine";

/// " (2 of them beside a limit of the field, 1 along passes of a machine)"
std::string reasons_text(const std::vector<CropPatch>& patches) {
  const auto at_limits = std::count_if(patches.begin(), patches.end(),
                                       [](const CropPatch& patch) { return patch.at_field_limit; });
  const auto with = std::count_if(patches.begin(), patches.end(), [](const CropPatch& patch) {
    return patch.runs_with_passes && !patch.at_field_limit;
  });
  std::string text;
  if (at_limits > 0) text = fmt::format("{} of them beside a limit of the field", at_limits);
  if (with > 0) text += fmt::format("{}{} {}", text.empty() ? "" : ", ", with, along_passes);
  return text.empty() ? "" : " (" + text + ")";
}

}  // namespace

std::string to_text(PatchShape shape) {
  switch (shape) {
    case PatchShape::follows_laterals:
      return "follows laterals";
    case PatchShape::follows_zone:
      return "follows a zone";
    case PatchShape::ignores_laterals:
      return "ignores laterals";
    case PatchShape::not_told:
      return "shape not told";
  }
  return "";
}

std::string why_not_told(const CropPatch& patch) {
  std::string why = patch.at_field_limit ? "beside a limit of the field" : "";
  if (patch.runs_with_passes) why += fmt::format("{}{}", why.empty() ? "" : " and ", along_passes);
  return why;
}

std::string patch_words(const Field& field, const CropPatch& patch) {
  const std::string& zone = field.zones[static_cast<std::size_t>(patch.zone)].id;
  switch (patch.shape) {
    case PatchShape::follows_laterals:
      return along_laterals(field, patch);
    case PatchShape::follows_zone:
      return fmt::format(
          "Zone {} is low as a whole, {:.0f} % under the other zones, and the crop falls sharply "
          "at "
          "its limits: look first at the pressure at the zone's valve, at its filter and at the "
          "hours it was run.",
          zone, 100 * (1 - patch.level));
    case PatchShape::ignores_laterals:
      return fmt::format(
          "{} of zone {} are {:.0f} % low in a shape that does not follow laterals, as soil "
          "or stand would draw it: look at the soil before digging for emitters.",
          area_text(field, patch.area_m2), zone, 100 * (1 - patch.level));
    case PatchShape::not_told:
      if (patch.at_field_limit) return at_limit(field, patch);
      if (patch.runs_with_passes) return with_passes(field, patch);
      return fmt::format(
          "{} of zone {} are {:.0f} % low, and this layer does not tell whether the shape "
          "follows laterals: look first at the pressure of a lateral that runs through it, before "
          "any digging.",
          area_text(field, patch.area_m2), zone, 100 * (1 - patch.level));
  }
  return "";
}

std::string screening_words(const Field& field, const std::vector<CropPatch>& patches) {
  if (patches.empty())
    return "No part of the crop is low beyond chance: the crop alone names no place to look first.";
  const auto count = [&](PatchShape shape) {
    return std::count_if(patches.begin(), patches.end(),
                         [&](const CropPatch& patch) { return patch.shape == shape; });
  };
  return fmt::format(
      "Low ground: {} along laterals, {} a whole zone, {} in a shape that ignores laterals, {} not "
      "told{}. First: {}",
      count(PatchShape::follows_laterals), count(PatchShape::follows_zone),
      count(PatchShape::ignores_laterals), count(PatchShape::not_told), reasons_text(patches),
      patch_words(field, patches.front()));
}

}  // namespace evendrip
