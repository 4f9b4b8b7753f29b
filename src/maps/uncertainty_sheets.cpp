// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/uncertainty_sheets.hpp"

#include "sheet_parts.hpp"

#include <fmt/format.h>

#include <utility>

namespace evendrip {

Style relative_discharge_error_style(const Raster& standard_error, const MapResources& resources) {
  return stretched_style(resources, "relative_discharge_error", standard_error);
}

Sheet relative_discharge_error_sheet(const Field& field, const Survey& survey,
                                     const Raster& standard_error, const Findings& findings,
                                     const SheetContext& context, const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context, "Standard error of relative discharge");
  sheet.drawings.emplace_back(raster_drawing(
      field, standard_error, relative_discharge_error_style(standard_error, resources),
      "Standard error, relative discharge (0.1 = 10 % of the reference)"));
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(low_places(findings, FindingLook::outlined, resources));
  sheet.drawings.emplace_back(emitters_drawing(survey, resources));
  sheet.notes.emplace_back(
      "What neighbouring emitters share lies within one standard error of the map about two times "
      "in three, within two about nineteen times in twenty; single emitters differ by more.");
  sheet.notes.emplace_back(beyond_the_ramp);
  add_notes(sheet, field, survey, context);
  return sheet;
}

Sheet probability_sheet(const Field& field, const Survey& survey, const Raster& probability,
                        double threshold, const SheetContext& context,
                        const MapResources& resources) {
  Sheet sheet = sheet_of(field, survey, context,
                         fmt::format("Probability of relative discharge below {:.2f}", threshold));
  RasterDrawing raster =
      raster_drawing(field, probability, style_of(resources, "probability_low"),
                     fmt::format("Probability of being below {:.2f}", threshold));
  if (raster.style.colour_map)
    raster.class_notes = area_shares(probability, *raster.style.colour_map);
  sheet.drawings.emplace_back(std::move(raster));
  add_no_verdict(sheet, probability, resources);
  add_lines(sheet, field, resources);
  sheet.drawings.emplace_back(emitters_drawing(survey, resources));
  sheet.notes.emplace_back(
      "Of what neighbouring emitters share: single ones may be plugged where the probability is "
      "small.");
  add_notes(sheet, field, survey, context);
  return sheet;
}

}  // namespace evendrip
