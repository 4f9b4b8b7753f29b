// SPDX-License-Identifier: Apache-2.0
#include "fixes.hpp"

#include <cmath>
#include <optional>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

/// A fix farther than this from the field was swapped, mistyped or taken elsewhere, m.
constexpr double near_field_m = 5'000;

/// Geographic CRS of a datum of fixes; two-dimensional EPSG entries.
const char* datum_code(const std::string& datum) {
  if (datum == "NAD83(2011)") return "EPSG:6318";
  if (datum == "ITRF2014") return "EPSG:9000";
  return "EPSG:4326";
}

std::optional<Point> transformed(const Transform& transform, double lon, double lat) {
  if (std::abs(lon) > 180 || std::abs(lat) > 90) return std::nullopt;
  try {
    return transform({lon, lat});
  } catch (const InputError&) {
    return std::nullopt;
  }
}

class FixReader {
 public:
  FixReader(TableReading& table, const Field& field, const SurveySource& source)
      : table_(table),
        near_(field.extent().grown(near_field_m)),
        transform_(parse_crs(datum_code(source.gps_datum)), field.crs),
        lat_(table.numbers("lat")),
        lon_(table.numbers("lon")) {
    tell_accuracy(field, source);
  }

  bool has_columns() const { return lat_.column >= 0 || lon_.column >= 0; }

  void read(std::size_t row, CatchRecord& record) {
    const double lat = lat_.values[row];
    const double lon = lon_.values[row];
    if (std::isnan(lat) && std::isnan(lon)) return;
    if (std::isnan(lat) || std::isnan(lon)) {
      const bool is_lat = std::isnan(lat);
      table_.problem(row, is_lat ? "lat" : "lon", "half_a_fix",
                     "latitude and longitude belong together", "", "both, or neither",
                     "Fill in the other cell");
      return;
    }
    const auto as_written = transformed(transform_, lon, lat);
    if (as_written && near_.contains(*as_written)) {
      record.fix = as_written;
      return;
    }
    const auto swapped = transformed(transform_, lat, lon);
    if (swapped && near_.contains(*swapped)) {
      record.fix = swapped;
      if (swapped_rows_++ == 0) first_swapped_ = row;
      return;
    }
    tell_far(row, lat, lon);
  }

  void tell_swapped() {
    if (swapped_rows_ == 0) return;
    table_.problem(
        first_swapped_, "lat", "swapped_lat_lon",
        fmt::format("latitude and longitude are swapped in {} rows", swapped_rows_),
        fmt::format("lat {:g}, lon {:g}", lat_.values[first_swapped_], lon_.values[first_swapped_]),
        "latitude in lat, longitude in lon", "Swap the two columns");
  }

 private:
  void tell_far(std::size_t row, double lat, double lon) {
    const bool valid = std::abs(lat) <= 90 && std::abs(lon) <= 180;
    table_.problem(
        row, std::abs(lat) > 90 ? "lat" : "lon", valid ? "fix_far_away" : "not_lat_lon",
        valid ? "the fix lies far from the field" : "the fix is no latitude and longitude",
        fmt::format("lat {:.10g}, lon {:.10g}", lat, lon),
        fmt::format("a place within {:g} km of the field", near_field_m / 1000),
        "Correct the fix, or empty both cells");
  }

  void tell_accuracy(const Field& field, const SurveySource& source) {
    double spacing = 0;
    for (const Zone& zone : field.zones) spacing = std::max(spacing, zone.lateral.spacing_m);
    if (!has_columns() || !(transform_.accuracy_m() > spacing / 2)) return;
    Place place = table_.place(0, "lat");
    place.row = 0;
    table_.tell({"datum_inaccurate", Severity::doubt, place,
                 "the change of datum is known no better than half the lateral spacing",
                 fmt::format("{} ({:g} m)", transform_.operation(), transform_.accuracy_m()),
                 fmt::format("{:g} m or better", spacing / 2),
                 "Check gps_datum " + source.gps_datum + " against the receiver's settings"});
  }

  TableReading& table_;
  Extent near_;
  Transform transform_;
  NumberColumn lat_;
  NumberColumn lon_;
  std::size_t swapped_rows_ = 0;
  std::size_t first_swapped_ = 0;
};

void read_grid_places(TableReading& table, const Field& field, std::vector<CatchRecord>& records) {
  const NumberColumn east = table.quantities("easting", Dimension::length);
  const NumberColumn north = table.quantities("northing", Dimension::length);
  const Extent near = field.extent().grown(near_field_m);
  for (std::size_t row = 0; row < records.size(); ++row) {
    const Point p{east.values[row], north.values[row]};
    if (records[row].fix || std::isnan(p.x) || std::isnan(p.y)) continue;
    if (near.contains(p)) {
      records[row].fix = p;
      continue;
    }
    table.problem(row, east.heading, "fix_far_away", "the place lies far from the field",
                  fmt::format("{:.1f} E, {:.1f} N", p.x, p.y), "coordinates of " + field.crs.name,
                  "Correct the coordinates, or empty both cells");
  }
}

}  // namespace

void read_fixes(TableReading& table, const Field& field, const SurveySource& source,
                std::vector<CatchRecord>& records) {
  const NumberColumn accuracy = table.quantities("gps_accuracy", Dimension::length);
  for (std::size_t row = 0; row < records.size(); ++row) {
    const double stated = accuracy.values[row];
    records[row].fix_accuracy_m = std::isnan(stated) ? source.gps_accuracy_m : stated;
    if (records[row].fix_accuracy_m > 0) continue;
    table.problem(row, accuracy.heading, "accuracy_not_positive", "a fix has some error",
                  fmt::format("{:g} m", stated), "more than 0 m", "Correct the cell");
    records[row].fix_accuracy_m = source.gps_accuracy_m;
  }
  if (!field.crs.known()) return;
  FixReader reader(table, field, source);
  for (std::size_t row = 0; row < records.size() && reader.has_columns(); ++row) {
    reader.read(row, records[row]);
  }
  reader.tell_swapped();
  read_grid_places(table, field, records);
}

}  // namespace evendrip
