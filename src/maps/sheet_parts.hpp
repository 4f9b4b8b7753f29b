// SPDX-License-Identifier: Apache-2.0
// What the sheets of a survey have in common.
#pragma once

#include <string>
#include <vector>

#include "evendrip/maps/discharge_sheets.hpp"
#include "evendrip/units/quantity.hpp"

namespace evendrip {

inline constexpr const char* beyond_the_ramp =
    "Values beyond the ends of the colour bar take its end colours.";

/// SOURCE_DATE_EPOCH if it is set, else the survey's date: never the time of drawing.
std::string creation_date(const std::string& date);

/// styles/<name>.sld
Style style_of(const MapResources& resources, const std::string& name);
/// Throws InputError "missing_style_rule".
StyleRule rule_named(const Style& style, const std::string& name);

std::vector<MultiPolygon> zone_areas(const Field& field);

ShapesDrawing zone_outlines(const Field& field, const MapResources& resources);

/// A value, and each cell of a raster, in the unit of the field's reports.
double in_report_unit(const Field& field, double canonical, Dimension dimension);
Raster in_report_unit(const Field& field, Raster raster, Dimension dimension);

struct ValueLimits {
  double low = 0;
  double high = 1;
};
/// Middle 98 % of the values, rounded outwards to steps that a person would choose.
ValueLimits value_limits(const Raster& raster);
/// styles/<name>.sld, stretched over the value limits of the raster.
Style stretched_style(const MapResources& resources, const std::string& name, const Raster& raster);

/// Shown within the field's zones.
RasterDrawing raster_drawing(const Field& field, Raster raster, Style style,
                             std::string legend_title);

/// Title, field, date, extent and north of a sheet; nothing drawn yet.
Sheet sheet_of(const Field& field, const Survey& survey, const SheetContext& context,
               const std::string& title);
/// Hazards, method, what is not shown, the further notes, and the caution at the foot.
void add_notes(Sheet& sheet, const Field& field, const Survey& survey, const SheetContext& context);
/// The caution at the foot alone.
void add_caution(Sheet& sheet);
/// Buried lines, zones and hazards.
void add_lines(Sheet& sheet, const Field& field, const MapResources& resources);

/// Hatching over the cells that are Reason::too_uncertain, by styles/no_verdict.sld; nothing if
/// there are none.
void add_no_verdict(Sheet& sheet, const Raster& raster, const MapResources& resources);

enum class FindingLook { hatched, outlined };
ShapesDrawing low_places(const Findings& findings, FindingLook look, const MapResources& resources);

/// Share of the mapped area in each class of a map.
std::vector<std::string> area_shares(const Raster& raster, const ColourMap& map);

/// The dug emitters by their state, without values.
PointsDrawing emitters_drawing(const Survey& survey, const MapResources& resources);

}  // namespace evendrip
