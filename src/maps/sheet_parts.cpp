// SPDX-License-Identifier: Apache-2.0
#include "sheet_parts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <ctime>
#include <utility>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/outlines.hpp"
#include "evendrip/maps/rulers.hpp"

namespace evendrip {

namespace {

constexpr const char* dig_caution =
    "Before digging: have buried utilities located, shut the water off and let the pressure go. "
    "Local codes and licensed practice come first.";

std::vector<LinesDrawing> buried_lines(const Field& field, const MapResources& resources) {
  const Style style = style_of(resources, "laterals");
  LinesDrawing laterals{{}, {}, rule_named(style, "lateral")};
  LinesDrawing supply{{}, {}, rule_named(style, "supply")};
  LinesDrawing flush{{}, {}, rule_named(style, "flush")};
  for (const Lateral& lateral : field.laterals) laterals.lines.push_back(lateral.line);
  for (const Manifold& manifold : field.manifolds) {
    (manifold.supply ? supply : flush).lines.push_back(manifold.line);
  }
  return {laterals, supply, flush};
}

/// Hazards on file: areas, lines and points, each drawn by the same rule.
void add_hazards(Sheet& sheet, const Field& field, const MapResources& resources) {
  const Style style = style_of(resources, "hazards");
  ShapesDrawing areas;
  LinesDrawing lines{{}, {}, rule_named(style, "hazard")};
  PointsDrawing points;
  areas.style = points.style = style;
  for (const Hazard& hazard : field.hazards) {
    if (!hazard.area.empty()) {
      areas.shapes.push_back(hazard.area);
      areas.labels.push_back(hazard.kind);
    }
    for (const Line& line : hazard.lines) {
      lines.lines.push_back(line);
      lines.labels.push_back(hazard.kind);
    }
    for (const Point& point : hazard.points) {
      points.points.push_back(point);
      points.labels.push_back(hazard.kind);
    }
  }
  if (field.hazards.empty()) return;
  sheet.drawings.emplace_back(std::move(areas));
  sheet.drawings.emplace_back(std::move(lines));
  sheet.drawings.emplace_back(std::move(points));
}

bool is_iso_date(const std::string& text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return false;
  return std::count_if(text.begin(), text.end(),
                       [](unsigned char c) { return std::isdigit(c) != 0; }) == 8;
}

}  // namespace

std::string creation_date(const std::string& date) {
  const char* epoch = std::getenv("SOURCE_DATE_EPOCH");
  if (epoch != nullptr && *epoch != '\0') {
    const std::time_t seconds = std::strtoll(epoch, nullptr, 10);
    std::tm utc{};
    if (gmtime_r(&seconds, &utc) != nullptr) {
      return fmt::format("{:04}-{:02}-{:02}T{:02}:{:02}:{:02}Z", utc.tm_year + 1900, utc.tm_mon + 1,
                         utc.tm_mday, utc.tm_hour, utc.tm_min, utc.tm_sec);
    }
  }
  return is_iso_date(date) ? date + "T00:00:00Z" : "1970-01-01T00:00:00Z";
}

Style style_of(const MapResources& resources, const std::string& name) {
  return read_style(resources.styles / (name + ".sld"));
}

StyleRule rule_named(const Style& style, const std::string& name) {
  for (const StyleRule& rule : style.rules) {
    if (rule.name == name) return rule;
  }
  Doubt doubt;
  doubt.code = "missing_style_rule";
  doubt.severity = Severity::problem;
  doubt.place.file = style.name + ".sld";
  doubt.text = "the style lacks a rule";
  doubt.expected = "a rule named " + name;
  throw InputError(std::move(doubt));
}

std::vector<MultiPolygon> zone_areas(const Field& field) {
  std::vector<MultiPolygon> areas;
  areas.reserve(field.zones.size());
  for (const Zone& zone : field.zones) areas.push_back(zone.area);
  return areas;
}

double in_report_unit(const Field& field, double canonical, Dimension dimension) {
  return from_canonical(canonical, report_unit(dimension, field.report_units), dimension);
}

Raster in_report_unit(const Field& field, Raster raster, Dimension dimension) {
  for (std::size_t i = 0; i < raster.values.size(); ++i) {
    if (raster.has_value(i)) raster.set(i, in_report_unit(field, raster.values[i], dimension));
  }
  return raster;
}

ValueLimits value_limits(const Raster& raster) {
  std::vector<double> values;
  for (std::size_t i = 0; i < raster.values.size(); ++i) {
    if (raster.has_value(i)) values.push_back(raster.values[i]);
  }
  if (values.empty()) return {};
  std::sort(values.begin(), values.end());
  const auto at = [&values](double share) {
    return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1))];
  };
  ValueLimits limits{at(0.01), at(0.99)};
  if (!(limits.high > limits.low)) {
    const double half = limits.low != 0 ? std::abs(limits.low) * 0.1 : 0.5;
    limits = {limits.low - half, limits.low + half};
  }
  const double step = round_step(limits.high - limits.low, 10);
  return {std::floor(limits.low / step + 1e-6) * step, std::ceil(limits.high / step - 1e-6) * step};
}

Style stretched_style(const MapResources& resources, const std::string& name,
                      const Raster& raster) {
  const ValueLimits limits = value_limits(raster);
  return rescaled(style_of(resources, name), limits.low, limits.high);
}

RasterDrawing raster_drawing(const Field& field, Raster raster, Style style,
                             std::string legend_title) {
  RasterDrawing drawing;
  drawing.raster = std::move(raster);
  drawing.style = std::move(style);
  drawing.legend_title = std::move(legend_title);
  drawing.shown_within = zone_areas(field);
  return drawing;
}

ShapesDrawing zone_outlines(const Field& field, const MapResources& resources) {
  ShapesDrawing zones;
  zones.style = style_of(resources, "zones");
  zones.style.title.clear();
  for (const Zone& zone : field.zones) {
    zones.shapes.push_back(zone.area);
    zones.classes.emplace_back("zone");
    zones.labels.push_back("zone " + zone.id);
  }
  return zones;
}

Sheet sheet_of(const Field& field, const Survey& survey, const SheetContext& context,
               const std::string& title) {
  Sheet sheet;
  sheet.title = title;
  sheet.field = field.name;
  sheet.date = survey.date;
  sheet.crs = field.crs;
  sheet.stated_crs = field.stated_crs;
  sheet.extent = field.extent();
  sheet.units = field.report_units;
  sheet.paper = context.paper;
  sheet.scale_factor = field.scale_factor;
  if (field.crs.known()) {
    sheet.convergence_deg =
        convergence_deg(field.crs, {(sheet.extent.x_min + sheet.extent.x_max) / 2,
                                    (sheet.extent.y_min + sheet.extent.y_max) / 2});
  }
  return sheet;
}

void add_notes(Sheet& sheet, const Field& field, const Survey& survey,
               const SheetContext& context) {
  if (!field.hazards.empty()) {
    sheet.notes.emplace_back("Hazards are those on file; there may be others.");
  }
  if (!context.method.empty()) sheet.notes.push_back("Method: " + context.method);
  const auto outside =
      std::count_if(survey.emitters.begin(), survey.emitters.end(),
                    [](const MeasuredEmitter& e) { return e.placement == Placement::outside; });
  if (outside > 0) {
    sheet.notes.push_back(fmt::format("Dug emitters in no zone, not shown: {}.", outside));
  }
  sheet.notes.insert(sheet.notes.end(), context.further.begin(), context.further.end());
  add_caution(sheet);
}

void add_caution(Sheet& sheet) {
  sheet.caution = dig_caution;
}

void add_lines(Sheet& sheet, const Field& field, const MapResources& resources) {
  for (LinesDrawing& lines : buried_lines(field, resources)) {
    sheet.drawings.emplace_back(std::move(lines));
  }
  sheet.drawings.emplace_back(zone_outlines(field, resources));
  add_hazards(sheet, field, resources);
}

ShapesDrawing low_places(const Findings& findings, FindingLook look,
                         const MapResources& resources) {
  ShapesDrawing drawing;
  drawing.style = style_of(resources, "findings");
  if (look == FindingLook::outlined) drawing.rim = Rim::white;
  for (StyleRule& rule : drawing.style.rules) {
    if (look == FindingLook::outlined) rule.fill.reset();
  }
  for (const Finding& finding : findings.list) {
    drawing.shapes.push_back(finding.outline);
    drawing.classes.push_back(finding_class(finding.kind));
    drawing.labels.push_back(finding.id);
  }
  return drawing;
}

std::vector<std::string> area_shares(const Raster& raster, const ColourMap& map) {
  std::vector<std::size_t> counts(map.stops.size());
  std::size_t all = 0;
  for (std::size_t i = 0; i < raster.values.size(); ++i) {
    if (!raster.has_value(i)) continue;
    std::size_t k = 0;
    while (k + 1 < map.stops.size() && raster.values[i] >= map.stops[k + 1].value) ++k;
    ++counts[k];
    ++all;
  }
  std::vector<std::string> texts;
  for (const std::size_t count : counts) {
    const double share = all > 0 ? 100 * static_cast<double>(count) / static_cast<double>(all) : 0;
    texts.push_back(count > 0 && share < 0.5 ? "under 1 % of area"
                                             : fmt::format("{:.0f} % of area", share));
  }
  return texts;
}

void add_no_verdict(Sheet& sheet, const Raster& raster, const MapResources& resources) {
  const auto uncertain = [&raster](const Window& window) {
    std::vector<std::uint8_t> classes;
    classes.reserve(window.cells());
    for (int r = window.row; r < window.row + window.rows; ++r)
      for (int c = window.column; c < window.column + window.columns; ++c)
        classes.push_back(raster.reasons[raster.grid.index(r, c)] == Reason::too_uncertain ? 1 : 0);
    return classes;
  };
  MultiPolygon ground;
  for (Patch& patch : polygonise(raster.grid, uncertain, {}))
    ground.push_back(std::move(patch.outline));
  if (ground.empty()) return;
  const auto& reasons = raster.reasons;
  const auto cells = std::count(reasons.begin(), reasons.end(), Reason::too_uncertain);
  const auto valued = std::count_if(reasons.begin(), reasons.end(), carries_value);
  ShapesDrawing drawing;
  drawing.style = style_of(resources, "no_verdict");
  drawing.counted = Counted::no;
  drawing.shapes = {std::move(ground)};
  drawing.classes = {"too_uncertain"};
  for (StyleRule& rule : drawing.style.rules)
    rule.title += fmt::format(" ({:.0f} % of area)",
                              100.0 * static_cast<double>(cells) / static_cast<double>(valued));
  sheet.drawings.emplace_back(std::move(drawing));
}

PointsDrawing emitters_drawing(const Survey& survey, const MapResources& resources) {
  PointsDrawing drawing;
  drawing.style = style_of(resources, "emitters");
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (emitter.placement == Placement::outside) continue;
    drawing.points.push_back(emitter.site.place);
    drawing.classes.push_back(emitter_class(emitter));
    const bool ambiguous = emitter.placement == Placement::ambiguous;
    drawing.radius_m.push_back(ambiguous ? emitter.position_sd_m : 0);
    drawing.labels.emplace_back();
  }
  return drawing;
}

}  // namespace evendrip
