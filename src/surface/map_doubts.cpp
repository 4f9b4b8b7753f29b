// SPDX-License-Identifier: Apache-2.0
#include "map_doubts.hpp"

#include <fmt/format.h>

namespace evendrip {
namespace {

Doubt zone_doubt(const char* code, const std::string& zone, const std::string& text,
                 const char* remedy) {
  Doubt doubt;
  doubt.code = code;
  doubt.severity = Severity::doubt;
  doubt.text = fmt::format("Zone {}: {}", zone, text);
  doubt.remedy = remedy;
  return doubt;
}

}  // namespace

Doubt without_expected_discharge(const std::string& zone, int emitters) {
  return zone_doubt(
      "emitter_without_expected_discharge", zone,
      fmt::format("{} measured {} on lines that carry no water in a clean system, or that join no "
                  "manifold; left out of the surface.",
                  emitters, emitters == 1 ? "emitter is" : "emitters are"),
      "Look at the doubts about the lines of this zone.");
}

Doubt zone_not_mapped(const std::string& zone, const std::string& why, ReferenceKind reference) {
  return zone_doubt("zone_not_mapped", zone, why + "; it is not mapped.",
                    reference == ReferenceKind::zone_median
                        ? "Measure emitters in this zone whose median is above 0."
                        : "Measure emitters on the laterals of this zone.");
}

Doubt surface_without_model(const std::string& zone, const std::string& why) {
  return zone_doubt("surface_without_model", zone, why + ".",
                    "Dig more emitters, spread over the laterals, for a firmer map.");
}

}  // namespace evendrip
