// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>

#include "evendrip/maps/style.hpp"

namespace evendrip {

namespace {

Colour between(const Colour& a, const Colour& b, double share) {
  const auto mix = [share](double from, double to) { return from + (to - from) * share; };
  return {mix(a.red, b.red), mix(a.green, b.green), mix(a.blue, b.blue), mix(a.alpha, b.alpha)};
}

}  // namespace

Colour ColourMap::at(double value) const {
  if (stops.empty()) return {0, 0, 0, 0};
  const auto above = std::upper_bound(stops.begin(), stops.end(), value,
                                      [](double v, const ColourStop& s) { return v < s.value; });
  if (above == stops.begin()) return stops.front().colour;
  const ColourStop& below = *(above - 1);
  if (classes || above == stops.end()) return below.colour;
  return between(below.colour, above->colour, (value - below.value) / (above->value - below.value));
}

Style rescaled(const Style& style, double low, double high) {
  Style result = style;
  if (!result.colour_map) return result;
  for (ColourStop& stop : result.colour_map->stops) {
    if (!std::isfinite(stop.value)) continue;
    stop.value = low + (high - low) * stop.value;
    stop.label.clear();
  }
  return result;
}

const StyleRule* rule_for(const Style& style, const std::string& feature_class) {
  const StyleRule* general = nullptr;
  for (const StyleRule& rule : style.rules) {
    if (rule.property.empty()) {
      if (general == nullptr) general = &rule;
    } else if (rule.equals == feature_class) {
      return &rule;
    }
  }
  return general;
}

}  // namespace evendrip
