// SPDX-License-Identifier: Apache-2.0
#include <cmath>
#include <utility>
#include <variant>

#include <fmt/format.h>

#include "evendrip/maps/evaluation_sheet.hpp"
#include "sheet_parts.hpp"

namespace evendrip {

std::string evaluated_class(const MeasuredEmitter& emitter, double relative,
                            const Thresholds& thresholds) {
  if (!emitter.usable()) return "not_counted";
  if (emitter.state == EmitterState::none || emitter.discharge_lph == 0) return "plugged";
  if (!std::isfinite(relative)) return "not_counted";
  if (relative < thresholds.clogged_below) return "clogged";
  return relative < thresholds.low_below ? "low" : "enough";
}

Sheet evaluation_map(const Field& field, const Survey& survey, std::span<const double> relative,
                     const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, {}, "");
  add_lines(sheet, field, resources);
  for (Drawing& drawing : sheet.drawings) {
    auto* shapes = std::get_if<ShapesDrawing>(&drawing);
    if (shapes == nullptr || shapes->shapes.size() != field.zones.size()) continue;
    // Names alone: the inset is small.
    for (std::size_t z = 0; z < field.zones.size(); ++z) {
      if (shapes->labels[z] == "zone " + field.zones[z].id) shapes->labels[z] = field.zones[z].id;
    }
  }
  PointsDrawing emitters;
  emitters.style = style_of(resources, "evaluated_emitters");
  const Thresholds& limits = field.thresholds;
  for (StyleRule& rule : emitters.style.rules) {
    if (rule.name == "clogged")
      rule.title = fmt::format("below {:.0f} %", 100 * limits.clogged_below);
    if (rule.name == "low") rule.title = fmt::format("below {:.0f} %", 100 * limits.low_below);
    if (rule.name == "enough") {
      rule.title = fmt::format("{:.0f} % or more of what is expected", 100 * limits.low_below);
    }
  }
  for (std::size_t i = 0; i < survey.emitters.size(); ++i) {
    const MeasuredEmitter& emitter = survey.emitters[i];
    if (emitter.placement == Placement::outside) continue;
    emitters.points.push_back(emitter.site.place);
    emitters.classes.push_back(evaluated_class(emitter, relative[i], limits));
  }
  sheet.drawings.emplace_back(std::move(emitters));
  return sheet;
}

}  // namespace evendrip
