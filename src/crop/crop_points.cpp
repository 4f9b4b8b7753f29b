// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/crop_points.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "evendrip/crop/harvest_log.hpp"
#include "evendrip/io/raster_file.hpp"
#include "evendrip/io/task_data.hpp"
#include "median_above_zero.hpp"
#include "point_rows.hpp"

namespace evendrip {
namespace {

/// Points as they come, those without a value too.
CropPoints points_of_log(const Field& field, const CropSource& source, std::size_t& first) {
  HarvestLog log = read_harvest_log(field, source);
  CropPoints points;
  points.unit = "t/ha";
  points.swath_m = median_above_zero(std::move(log.swath_m));
  points.method_text = std::move(log.method_text);
  points.doubts = std::move(log.doubts);
  points.set_aside = log.set_aside;
  first = log.first_set_aside;
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (std::isfinite(log.yield_t_ha[i])) {
      points.places.push_back(log.places[i]);
      points.values.push_back(log.yield_t_ha[i]);
      continue;
    }
    ++points.set_aside;
    if (first == 0 || log.lines[i] < first) first = log.lines[i];
  }
  return points;
}

NumberColumn value_column(const CropSource& source, const Table& table, Doubts& problems) {
  const bool temperature = source.kind == "canopy_temperature";
  NumberColumn column =
      temperature ? number_column(table, "canopy_temperature", Dimension::temperature, problems)
                  : plain_number_column(table, "biomass", problems);
  if (column.column < 0) {
    throw InputError::missing_column(table.file, temperature ? "canopy_temperature_c" : "biomass");
  }
  return column;
}

CropPoints points_of_rows(const Field& field, const CropSource& source, std::size_t& first) {
  CropPoints points;
  Doubts problems;
  const PointRows rows = point_rows(field, source, points.doubts, problems);
  const NumberColumn column = value_column(source, rows.table, problems);
  problems.insert(problems.end(), points.doubts.begin(), points.doubts.end());
  throw_if_problem(problems);
  const bool temperature = source.kind == "canopy_temperature";
  points.unit = temperature ? "C" : "";
  points.method_text = temperature ? "canopy temperature at points" : "biomass index at points";
  for (std::size_t row = 0; row < rows.table.rows(); ++row) {
    if (rows.has_place(row) && std::isfinite(column.values[row])) {
      points.places.push_back(rows.places[row]);
      points.values.push_back(column.values[row]);
    } else if (points.set_aside++ == 0) {
      first = rows.table.lines[row];
    }
  }
  return points;
}

void tell_set_aside(CropPoints& points, const std::string& file, std::size_t first_line) {
  if (points.set_aside == 0) return;
  points.doubts.push_back(
      {"rows_set_aside",
       Severity::doubt,
       {file, "", first_line, ""},
       fmt::format("{} of {} rows, this one first, have no place, no value or no harvested area; "
                   "they are set aside",
                   points.set_aside, points.set_aside + points.values.size()),
       "",
       "",
       ""});
}

}  // namespace

bool is_point_file(const CropSource& source) {
  if (is_text_table(source.file)) return true;
  static constexpr std::array<std::string_view, 10> vector_endings = {
      ".geojson", ".json", ".shp", ".gpx", ".kml", ".kmz", ".fgb", ".gml", ".tab", ".mif"};
  const std::string ending = ending_of(source.file);
  if (std::find(vector_endings.begin(), vector_endings.end(), ending) != vector_endings.end()) {
    return true;
  }
  if (source.kind == "yield" && is_task_data(source.file)) return true;
  if (ending != ".gpkg" && ending != ".sqlite") return false;
  try {
    raster_info(source.file);
    return false;
  } catch (const Error&) {
    return true;
  }
}

CropPoints read_crop_points(const Field& field, const CropSource& source) {
  std::size_t first_set_aside = 0;
  CropPoints points = source.kind == "yield" ? points_of_log(field, source, first_set_aside)
                                             : points_of_rows(field, source, first_set_aside);
  tell_set_aside(points, source.file.as_written, first_set_aside);
  return points;
}

}  // namespace evendrip
