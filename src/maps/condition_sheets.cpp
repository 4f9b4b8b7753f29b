// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/condition_sheets.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "evendrip/crs/outlines.hpp"
#include "evendrip/maps/uncertainty_sheets.hpp"
#include "sheet_parts.hpp"

namespace evendrip {
namespace {

constexpr std::size_t most_fault_notes = 6;

/// Cells whose class is not 0, as one shape; empty if there are none.
template <class ClassOf>
MultiPolygon ground_where(const Raster& raster, const ClassOf& is_there) {
  const auto classes = [&](const Window& window) {
    std::vector<std::uint8_t> out;
    out.reserve(window.cells());
    for (int r = window.row; r < window.row + window.rows; ++r)
      for (int c = window.column; c < window.column + window.columns; ++c)
        out.push_back(is_there(raster.grid.index(r, c)) ? 1 : 0);
    return out;
  };
  MultiPolygon ground;
  for (Patch& patch : polygonise(raster.grid, classes, {}))
    ground.push_back(std::move(patch.outline));
  return ground;
}

/// Crosswise hatching over ground in zones for which there was too little to judge it.
void add_not_judged(Sheet& sheet, const Raster& raster, const MapResources& resources) {
  MultiPolygon ground = ground_where(
      raster, [&raster](std::size_t i) { return raster.reasons[i] == Reason::too_few; });
  if (ground.empty()) return;
  ShapesDrawing drawing;
  drawing.style = style_of(resources, "not_judged");
  drawing.counted = Counted::no;
  drawing.shapes = {std::move(ground)};
  drawing.classes = {"not_judged"};
  sheet.drawings.emplace_back(std::move(drawing));
}

/// Where a verdict is possible. `title`: of the outlines in the legend.
void add_outlines(Sheet& sheet, const Raster& probability, const std::string& title,
                  const MapResources& resources) {
  ShapesDrawing drawing;
  drawing.style = style_of(resources, "probability_outlines");
  drawing.style.title = title;
  drawing.counted = Counted::no;
  drawing.rim = Rim::white;
  const auto add = [&](float limit, const char* name) {
    MultiPolygon ground = ground_where(probability, [&probability, limit](std::size_t i) {
      return probability.reasons[i] == Reason::value && probability.values[i] > limit;
    });
    if (ground.empty()) return;
    drawing.shapes.push_back(std::move(ground));
    drawing.classes.emplace_back(name);
  };
  add(0.5F, "over_half");
  add(0.8F, "over_four_fifths");
  if (!drawing.shapes.empty()) sheet.drawings.emplace_back(std::move(drawing));
}

void add_faults(Sheet& sheet, const std::vector<FaultMark>& faults, const MapResources& resources) {
  if (faults.empty()) return;
  PointsDrawing drawing;
  drawing.style = style_of(resources, "network_faults");
  for (const FaultMark& fault : faults) {
    drawing.points.push_back(fault.place);
    drawing.classes.push_back(to_text(fault.kind));
    drawing.labels.push_back(fault.name);
  }
  sheet.drawings.emplace_back(std::move(drawing));
  for (std::size_t i = 0; i < std::min(most_fault_notes, faults.size()); ++i)
    sheet.notes.push_back(faults[i].name + ": " + faults[i].told);
  if (faults.size() > most_fault_notes)
    sheet.notes.push_back(
        fmt::format("and {} more faults, in the tables", faults.size() - most_fault_notes));
}

/// Holes as one mark: their states are on the sheets of the survey, and the marks of faults must
/// stand out.
PointsDrawing holes_drawing(const Survey& survey, const MapResources& resources) {
  PointsDrawing drawing;
  drawing.style = style_of(resources, "emitters");
  StyleRule rule = rule_named(drawing.style, "runs");
  rule.title = "dug emitter";
  drawing.style.title.clear();
  drawing.style.rules = {rule};
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (!emitter.usable() || emitter.placement == Placement::outside ||
        emitter.placement == Placement::ambiguous)
      continue;
    drawing.points.push_back(emitter.site.place);
    drawing.classes.push_back(rule.equals);
  }
  return drawing;
}

/// How far the 90 % limits lie apart: the middle of the map, and its widest twentieth.
std::string limits_note(const Raster& lower, const Raster& upper) {
  std::vector<float> widths;
  for (std::size_t i = 0; i < lower.values.size(); ++i)
    if (lower.has_value(i) && upper.has_value(i))
      widths.push_back((upper.values[i] - lower.values[i]) / 2);
  if (widths.empty()) return "";
  std::sort(widths.begin(), widths.end());
  const auto at = [&widths](double share) {
    return static_cast<double>(
        widths[static_cast<std::size_t>(share * static_cast<double>(widths.size() - 1))]);
  };
  return fmt::format(
      "90 % limits of what neighbouring emitters share: {:.2f} to either side on half of the "
      "ground, {:.2f} or more on its least sure twentieth.",
      at(0.5), at(0.95));
}

void add_limits_note(Sheet& sheet, const Raster& lower, const Raster& upper) {
  if (std::string note = limits_note(lower, upper); !note.empty())
    sheet.notes.push_back(std::move(note));
}

RasterDrawing classed(const Field& field, const Raster& raster, const std::string& style,
                      const std::string& legend, const MapResources& resources) {
  RasterDrawing drawing = raster_drawing(field, raster, style_of(resources, style), legend);
  if (drawing.style.colour_map)
    drawing.class_notes = area_shares(raster, *drawing.style.colour_map);
  drawing.missing_told = false;  // by hatching
  return drawing;
}

/// Hatching, buried lines and emitters over a raster.
void add_ground(Sheet& sheet, const Field& field, const Raster& raster,
                const MapResources& resources) {
  add_no_verdict(sheet, raster, resources);
  add_not_judged(sheet, raster, resources);
  add_lines(sheet, field, resources);
}

std::string panel_title(const std::string& name, double share) {
  return share < 0 ? name : fmt::format("{}\n{:.0f} % of the crop's variance", name, 100 * share);
}

Panel part_panel(const Field& field, const Raster& raster, const std::string& title,
                 const std::string& legend, const MapResources& resources) {
  Panel panel{title, {}};
  RasterDrawing part = raster_drawing(field, raster, style_of(resources, "condition_part"), legend);
  part.missing_told = false;
  panel.drawings.emplace_back(std::move(part));
  Sheet hatched;
  add_not_judged(hatched, raster, resources);
  for (Drawing& drawing : hatched.drawings) panel.drawings.push_back(std::move(drawing));
  return panel;
}

}  // namespace

Sheet delivery_sheet(const Field& field, const Survey& survey, const Raster& delivery,
                     const Raster& probability_low, const Raster& lower_90, const Raster& upper_90,
                     const std::vector<FaultMark>& faults, const SheetContext& context,
                     const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Delivery: what plants get");
  sheet.drawings.emplace_back(
      classed(field, delivery, "relative_discharge", relative_legend(context), resources));
  add_ground(sheet, field, delivery, resources);
  add_outlines(sheet, probability_low,
               fmt::format("Emitters below {:.2f}", field.thresholds.low_below), resources);
  sheet.drawings.emplace_back(holes_drawing(survey, resources));
  add_faults(sheet, faults, resources);
  add_limits_note(sheet, lower_90, upper_90);
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet performance_sheet(const Field& field, const Survey& survey, const Raster& performance,
                        const Raster& probability_clogged, const Raster& lower_90,
                        const Raster& upper_90, const SheetContext& context,
                        const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Performance of the emitters");
  sheet.drawings.emplace_back(classed(field, performance, "relative_discharge",
                                      "Of a clean emitter at its own pressure", resources));
  add_ground(sheet, field, performance, resources);
  add_outlines(sheet, probability_clogged,
               fmt::format("Emitters below {:.2f}", field.thresholds.clogged_below), resources);
  sheet.drawings.emplace_back(holes_drawing(survey, resources));
  sheet.notes.emplace_back(
      "Clogging and wear alone: what low pressure or faults of pipes take away is on the sheet of "
      "delivery.");
  add_limits_note(sheet, lower_90, upper_90);
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet delivery_error_sheet(const Field& field, const Survey& survey, const Raster& standard_error,
                           const SheetContext& context, const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Standard error of delivery");
  RasterDrawing raster = raster_drawing(field, standard_error,
                                        relative_discharge_error_style(standard_error, resources),
                                        "Standard error, delivery (0.1 = 10 % of the reference)");
  raster.missing_told = false;
  sheet.drawings.emplace_back(std::move(raster));
  add_not_judged(sheet, standard_error, resources);
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(holes_drawing(survey, resources));
  sheet.notes.emplace_back(beyond_the_ramp);
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet emitter_probability_sheet(const Field& field, const Survey& survey, const Raster& probability,
                                const std::string& what, double threshold,
                                const SheetContext& context, const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context,
                         fmt::format("Probability of {} below {:.2f}", what, threshold));
  sheet.drawings.emplace_back(classed(field, probability, "probability_low",
                                      "Probability, of a single emitter", resources));
  add_ground(sheet, field, probability, resources);
  sheet.drawings.emplace_back(holes_drawing(survey, resources));
  sheet.notes.emplace_back(
      "Of any one emitter there: its own spread and the share of plugged ones are in it.");
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet parts_sheet(const Field& field, const Survey& survey, const std::vector<PartMap>& parts,
                  const SheetContext& context, const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "What the condition is made of");
  const bool any_of_crop =
      std::any_of(parts.begin(), parts.end(), [](const PartMap& part) { return part.of_crop; });
  const std::string legend = any_of_crop ? "Change, of a clean emitter's discharge (crop: "
                                           "of its median)"
                                         : "Change, of a clean emitter's discharge";
  for (const PartMap& part : parts)
    sheet.panels.push_back(
        part_panel(field, part.raster, panel_title(part.name, part.share), legend, resources));
  ShapesDrawing zones = zone_outlines(field, resources);
  // Names alone: the panels are small.
  for (std::size_t z = 0; z < field.zones.size(); ++z) zones.labels[z] = field.zones[z].id;
  sheet.drawings.emplace_back(std::move(zones));
  sheet.notes.emplace_back(
      "Water follows stations, laterals and groups of laterals; soil does not. The parts of a "
      "place, with the level of its zone, add up to its performance; faults in the pipes change "
      "its delivery.");
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet water_shaped_crop_sheet(const Field& field, const Survey& survey, const Raster& relative_crop,
                              const std::vector<FaultMark>& faults, const SheetContext& context,
                              const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Crop that follows laterals, not verified");
  sheet.drawings.emplace_back(classed(field, relative_crop, "crop_index",
                                      "Crop over its median, as far as it follows laterals",
                                      resources));
  add_not_judged(sheet, relative_crop, resources);
  add_lines(sheet, field, resources);
  add_faults(sheet, faults, resources);
  sheet.notes.emplace_back(
      "Crop and gauges only, not verified: no hole was dug. Where the crop is low along laterals, "
      "water may be the cause; whether emitters are clogged is not known. Dig or gauge there "
      "first. Zones that were judged by holes are left white.");
  add_notes(sheet, field, survey, context);
  return sheet;
}

}  // namespace evendrip
