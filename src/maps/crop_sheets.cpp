// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/crop_sheets.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <utility>

#include "sheet_parts.hpp"

namespace evendrip {
namespace {

constexpr std::size_t most_marks = 20'000;  // of a kind: more hide each other and swell the file
constexpr std::size_t most_patch_notes = 8;

constexpr std::array all_steps = {
    SetAside::kept,       SetAside::no_value,  SetAside::pass_end,
    SetAside::narrow_cut, SetAside::speed,     SetAside::impossible_yield,
    SetAside::field_edge, SetAside::same_spot, SetAside::odd_neighbours};

Survey dated(const std::string& date) {
  Survey survey;
  survey.date = date;
  return survey;
}

Sheet begun(const Field& field, const CropSheetContext& context, const std::string& title) {
  SheetContext plain;
  plain.paper = context.paper;
  Sheet sheet = sheet_of(field, dated(context.date), plain, title);
  if (context.date.empty()) {
    sheet.field += context.layer.empty() ? "" : ", " + context.layer;
  } else {
    sheet.occasion = context.layer + " of";
  }
  return sheet;
}

/// Zones, then the notes: what the reader must know, then how the map was made.
void finish(Sheet& sheet, const Field& field, const CropSheetContext& context,
            const MapResources& resources) {
  sheet.drawings.emplace_back(zone_outlines(field, resources));
  sheet.notes.insert(sheet.notes.end(), context.notes.begin(), context.notes.end());
  if (!context.method.empty()) sheet.notes.push_back("Method: " + context.method);
  add_caution(sheet);
}

RasterDrawing classed(const Field& field, const Raster& relative, const std::string& legend,
                      const MapResources& resources) {
  RasterDrawing drawing =
      raster_drawing(field, relative, style_of(resources, "crop_index"), legend);
  if (drawing.style.colour_map) {
    drawing.class_notes = area_shares(relative, *drawing.style.colour_map);
  }
  return drawing;
}

Style error_style(const Raster& raster, const MapResources& resources) {
  return stretched_style(resources, "crop_error", raster);
}

/// Every so many records of a step are drawn, so that no more than `most_marks` are.
std::size_t stride_of(std::size_t records) {
  return std::max(std::size_t{1}, (records + most_marks - 1) / most_marks);
}

void add_records(PointsDrawing& drawing, const HarvestLog& log, const CleanedLog& cleaned,
                 SetAside step, std::size_t stride) {
  std::size_t seen = 0;
  for (std::size_t i = 0; i < log.places.size(); ++i) {
    if (cleaned.step[i] != step || seen++ % stride != 0) continue;
    drawing.points.push_back(log.places[i]);
    drawing.classes.push_back(record_class(step));
  }
}

/// The records kept lie below those set aside.
PointsDrawing records_drawing(const HarvestLog& log, const CleanedLog& cleaned, Sheet& sheet,
                              const MapResources& resources) {
  PointsDrawing drawing;
  drawing.style = style_of(resources, "yield_records");
  for (const SetAside step : all_steps) {
    const auto records =
        static_cast<std::size_t>(std::count(cleaned.step.begin(), cleaned.step.end(), step));
    const std::size_t stride = stride_of(records);
    add_records(drawing, log, cleaned, step, stride);
    if (stride > 1) {
      sheet.notes.push_back(
          fmt::format("Of {} records \"{}\" one in {} is drawn.", records, to_text(step), stride));
    }
  }
  return drawing;
}

/// The words of other patches tell their area.
std::string patch_note(const Field& field, const CropPatch& patch, std::size_t number) {
  if (patch.shape != PatchShape::follows_laterals) return fmt::format("{}: {}", number, patch.told);
  const bool us = field.report_units == UnitSystem::us;
  const double area = from_canonical(patch.area_m2 / 1e4, us ? "ft2" : "m2", Dimension::area);
  return fmt::format("{}: {:.0f} {}2. {}", number, area, us ? "ft" : "m", patch.told);
}

/// Lines so close on the paper would grey the map instead of showing where they lie.
bool laterals_run_together(const Field& field) {
  constexpr double map_width_m = 0.19;  // of the map on the paper
  constexpr double map_height_m = 0.14;
  constexpr double closest_m = 0.0004;
  const Extent extent = field.extent();
  const double scale = std::max(extent.width() / map_width_m, extent.height() / map_height_m);
  double spacing_m = 0;
  for (const Zone& zone : field.zones) spacing_m = std::max(spacing_m, zone.lateral.spacing_m);
  return spacing_m * field.scale_factor < closest_m * scale;
}

ShapesDrawing patches_drawing(const CropScreening& screening, const MapResources& resources) {
  ShapesDrawing drawing;
  drawing.style = style_of(resources, "crop_patches");
  drawing.rim = Rim::white;
  for (std::size_t i = 0; i < screening.patches.size(); ++i) {
    drawing.shapes.push_back(screening.patches[i].area);
    drawing.classes.push_back(patch_class(screening.patches[i].shape));
    drawing.labels.push_back(fmt::format("{}", i + 1));
  }
  return drawing;
}

std::string dates_word(const CropOverDates& joined) {
  return joined.season.empty() ? "seasons" : "dates";
}

std::string dates_note(const CropOverDates& joined) {
  std::string names;
  for (const JoinedDate& date : joined.dates) names += (names.empty() ? "" : ", ") + date.name;
  return (joined.season.empty() ? "Seasons: " : "Dates: ") + names + ".";
}

}  // namespace

std::string record_class(SetAside step) {
  switch (step) {
    case SetAside::kept:
      return "kept";
    case SetAside::no_value:
      return "no_value";
    case SetAside::pass_end:
      return "pass_end";
    case SetAside::narrow_cut:
      return "narrow_cut";
    case SetAside::speed:
      return "speed";
    case SetAside::impossible_yield:
      return "impossible_yield";
    case SetAside::field_edge:
      return "field_edge";
    case SetAside::same_spot:
      return "same_spot";
    case SetAside::odd_neighbours:
      return "odd_neighbours";
  }
  return "kept";
}

std::string association_class(LocalAssociation association) {
  switch (association) {
    case LocalAssociation::both_low:
      return "both_low";
    case LocalAssociation::both_high:
      return "both_high";
    case LocalAssociation::water_low_crop_high:
      return "water_low_crop_high";
    case LocalAssociation::water_high_crop_low:
      return "water_high_crop_low";
    case LocalAssociation::none:
      break;
  }
  return "none";
}

std::string patch_class(PatchShape shape) {
  switch (shape) {
    case PatchShape::follows_laterals:
      return "follows_laterals";
    case PatchShape::follows_zone:
      return "follows_zone";
    case PatchShape::ignores_laterals:
      return "ignores_laterals";
    case PatchShape::not_told:
      break;
  }
  return "not_told";
}

Style yield_error_style(const Raster& standard_error_t_ha, const MapResources& resources) {
  return error_style(standard_error_t_ha, resources);
}

Style crop_value_style(double median, CropSense sense, const MapResources& resources) {
  Style style = style_of(resources, "crop_index");
  if (!style.colour_map) return style;
  std::vector<ColourStop>& stops = style.colour_map->stops;
  std::vector<double> limits;
  limits.reserve(stops.size());
  for (std::size_t i = 1; i < stops.size(); ++i) limits.push_back(stops[i].value);
  for (double& limit : limits)
    limit = sense == CropSense::low_is_bad ? limit * median : median / limit;
  if (sense == CropSense::high_is_bad) {
    std::reverse(limits.begin(), limits.end());
    std::vector<Colour> colours;
    colours.reserve(stops.size());
    for (const ColourStop& stop : stops) colours.push_back(stop.colour);
    for (std::size_t i = 0; i < stops.size(); ++i) stops[i].colour = colours[stops.size() - 1 - i];
  }
  for (std::size_t i = 0; i < stops.size(); ++i) {
    if (i > 0) stops[i].value = limits[i - 1];
    stops[i].label.clear();
  }
  return style;
}

Style stability_variation_style(const Raster& variation, const MapResources& resources) {
  return error_style(variation, resources);
}

Style low_dates_style(const CropOverDates& joined, const MapResources& resources) {
  constexpr int most_classes = 6;  // beside that of none
  const auto dates = static_cast<int>(joined.dates.size());
  const int step = (dates + most_classes - 1) / most_classes;
  const char* at = joined.season.empty() ? "in" : "on";
  Style style = style_of(resources, "crop_error");
  if (!style.colour_map) return style;
  const ColourMap ramp = *style.colour_map;
  ColourMap classes{true,
                    {{-std::numeric_limits<double>::infinity(), ramp.at(0),
                      fmt::format("{} none of {} {}", at, dates, dates_word(joined))}}};
  for (int first = 1; first <= dates; first += step) {
    const int last = std::min(first + step - 1, dates);
    const std::string count =
        first == last ? fmt::format("{}", first) : fmt::format("{} to {}", first, last);
    classes.stops.push_back({first - 0.5, ramp.at(static_cast<double>(last) / dates),
                             last < dates || first < last
                                 ? fmt::format("{} {} of {}", at, count, dates)
                                 : fmt::format("{} all {}", at, dates)});
  }
  style.name = "crop_low_dates";
  style.title = "How often the crop is low";
  style.colour_map = std::move(classes);
  return style;
}

Sheet crop_index_sheet(const Field& field, const Raster& relative, const CropSheetContext& context,
                       const MapResources& resources) {
  Sheet sheet = begun(field, context, "Crop");
  sheet.drawings.emplace_back(
      classed(field, relative, "Crop over the median of the field", resources));
  finish(sheet, field, context, resources);
  return sheet;
}

Sheet water_part_sheet(const Field& field, const Raster& rest, const CropSheetContext& context,
                       const MapResources& resources) {
  Sheet sheet = begun(field, context, "What may belong to water");
  sheet.drawings.emplace_back(
      classed(field, rest, "Crop less what the field explains (1.00: as explained)", resources));
  sheet.notes.emplace_back(
      "Soil that runs along zones or laterals is left in: nobody can tell it from a fault of the "
      "water.");
  finish(sheet, field, context, resources);
  return sheet;
}

Sheet yield_error_sheet(const Field& field, const Raster& standard_error_t_ha,
                        const CropSheetContext& context, const MapResources& resources) {
  Sheet sheet = begun(field, context, "Standard error of the yield");
  const Raster shown = in_report_unit(field, standard_error_t_ha, Dimension::yield);
  sheet.drawings.emplace_back(raster_drawing(
      field, shown, error_style(shown, resources),
      fmt::format("Standard error, {}", report_unit(Dimension::yield, field.report_units))));
  sheet.notes.emplace_back(beyond_the_ramp);
  finish(sheet, field, context, resources);
  return sheet;
}

Sheet cleaning_sheet(const Field& field, const HarvestLog& log, const CleanedLog& cleaned,
                     const CropSheetContext& context, const MapResources& resources) {
  Sheet sheet = begun(field, context, "Yield records and what set them aside");
  PointsDrawing records = records_drawing(log, cleaned, sheet, resources);
  finish(sheet, field, context, resources);
  // Where records lie close there is no room for names.
  std::get<ShapesDrawing>(sheet.drawings.back()).labels.clear();
  sheet.drawings.emplace_back(std::move(records));
  return sheet;
}

Sheet look_first_sheet(const Field& field, const Raster& relative, const CropScreening& screening,
                       const CropSheetContext& context, const MapResources& resources) {
  Sheet sheet = begun(field, context, "Where to look first");
  RasterDrawing raster = raster_drawing(field, relative, style_of(resources, "crop"),
                                        "Crop over the median of the field");
  raster.opacity = 0.7;
  sheet.drawings.emplace_back(std::move(raster));
  add_lines(sheet, field, resources);
  if (laterals_run_together(field)) {
    std::get<LinesDrawing>(sheet.drawings[1]).lines.clear();
    sheet.notes.emplace_back("Laterals lie too close on this paper to be drawn.");
  }
  sheet.drawings.emplace_back(patches_drawing(screening, resources));
  if (screening.patches.empty()) {
    sheet.notes.emplace_back("No place is lower than chance would make it.");
  }
  const std::size_t told = std::min(most_patch_notes, screening.patches.size());
  for (std::size_t i = 0; i < told; ++i) {
    sheet.notes.push_back(patch_note(field, screening.patches[i], i + 1));
  }
  if (screening.patches.size() > told) {
    sheet.notes.push_back(
        fmt::format("and {} more, in the tables", screening.patches.size() - told));
  }
  sheet.notes.emplace_back(
      "The crop tells where to look, not what is wrong: dig, gauge or scout before deciding.");
  SheetContext notes;
  notes.method = context.method;
  notes.further = context.notes;
  add_notes(sheet, field, dated(context.date), notes);
  return sheet;
}

Sheet association_sheet(const Field& field, const Raster& relative, const CropAtEmitters& emitters,
                        const CropSheetContext& context, const MapResources& resources) {
  Sheet sheet = begun(field, context, "Crop beside discharge");
  RasterDrawing raster = raster_drawing(field, relative, style_of(resources, "crop"),
                                        "Crop over the median of the field");
  sheet.drawings.emplace_back(std::move(raster));
  PointsDrawing points;
  points.style = style_of(resources, "local_association");
  points.points = emitters.places;
  for (const LocalAssociation local : emitters.local) {
    points.classes.push_back(association_class(local));
  }
  sheet.notes.push_back(emitters.verdict);
  finish(sheet, field, context, resources);
  sheet.drawings.emplace_back(std::move(points));
  return sheet;
}

Sheet stability_level_sheet(const Field& field, const CropOverDates& joined, const Raster& level,
                            const CropSheetContext& context, const MapResources& resources) {
  Sheet sheet = begun(field, context, "Crop over the " + dates_word(joined));
  sheet.drawings.emplace_back(classed(
      field, level,
      fmt::format("Mean of {} {}, each over its median", joined.dates.size(), dates_word(joined)),
      resources));
  sheet.notes.push_back(dates_note(joined));
  finish(sheet, field, context, resources);
  return sheet;
}

Sheet stability_variation_sheet(const Field& field, const CropOverDates& joined,
                                const Raster& variation, const CropSheetContext& context,
                                const MapResources& resources) {
  Sheet sheet =
      begun(field, context,
            joined.season.empty() ? "Change from season to season" : "Change from date to date");
  sheet.drawings.emplace_back(
      raster_drawing(field, variation, error_style(variation, resources),
                     fmt::format("Standard deviation of {} {} (0.1 = 10 % of the median)",
                                 joined.dates.size(), dates_word(joined))));
  sheet.notes.emplace_back(beyond_the_ramp);
  sheet.notes.push_back(dates_note(joined));
  finish(sheet, field, context, resources);
  return sheet;
}

Sheet low_dates_sheet(const Field& field, const CropOverDates& joined, const Raster& low_dates,
                      const CropSheetContext& context, const MapResources& resources) {
  Sheet sheet = begun(field, context, "How often the crop is low");
  RasterDrawing drawing = raster_drawing(
      field, low_dates, low_dates_style(joined, resources),
      fmt::format("Below {:.0f} % of the median", 100 * field.thresholds.crop_low_below));
  if (drawing.style.colour_map)
    drawing.class_notes = area_shares(low_dates, *drawing.style.colour_map);
  sheet.drawings.emplace_back(std::move(drawing));
  sheet.notes.push_back(dates_note(joined));
  sheet.notes.push_back(fmt::format(
      "What is low on every {} is steady, not therefore dry: its soil and stand are the "
      "same too.",
      joined.season.empty() ? "season" : "date"));
  finish(sheet, field, context, resources);
  return sheet;
}

}  // namespace evendrip
