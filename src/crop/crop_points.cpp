// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/crop_points.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <cstddef>
#include <initializer_list>
#include <limits>
#include <optional>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "evendrip/io/csv.hpp"
#include "evendrip/io/raster_file.hpp"
#include "evendrip/io/vector.hpp"

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();
constexpr double kg_per_m2_to_t_per_ha = 10;

std::string ending_of(const FileRef& file) {
  std::string ending = file.path.extension().string();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return ending;
}

bool is_table(const FileRef& file) {
  const std::string ending = ending_of(file);
  return ending == ".csv" || ending == ".txt" || ending == ".tsv";
}

/// Rows of a table or features of a layer, with their places in field coordinates.
struct Rows {
  Table table;
  std::vector<std::optional<Point>> places;
};

Place place_of(const Table& table, std::size_t row, std::string column) {
  return {table.file, "", table.lines[row], std::move(column)};
}

Doubt bad_value(const Table& table, std::size_t row, const std::string& column,
                const std::string& found, const std::string& expected,
                const std::string& remedy = "") {
  return {"bad_value",
          Severity::problem,
          place_of(table, row, column),
          "the value cannot be used",
          found,
          expected,
          remedy};
}

/// First of the headings that the table has.
std::string heading_among(const Table& table, std::initializer_list<const char*> headings) {
  for (const char* heading : headings) {
    if (table.column(heading) >= 0) return heading;
  }
  return "";
}

struct PlaceColumns {
  NumberColumn x;
  NumberColumn y;
  bool lonlat = true;
};

PlaceColumns place_columns(const Table& table, Doubts& problems) {
  const std::string lon = heading_among(table, {"lon", "longitude", "long", "lng"});
  const std::string lat = heading_among(table, {"lat", "latitude"});
  if (!lon.empty() && !lat.empty()) {
    return {plain_number_column(table, lon, problems), plain_number_column(table, lat, problems),
            true};
  }
  const std::string x = heading_among(table, {"x", "easting"});
  const std::string y = heading_among(table, {"y", "northing"});
  if (x.empty() || y.empty()) {
    throw InputError::missing_column(table.file, "lat and lon, or x and y");
  }
  return {plain_number_column(table, x, problems), plain_number_column(table, y, problems), false};
}

bool place_is_sound(const Table& table, std::size_t row, const PlaceColumns& columns,
                    Doubts& problems) {
  const double x = columns.x.values[row];
  const double y = columns.y.values[row];
  if (!columns.lonlat) return true;
  if (std::abs(y) > 90) {
    problems.push_back(bad_value(table, row, columns.y.heading, fmt::format("{}", y),
                                 "a latitude from -90 to 90",
                                 std::abs(x) <= 90 ? "Are lat and lon swapped?" : ""));
    return false;
  }
  if (std::abs(x) > 180) {
    problems.push_back(bad_value(table, row, columns.x.heading, fmt::format("{}", x),
                                 "a longitude from -180 to 180"));
    return false;
  }
  return true;
}

std::vector<std::optional<Point>> places_in_table(const Field& field, const Table& table,
                                                  Doubts& problems) {
  const PlaceColumns columns = place_columns(table, problems);
  const Crs& stated = field.stated_crs.known() ? field.stated_crs : field.crs;
  const Transform to_field(columns.lonlat ? wgs84() : stated, field.crs);
  std::vector<std::optional<Point>> places(table.rows());
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const Point p{columns.x.values[row], columns.y.values[row]};
    if (std::isnan(p.x) || std::isnan(p.y)) continue;
    if (!place_is_sound(table, row, columns, problems)) continue;
    try {
      places[row] = to_field(p);
    } catch (const InputError&) {
      problems.push_back(bad_value(table, row, columns.x.heading, fmt::format("{} {}", p.x, p.y),
                                   "a place near the field"));
    }
  }
  return places;
}

std::string our_heading(const Field& field, const std::string& theirs) {
  for (const auto& [other, ours] : field.columns) {
    std::string lower = other;
    std::transform(lower.begin(), lower.end(), lower.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    if (lower == theirs) return ours;
  }
  return theirs;
}

/// A layer's attributes as a table, so that both are judged by the same rules.
Table table_of(const Field& field, const VectorLayer& layer) {
  Table table;
  table.file = layer.file;
  std::vector<std::string> names;
  for (std::string name : layer.fields) {
    std::transform(name.begin(), name.end(), name.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    table.headings.push_back(our_heading(field, name));
    names.push_back(std::move(name));
  }
  for (const Feature& feature : layer.features) {
    table.lines.push_back(feature.number);
    for (const std::string& name : names) table.cells.push_back(feature.attribute(name));
  }
  return table;
}

Rows rows_of(const Field& field, const CropSource& source, Doubts& doubts, Doubts& problems) {
  Rows rows;
  if (is_table(source.file)) {
    rows.table = read_csv(source.file.path, source.file.as_written, field.columns);
    doubts = rows.table.doubts;
    rows.places = places_in_table(field, rows.table, problems);
    return rows;
  }
  const std::optional<Crs> assumed =
      field.stated_crs.known() ? std::optional<Crs>(field.stated_crs) : std::nullopt;
  const VectorLayer layer = in_crs(read_vector(source.file), field.crs, assumed, doubts);
  rows.table = table_of(field, layer);
  for (const Feature& feature : layer.features) {
    if (feature.points.empty()) {
      problems.push_back(bad_value(rows.table, rows.places.size(), "geometry", "", "a point"));
    }
    rows.places.push_back(feature.points.empty() ? std::nullopt
                                                 : std::optional<Point>(feature.points.front()));
  }
  return rows;
}

/// Adds a problem for each value outside the range.
void require_range(const Table& table, const NumberColumn& column, double lowest, double highest,
                   const std::string& expected, Doubts& problems) {
  for (std::size_t row = 0; row < column.values.size(); ++row) {
    const double value = column.values[row];
    if (std::isnan(value) || (value >= lowest && value <= highest)) continue;
    problems.push_back(bad_value(table, row, column.heading,
                                 table.cell(row, static_cast<std::size_t>(column.column)),
                                 expected));
  }
}

/// Mass flow in kg/s.
NumberColumn mass_flow(const Table& table, Doubts& problems) {
  NumberColumn flow = plain_number_column(table, "mass_flow_kg_s", problems);
  if (flow.column >= 0) return flow;
  flow = plain_number_column(table, "mass_flow_lb_s", problems);
  const double kg_per_lb = to_canonical(1, "lb", Dimension::mass) / 1000;
  for (double& value : flow.values) value *= kg_per_lb;
  return flow;
}

struct RawLog {
  NumberColumn flow_kg_s;
  NumberColumn duration_s;
  NumberColumn distance_m;
  NumberColumn swath_m;
  NumberColumn moisture_frac;
};

RawLog raw_log(const Table& table, Doubts& problems) {
  constexpr double unlimited = std::numeric_limits<double>::infinity();
  RawLog log;
  log.flow_kg_s = mass_flow(table, problems);
  log.duration_s = number_column(table, "duration", Dimension::time, problems);
  log.distance_m = number_column(table, "distance", Dimension::length, problems);
  log.swath_m = number_column(table, "swath", Dimension::length, problems);
  log.moisture_frac = number_column(table, "moisture", Dimension::fraction, problems);
  const std::array<std::pair<const NumberColumn*, const char*>, 4> needed = {
      {{&log.flow_kg_s, "mass_flow_kg_s"},
       {&log.duration_s, "duration_s"},
       {&log.distance_m, "distance_m"},
       {&log.swath_m, "swath_m"}}};
  for (const auto& [column, heading] : needed) {
    if (column->column < 0) {
      throw InputError::missing_column(
          table.file, fmt::format("{} (or yield_t_ha instead of the raw log)", heading));
    }
    require_range(table, *column, 0, unlimited, "a number not below 0", problems);
  }
  if (log.moisture_frac.column >= 0) {
    require_range(table, log.moisture_frac, 0, 0.999, "moisture from 0 to below 100 %", problems);
  }
  return log;
}

/// t/ha at the stated moisture; NaN where there is no harvested area or a cell is empty.
std::vector<double> yields_of(const RawLog& log, double basis_frac) {
  std::vector<double> yields(log.flow_kg_s.values.size(), no_number);
  for (std::size_t row = 0; row < yields.size(); ++row) {
    const double area_m2 = log.distance_m.values[row] * log.swath_m.values[row];
    if (!(area_m2 > 0)) continue;
    const double mass_kg = log.flow_kg_s.values[row] * log.duration_s.values[row];
    const double dry_share =
        log.moisture_frac.column < 0 ? 1 : (1 - log.moisture_frac.values[row]) / (1 - basis_frac);
    yields[row] = kg_per_m2_to_t_per_ha * mass_kg * dry_share / area_m2;
  }
  return yields;
}

double median_above_zero(std::vector<double> values) {
  std::erase_if(values, [](double v) { return !(v > 0); });
  return median_in_place(values);
}

/// Values of every row with their unit and how they came about.
struct RowValues {
  std::vector<double> values;
  std::string unit;
  std::string method_text;
  double swath_m = 0;
};

RowValues yield_from_log(const CropSource& source, const Table& table, Doubts& doubts,
                         Doubts& problems) {
  const RawLog log = raw_log(table, problems);
  RowValues rows;
  rows.values = yields_of(log, source.moisture_basis_frac);
  rows.unit = "t/ha";
  rows.swath_m = median_above_zero(log.swath_m.values);
  if (log.moisture_frac.column < 0) {
    doubts.push_back({"moisture_not_stated",
                      Severity::doubt,
                      {table.file, "", 0, "moisture_pct"},
                      "the log has no moisture: yield is as harvested",
                      "",
                      "",
                      "Add moisture_pct if the moisture varied over the field"});
    rows.method_text = "yield from mass flow, duration, distance and swath, as harvested";
  } else if (source.moisture_basis_frac > 0) {
    rows.method_text =
        fmt::format("yield from mass flow, duration, distance and swath, at {:.4g} % moisture",
                    100 * source.moisture_basis_frac);
  } else {
    rows.method_text = "yield from mass flow, duration, distance and swath, as dry matter";
  }
  return rows;
}

RowValues row_values(const CropSource& source, const Table& table, Doubts& doubts,
                     Doubts& problems) {
  RowValues rows;
  NumberColumn column;
  if (source.kind == "canopy_temperature") {
    column = number_column(table, "canopy_temperature", Dimension::temperature, problems);
    rows = {column.values, "C", "canopy temperature at points", 0};
    if (column.column < 0) throw InputError::missing_column(table.file, "canopy_temperature_c");
  } else if (source.kind == "biomass") {
    column = plain_number_column(table, "biomass", problems);
    rows = {column.values, "", "biomass index at points", 0};
    if (column.column < 0) throw InputError::missing_column(table.file, "biomass");
  } else {
    column = number_column(table, "yield", Dimension::yield, problems);
    if (column.column < 0) return yield_from_log(source, table, doubts, problems);
    rows = {column.values, "t/ha", "yield as logged", 0};
    require_range(table, column, 0, std::numeric_limits<double>::infinity(), "a yield not below 0",
                  problems);
    rows.swath_m =
        median_above_zero(number_column(table, "swath", Dimension::length, problems).values);
  }
  return rows;
}

void tell_set_aside(CropPoints& points, const Table& table, std::size_t first_line) {
  if (points.set_aside == 0) return;
  points.doubts.push_back(
      {"rows_set_aside",
       Severity::doubt,
       {table.file, "", first_line, ""},
       fmt::format("{} of {} rows, this one first, have no place, no value or no harvested area; "
                   "they are set aside",
                   points.set_aside, table.rows()),
       "",
       "",
       ""});
}

}  // namespace

bool is_point_file(const CropSource& source) {
  if (is_table(source.file)) return true;
  static constexpr std::array<std::string_view, 10> vector_endings = {
      ".geojson", ".json", ".shp", ".gpx", ".kml", ".kmz", ".fgb", ".gml", ".tab", ".mif"};
  const std::string ending = ending_of(source.file);
  if (std::find(vector_endings.begin(), vector_endings.end(), ending) != vector_endings.end()) {
    return true;
  }
  if (ending != ".gpkg" && ending != ".sqlite") return false;
  try {
    raster_info(source.file);
    return false;
  } catch (const Error&) {
    return true;
  }
}

CropPoints read_crop_points(const Field& field, const CropSource& source) {
  CropPoints points;
  Doubts problems;
  const Rows rows = rows_of(field, source, points.doubts, problems);
  const RowValues values = row_values(source, rows.table, points.doubts, problems);
  problems.insert(problems.end(), points.doubts.begin(), points.doubts.end());
  throw_if_problem(problems);
  points.unit = values.unit;
  points.method_text = values.method_text;
  points.swath_m = values.swath_m;
  std::size_t first_set_aside = 0;
  for (std::size_t row = 0; row < rows.table.rows(); ++row) {
    const std::optional<Point>& place = rows.places[row];
    if (place && std::isfinite(values.values[row])) {
      points.places.push_back(*place);
      points.values.push_back(values.values[row]);
    } else if (points.set_aside++ == 0) {
      first_set_aside = rows.table.lines[row];
    }
  }
  tell_set_aside(points, rows.table, first_set_aside);
  return points;
}

}  // namespace evendrip
