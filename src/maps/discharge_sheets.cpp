// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/discharge_sheets.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evendrip/crs/outlines.hpp"
#include "evendrip/maps/rulers.hpp"

#include "sheet_parts.hpp"

namespace evendrip {

namespace {

std::string capitalised(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') {
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  }
  return text;
}

std::string discharge_unit(const Field& field) {
  return std::string(report_unit(Dimension::discharge, field.report_units));
}

/// Decimals that show three figures of the largest discharge; the same on the whole sheet.
int discharge_decimals(const Field& field, const Survey& survey) {
  double largest = 0;
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (emitter.usable())
      largest =
          std::max(largest, in_report_unit(field, emitter.discharge_lph, Dimension::discharge));
  }
  if (!(largest > 0)) return 2;
  return std::clamp(2 - static_cast<int>(std::floor(std::log10(largest))), 0, 4);
}

/// Emitters with their discharge in report units beside them.
PointsDrawing emitters_with_values(const Field& field, const Survey& survey,
                                   const MapResources& resources) {
  PointsDrawing drawing = emitters_drawing(survey, resources);
  drawing.style.title += ", value in " + discharge_unit(field);
  drawing.labels.clear();
  const int decimals = discharge_decimals(field, survey);
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (emitter.placement == Placement::outside) continue;
    const double value = in_report_unit(field, emitter.discharge_lph, Dimension::discharge);
    drawing.labels.push_back(emitter.usable() ? fmt::format("{:.{}f}", value, decimals) : "");
  }
  return drawing;
}

std::vector<LinesDrawing> discharge_isolines(const Field& field, const Raster& discharge_lph) {
  const Raster shown = in_report_unit(field, discharge_lph, Dimension::discharge);
  const ValueLimits limits = value_limits(shown);
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

enum class References { medians, clean_systems, both };

References references_of(const SheetContext& context) {
  const auto& all = context.references;
  const auto clean = std::count(all.begin(), all.end(), ReferenceKind::clean_system);
  if (clean == 0) return References::medians;
  return clean == static_cast<std::ptrdiff_t>(all.size()) ? References::clean_systems
                                                          : References::both;
}

std::string relative_title(References references) {
  return references == References::clean_systems ? "Discharge, of what a clean system would give"
                                                 : "Relative discharge";
}

/// What 1.00 means in the lines of the findings.
std::string finding_scale(References references) {
  switch (references) {
    case References::clean_systems:
      return "Water is relative to what a clean system would give, crop to the median of the field "
             "(both 1.00).";
    case References::both:
      return "Water is relative to what a clean system would give, or to the median of the zone "
             "where that is not known; crop to the median of the field (all 1.00).";
    case References::medians:
      break;
  }
  return "Water and crop are relative to the median (1.00) of the zone and the field.";
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

void add_finding_notes(Sheet& sheet, const Field& field, const Findings& findings,
                       References references) {
  if (findings.list.empty()) {
    sheet.notes.emplace_back("No low place above the smallest area was found.");
    return;
  }
  sheet.notes.push_back(finding_scale(references));
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

std::string relative_legend(const SheetContext& context) {
  switch (references_of(context)) {
    case References::clean_systems:
      return "Of what a clean system would give";
    case References::both:
      return "Of the reference of its zone, see notes";
    case References::medians:
      break;
  }
  return "Discharge over the median of its zone";
}

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
  return stretched_style(resources, "discharge", discharge_lph);
}

Sheet discharge_sheet(const Field& field, const Survey& survey, const Raster& discharge_lph,
                      const Findings& findings, const SheetContext& context,
                      const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Emitter discharge");
  const Raster shown = in_report_unit(field, discharge_lph, Dimension::discharge);
  sheet.drawings.emplace_back(raster_drawing(field, shown, discharge_style(shown, resources),
                                             "Discharge, " + discharge_unit(field)));
  add_no_verdict(sheet, discharge_lph, resources);
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(low_places(findings, FindingLook::outlined, resources));
  sheet.drawings.emplace_back(emitters_with_values(field, survey, resources));
  sheet.notes.emplace_back(beyond_the_ramp);
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet relative_discharge_sheet(const Field& field, const Survey& survey, const Raster& relative,
                               const Findings& findings, const SheetContext& context,
                               const MapResources& resources) {
  const References references = references_of(context);
  Sheet sheet = sheet_of(field, survey, context, relative_title(references));
  RasterDrawing raster = raster_drawing(field, relative, style_of(resources, "relative_discharge"),
                                        relative_legend(context));
  if (raster.style.colour_map) {
    raster.class_notes = area_shares(relative, *raster.style.colour_map);
  }
  sheet.drawings.emplace_back(std::move(raster));
  add_no_verdict(sheet, relative, resources);
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(low_places(findings, FindingLook::outlined, resources));
  sheet.drawings.emplace_back(emitters_with_values(field, survey, resources));
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet crop_sheet(const Field& field, const Survey& survey, const Raster& crop_relative,
                 const std::string& crop_title, const Raster& discharge_lph,
                 const SheetContext& context, const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Crop with discharge isolines");
  sheet.drawings.emplace_back(
      raster_drawing(field, crop_relative, style_of(resources, "crop"),
                     capitalised(crop_title) + ", over the median of the field"));
  sheet.drawings.emplace_back(zone_outlines(field, resources));
  for (LinesDrawing& lines : discharge_isolines(field, discharge_lph)) {
    sheet.drawings.emplace_back(std::move(lines));
  }
  sheet.drawings.emplace_back(emitters_drawing(survey, resources));
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet findings_sheet(const Field& field, const Survey& survey, const Findings& findings,
                     const Raster* crop_relative, const SheetContext& context,
                     const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Low places");
  if (crop_relative != nullptr) {
    RasterDrawing raster = raster_drawing(field, *crop_relative, style_of(resources, "crop"),
                                          "Crop over the median of the field");
    raster.opacity = 0.6;
    sheet.drawings.emplace_back(std::move(raster));
  }
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(low_places(findings, FindingLook::hatched, resources));
  sheet.drawings.emplace_back(emitters_drawing(survey, resources));
  add_finding_notes(sheet, field, findings, references_of(context));
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
