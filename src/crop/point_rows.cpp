// SPDX-License-Identifier: Apache-2.0
#include "point_rows.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "evendrip/io/vector.hpp"

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();
constexpr Point no_place = {no_number, no_number};

bool is_place(Point p) {
  return std::isfinite(p.x) && std::isfinite(p.y);
}

/// Places as the file has them, one to a row.
struct RawPlaces {
  std::vector<Point> points;
  std::string x_heading;
  std::string y_heading;
};

// A wrong column makes a problem of every row: a million of them need not be told one by one.
constexpr std::size_t most_told = 1000;

void tell_more(const Table& table, const std::string& column, std::size_t bad, Doubts& problems) {
  if (bad <= most_told) return;
  problems.push_back({"bad_value",
                      Severity::problem,
                      {table.file, "", 0, column},
                      fmt::format("{} more values of this column cannot be used", bad - most_told),
                      "",
                      "",
                      "Check that this is the right column"});
}

bool lonlat_is_sound(const Table& table, std::size_t row, const RawPlaces& raw, Doubts& problems) {
  const Point p = raw.points[row];
  if (std::abs(p.y) > 90) {
    problems.push_back(bad_value(table, row, raw.y_heading, fmt::format("{}", p.y),
                                 "a latitude from -90 to 90",
                                 std::abs(p.x) <= 90 ? "Are lat and lon swapped?" : ""));
    return false;
  }
  if (std::abs(p.x) > 180) {
    problems.push_back(bad_value(table, row, raw.x_heading, fmt::format("{}", p.x),
                                 "a longitude from -180 to 180"));
    return false;
  }
  return true;
}

/// One way in which coordinates go astray.
struct Astray {
  const char* code;
  const char* what;
  Point (*mended)(Point lonlat);
};

constexpr std::array<Astray, 4> ways_astray = {{
    {"wrong_hemisphere", "the latitude had the other sign",
     [](Point p) {
       return Point{p.x, -p.y};
     }},
    {"wrong_hemisphere", "the longitude had the other sign",
     [](Point p) {
       return Point{-p.x, p.y};
     }},
    {"wrong_hemisphere", "latitude and longitude had the other sign",
     [](Point p) {
       return Point{-p.x, -p.y};
     }},
    {"swapped_lat_lon", "latitude and longitude were swapped",
     [](Point p) {
       return Point{p.y, p.x};
     }},
}};

/// Degrees of arc, near enough to tell far from near.
double degrees_between(Point a, Point b) {
  double east = std::remainder(a.x - b.x, 360.0);
  east *= std::cos(b.y * std::numbers::pi / 180);
  return std::hypot(east, a.y - b.y);
}

/// Index into ways_astray of the one that would bring a far point near the field; -1: none.
int way_astray(Point lonlat, Point centre) {
  constexpr double near_deg = 0.5;
  constexpr double far_deg = 1;
  if (degrees_between(lonlat, centre) < far_deg) return -1;
  for (std::size_t i = 0; i < ways_astray.size(); ++i) {
    if (degrees_between(ways_astray[i].mended(lonlat), centre) < near_deg) {
      return static_cast<int>(i);
    }
  }
  return -1;
}

Doubt astray(const Astray& way, Point found, const PlaceNames& names, std::size_t line) {
  const Point mended = way.mended(found);
  return {way.code,
          Severity::problem,
          {names.file, "", line, names.column},
          "",
          fmt::format("lat {:.6g}, lon {:.6g}", found.y, found.x),
          fmt::format("lat {:.6g}, lon {:.6g}", mended.y, mended.x),
          "Correct the coordinates; south and west are negative"};
}

/// Into the field's CRS; what cannot be transformed becomes a problem.
std::vector<Point> in_field(const Field& field, const Table& table, RawPlaces raw, const Crs& from,
                            Doubts& problems) {
  std::size_t bad = 0;
  Doubts beyond;  // what is more than worth telling
  const auto told = [&]() -> Doubts& { return bad < most_told ? problems : beyond; };
  if (from.geographic) {
    for (std::size_t row = 0; row < raw.points.size(); ++row) {
      if (!is_place(raw.points[row]) || lonlat_is_sound(table, row, raw, told())) continue;
      raw.points[row] = no_place;
      ++bad;
      beyond.clear();
    }
    take_astray_out(field, {table.file, raw.y_heading, table.lines}, raw.points, problems);
  }
  const Transform to_field(from, field.crs);
  for (std::size_t row = 0; row < raw.points.size(); ++row) {
    Point& p = raw.points[row];
    if (!is_place(p)) continue;
    try {
      p = to_field(p);
    } catch (const InputError&) {
      if (++bad <= most_told) {
        problems.push_back(bad_value(table, row, raw.x_heading, fmt::format("{} {}", p.x, p.y),
                                     "a place near the field"));
      }
      p = no_place;
    }
  }
  tell_more(table, raw.y_heading, bad, problems);
  return std::move(raw.points);
}

struct PlaceHeadings {
  std::string x;
  std::string y;
  bool lonlat = true;
};

PlaceHeadings place_headings(const Table& table) {
  PlaceHeadings names = {heading_among(table, {"lon", "longitude", "long", "lng"}),
                         heading_among(table, {"lat", "latitude"}), true};
  if (!names.x.empty() && !names.y.empty()) return names;
  names = {heading_among(table, {"x", "easting"}), heading_among(table, {"y", "northing"}), false};
  if (names.x.empty() || names.y.empty()) {
    throw InputError::missing_column(table.file, "lat and lon, or x and y");
  }
  return names;
}

std::vector<Point> places_in_table(const Field& field, const Table& table, Doubts& problems) {
  const PlaceHeadings names = place_headings(table);
  const NumberColumn x = plain_number_column(table, names.x, problems);
  const NumberColumn y = plain_number_column(table, names.y, problems);
  RawPlaces raw{std::vector<Point>(table.rows(), no_place), names.x, names.y};
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const Point p{x.values[row], y.values[row]};
    if (is_place(p)) raw.points[row] = p;
  }
  const Crs& stated = field.stated_crs.known() ? field.stated_crs : field.crs;
  return in_field(field, table, std::move(raw), names.lonlat ? wgs84() : stated, problems);
}

std::string lower(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  return text;
}

std::string our_heading(const Field& field, const std::string& theirs) {
  for (const auto& [other, ours] : field.columns) {
    if (lower(other) == theirs) return ours;
  }
  return theirs;
}

PointRows layer_rows(const Field& field, const CropSource& source, Doubts& doubts,
                     Doubts& problems) {
  const std::optional<Crs> assumed =
      field.stated_crs.known() ? std::optional<Crs>(field.stated_crs) : std::nullopt;
  LayerTable read = read_layer_table(source.file);
  VectorLayer& layer = read.layer;
  PointRows rows;
  rows.table = std::move(read.table);
  for (std::string& heading : rows.table.headings) heading = our_heading(field, heading);
  if (layer.crs.geographic) {
    std::vector<Point> lonlat;
    lonlat.reserve(layer.features.size());
    for (const Feature& feature : layer.features) {
      lonlat.push_back(feature.points.empty() ? no_place : feature.points.front());
    }
    take_astray_out(field, {layer.file, "geometry", rows.table.lines}, lonlat, problems);
    throw_if_problem(problems);
  }
  layer = in_crs(std::move(layer), field.crs, assumed, doubts);
  for (const Feature& feature : layer.features) {
    if (feature.points.empty()) {
      problems.push_back(bad_value(rows.table, rows.places.size(), "geometry", "", "a point"));
    }
    rows.places.push_back(feature.points.empty() ? no_place : feature.points.front());
  }
  return rows;
}

}  // namespace

void take_astray_out(const Field& field, const PlaceNames& names, std::vector<Point>& lonlat,
                     Doubts& problems) {
  const Extent extent = field.extent();
  if (extent.empty()) return;
  const Point middle = {(extent.x_min + extent.x_max) / 2, (extent.y_min + extent.y_max) / 2};
  const Point centre = Transform(field.crs, wgs84())(middle);
  std::array<std::size_t, ways_astray.size()> counts{};
  std::array<Doubt, ways_astray.size()> firsts;
  for (std::size_t i = 0; i < lonlat.size(); ++i) {
    const int way = is_place(lonlat[i]) ? way_astray(lonlat[i], centre) : -1;
    if (way < 0) continue;
    const auto w = static_cast<std::size_t>(way);
    if (counts[w]++ == 0) firsts[w] = astray(ways_astray[w], lonlat[i], names, names.lines[i]);
    lonlat[i] = no_place;
  }
  for (std::size_t w = 0; w < counts.size(); ++w) {
    if (counts[w] == 0) continue;
    firsts[w].text = fmt::format(
        "{} of {} places lie far from the field, and would be near it if {}; this is the first",
        counts[w], lonlat.size(), ways_astray[w].what);
    problems.push_back(std::move(firsts[w]));
  }
}

bool PointRows::has_place(std::size_t row) const {
  return is_place(places[row]);
}

std::string ending_of(const FileRef& file) {
  return lower(file.path.extension().string());
}

bool is_text_table(const FileRef& file) {
  const std::string ending = ending_of(file);
  return ending == ".csv" || ending == ".txt" || ending == ".tsv";
}

PointRows point_rows(const Field& field, const CropSource& source, Doubts& doubts,
                     Doubts& problems) {
  if (!is_text_table(source.file)) return layer_rows(field, source, doubts, problems);
  PointRows rows;
  rows.table = read_csv(source.file.path, source.file.as_written, field.columns);
  doubts.insert(doubts.end(), rows.table.doubts.begin(), rows.table.doubts.end());
  rows.places = places_in_table(field, rows.table, problems);
  return rows;
}

Doubt bad_value(const Table& table, std::size_t row, const std::string& column,
                const std::string& found, const std::string& expected, const std::string& remedy) {
  return {"bad_value",
          Severity::problem,
          {table.file, "", table.lines[row], column},
          "the value cannot be used",
          found,
          expected,
          remedy};
}

std::string heading_among(const Table& table, std::initializer_list<const char*> headings) {
  for (const char* heading : headings) {
    if (table.column(heading) >= 0) return heading;
  }
  return "";
}

void require_range(const Table& table, const NumberColumn& column, double lowest, double highest,
                   const std::string& expected, Doubts& problems) {
  std::size_t bad = 0;
  for (std::size_t row = 0; row < column.values.size(); ++row) {
    const double value = column.values[row];
    if (std::isnan(value) || (value >= lowest && value <= highest)) continue;
    if (++bad > most_told) continue;
    problems.push_back(bad_value(table, row, column.heading,
                                 table.cell(row, static_cast<std::size_t>(column.column)),
                                 expected));
  }
  tell_more(table, column.heading, bad, problems);
}

}  // namespace evendrip
