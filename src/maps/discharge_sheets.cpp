// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/discharge_sheets.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/outlines.hpp"
#include "evendrip/maps/rulers.hpp"

namespace evendrip {

namespace {

const std::string dig_caution =
    "Before digging: have buried utilities located, shut the water off and let the pressure go. "
    "Local codes and licensed practice come first.";

constexpr const char* beyond_the_ramp =
    "Values beyond the ends of the colour bar take its end colours.";

Style style_of(const MapResources& resources, const std::string& name) {
  return read_style(resources.styles / (name + ".sld"));
}

std::string capitalised(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') {
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  }
  return text;
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

std::string discharge_unit(const Field& field) {
  return std::string(report_unit(Dimension::discharge, field.report_units));
}

double in_report_unit(const Field& field, double discharge_lph) {
  return from_canonical(discharge_lph, discharge_unit(field), Dimension::discharge);
}

Raster in_report_unit(const Field& field, Raster raster) {
  for (std::size_t i = 0; i < raster.values.size(); ++i) {
    if (raster.has_value(i)) raster.set(i, in_report_unit(field, raster.values[i]));
  }
  return raster;
}

std::vector<MultiPolygon> zone_areas(const Field& field) {
  std::vector<MultiPolygon> areas;
  for (const Zone& zone : field.zones) areas.push_back(zone.area);
  return areas;
}

/// Decimals that show three figures of the largest discharge; the same on the whole sheet.
int discharge_decimals(const Field& field, const Survey& survey) {
  double largest = 0;
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (emitter.usable()) largest = std::max(largest, in_report_unit(field, emitter.discharge_lph));
  }
  if (!(largest > 0)) return 2;
  return std::clamp(2 - static_cast<int>(std::floor(std::log10(largest))), 0, 4);
}

struct Limits {
  double low = 0;
  double high = 1;
};

Limits value_limits(const Raster& raster) {
  std::vector<double> values;
  for (std::size_t i = 0; i < raster.values.size(); ++i) {
    if (raster.has_value(i)) values.push_back(raster.values[i]);
  }
  if (values.empty()) return {};
  std::sort(values.begin(), values.end());
  const auto at = [&values](double share) {
    return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1))];
  };
  Limits limits{at(0.01), at(0.99)};
  if (!(limits.high > limits.low)) {
    const double half = limits.low != 0 ? std::abs(limits.low) * 0.1 : 0.5;
    limits = {limits.low - half, limits.low + half};
  }
  const double step = round_step(limits.high - limits.low, 10);
  return {std::floor(limits.low / step + 1e-6) * step, std::ceil(limits.high / step - 1e-6) * step};
}

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

enum class Values { discharge, none };

PointsDrawing emitters(const Field& field, const Survey& survey, Values values,
                       const MapResources& resources) {
  PointsDrawing drawing;
  drawing.style = style_of(resources, "emitters");
  if (values == Values::discharge) {
    drawing.style.title += ", value in " + discharge_unit(field);
  }
  const int decimals = discharge_decimals(field, survey);
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (emitter.placement == Placement::outside) continue;
    drawing.points.push_back(emitter.site.place);
    drawing.classes.push_back(emitter_class(emitter));
    const bool ambiguous = emitter.placement == Placement::ambiguous;
    drawing.radius_m.push_back(ambiguous ? emitter.position_sd_m : 0);
    const double value = in_report_unit(field, emitter.discharge_lph);
    const bool told = values == Values::discharge && emitter.usable();
    drawing.labels.push_back(told ? fmt::format("{:.{}f}", value, decimals) : "");
  }
  return drawing;
}

enum class FindingLook { hatched, outlined };

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

Sheet sheet_of(const Field& field, const Survey& survey, const SheetContext& context,
               const std::string& title) {
  Sheet sheet;
  sheet.title = title;
  sheet.field = field.name;
  sheet.date = survey.date;
  sheet.crs = field.crs;
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
  sheet.caution = dig_caution;
}

void add_lines(Sheet& sheet, const Field& field, const MapResources& resources) {
  for (LinesDrawing& lines : buried_lines(field, resources)) {
    sheet.drawings.emplace_back(std::move(lines));
  }
  sheet.drawings.emplace_back(zone_outlines(field, resources));
  add_hazards(sheet, field, resources);
}

/// Share of the mapped area in each class of a map.
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

std::vector<LinesDrawing> discharge_isolines(const Field& field, const Raster& discharge_lph) {
  const Raster shown = in_report_unit(field, discharge_lph);
  const Limits limits = value_limits(shown);
  const double step = round_step(limits.high - limits.low, 6);
  const std::vector<double> levels = multiples_within(limits.low, limits.high, step);
  LinesDrawing drawing;
  drawing.style.name = "isoline";
  drawing.style.title = fmt::format("discharge, {}", discharge_unit(field));
  drawing.style.line = StrokeStyle{{0.07, 0.22, 0.48, 1}, 1.5, {}};
  for (Isoline& isoline : isolines(shown, levels)) {
    drawing.lines.push_back(std::move(isoline.line));
    drawing.labels.push_back(fmt::format("{:.{}f}", isoline.level, decimals_of(step)));
  }
  return {drawing};
}

std::string finding_line(const Field& field, const Finding& finding) {
  const std::string area = format_quantity(finding.area_ha, Dimension::area, field.report_units, 2);
  std::string line = fmt::format("{}: {}, {}", finding.id, to_text(finding.kind), area);
  if (finding.zone >= 0 && static_cast<std::size_t>(finding.zone) < field.zones.size()) {
    line += ", zone " + field.zones[static_cast<std::size_t>(finding.zone)].id;
  }
  if (std::isfinite(finding.mean_relative)) {
    line += fmt::format(", water {:.2f}", finding.mean_relative);
  }
  if (std::isfinite(finding.mean_crop)) line += fmt::format(", crop {:.2f}", finding.mean_crop);
  return line;
}

void add_finding_notes(Sheet& sheet, const Field& field, const Findings& findings) {
  if (findings.list.empty()) {
    sheet.notes.emplace_back("No low place above the smallest area was found.");
    return;
  }
  sheet.notes.emplace_back(
      "Water and crop are relative to the median (1.00) of the zone and the field.");
  constexpr std::size_t most = 8;
  for (std::size_t i = 0; i < std::min(most, findings.list.size()); ++i) {
    sheet.notes.push_back(finding_line(field, findings.list[i]));
  }
  if (findings.list.size() > most) {
    sheet.notes.push_back(fmt::format("and {} more, in the tables", findings.list.size() - most));
  }
  if (findings.left_out > 0) {
    sheet.notes.push_back(fmt::format("{} smaller patches are left out.", findings.left_out));
  }
}

}  // namespace

std::string emitter_class(const MeasuredEmitter& emitter) {
  if (emitter.placement == Placement::ambiguous) return "ambiguous";
  return to_text(emitter.state);
}

std::string finding_class(FindingKind kind) {
  switch (kind) {
    case FindingKind::both_low:
      return "both_low";
    case FindingKind::water_low:
      return "water_low";
    case FindingKind::crop_low:
      return "crop_low";
    case FindingKind::none:
      break;
  }
  return "none";
}

Style discharge_style(const Raster& discharge_lph, const MapResources& resources) {
  const Limits limits = value_limits(discharge_lph);
  return rescaled(style_of(resources, "discharge"), limits.low, limits.high);
}

Style relative_discharge_error_style(const Raster& standard_error, const MapResources& resources) {
  const Limits limits = value_limits(standard_error);
  return rescaled(style_of(resources, "relative_discharge_error"), limits.low, limits.high);
}

Sheet discharge_sheet(const Field& field, const Survey& survey, const Raster& discharge_lph,
                      const Findings& findings, const SheetContext& context,
                      const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Emitter discharge");
  RasterDrawing raster;
  raster.raster = in_report_unit(field, discharge_lph);
  raster.style = discharge_style(raster.raster, resources);
  raster.shown_within = zone_areas(field);
  raster.legend_title = "Discharge, " + discharge_unit(field);
  sheet.drawings.emplace_back(std::move(raster));
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(low_places(findings, FindingLook::outlined, resources));
  sheet.drawings.emplace_back(emitters(field, survey, Values::discharge, resources));
  sheet.notes.emplace_back(beyond_the_ramp);
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet relative_discharge_sheet(const Field& field, const Survey& survey, const Raster& relative,
                               const Findings& findings, const SheetContext& context,
                               const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Relative discharge");
  RasterDrawing raster;
  raster.raster = relative;
  raster.style = style_of(resources, "relative_discharge");
  raster.shown_within = zone_areas(field);
  raster.legend_title = "Discharge over the median of its zone";
  raster.class_notes = area_shares(relative, *raster.style.colour_map);
  sheet.drawings.emplace_back(std::move(raster));
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(low_places(findings, FindingLook::outlined, resources));
  sheet.drawings.emplace_back(emitters(field, survey, Values::discharge, resources));
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet relative_discharge_error_sheet(const Field& field, const Survey& survey,
                                     const Raster& standard_error, const Findings& findings,
                                     const SheetContext& context, const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Standard error of relative discharge");
  RasterDrawing raster;
  raster.raster = standard_error;
  raster.style = relative_discharge_error_style(standard_error, resources);
  raster.shown_within = zone_areas(field);
  raster.legend_title = "Standard error, relative discharge (0.1 = 10 % of the reference)";
  sheet.drawings.emplace_back(std::move(raster));
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(low_places(findings, FindingLook::outlined, resources));
  sheet.drawings.emplace_back(emitters(field, survey, Values::none, resources));
  sheet.notes.emplace_back(
      "An emitter dug up anywhere lies within one standard error of the map about two times in "
      "three, within two about nineteen times in twenty.");
  sheet.notes.emplace_back(beyond_the_ramp);
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet crop_sheet(const Field& field, const Survey& survey, const Raster& crop_relative,
                 const std::string& crop_title, const Raster& discharge_lph,
                 const SheetContext& context, const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Crop with discharge isolines");
  RasterDrawing raster;
  raster.raster = crop_relative;
  raster.style = style_of(resources, "crop");
  raster.shown_within = zone_areas(field);
  raster.legend_title = capitalised(crop_title) + ", over the median of the field";
  sheet.drawings.emplace_back(std::move(raster));
  sheet.drawings.emplace_back(zone_outlines(field, resources));
  for (LinesDrawing& lines : discharge_isolines(field, discharge_lph)) {
    sheet.drawings.emplace_back(std::move(lines));
  }
  sheet.drawings.emplace_back(emitters(field, survey, Values::none, resources));
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet findings_sheet(const Field& field, const Survey& survey, const Findings& findings,
                     const Raster* crop_relative, const SheetContext& context,
                     const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Low places");
  if (crop_relative != nullptr) {
    RasterDrawing raster;
    raster.raster = *crop_relative;
    raster.style = style_of(resources, "crop");
    raster.opacity = 0.6;
    raster.shown_within = zone_areas(field);
    raster.legend_title = "Crop over the median of the field";
    sheet.drawings.emplace_back(std::move(raster));
  }
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(low_places(findings, FindingLook::hatched, resources));
  sheet.drawings.emplace_back(emitters(field, survey, Values::none, resources));
  add_finding_notes(sheet, field, findings);
  add_notes(sheet, field, survey, context);
  return sheet;
}

std::vector<Drawing> without_labels(const std::vector<Drawing>& drawings) {
  std::vector<Drawing> bare;
  for (Drawing drawing : drawings) {
    if (std::holds_alternative<PointsDrawing>(drawing)) continue;
    if (auto* lines = std::get_if<LinesDrawing>(&drawing)) lines->labels.clear();
    if (auto* shapes = std::get_if<ShapesDrawing>(&drawing)) shapes->labels.clear();
    bare.push_back(std::move(drawing));
  }
  return bare;
}

}  // namespace evendrip
