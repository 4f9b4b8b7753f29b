// SPDX-License-Identifier: Apache-2.0
// Rows of a table, or features of a point layer, with their places in the field's coordinates: what
// crop points and harvest logs have in common before any column is read.
#pragma once

#include <cstddef>
#include <initializer_list>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/io/csv.hpp"

namespace evendrip {

struct PointRows {
  Table table;
  std::vector<Point> places;  ///< field CRS, m; NaN where the row has none

  bool has_place(std::size_t row) const;
};

/// True for .csv, .tsv and .txt.
bool is_text_table(const FileRef& file);
/// Ending of the file's name, lower case, with its dot.
std::string ending_of(const FileRef& file);

/// Places by lat + lon (WGS 84) or x + y (the CRS that the field states), of a layer in its own
/// CRS. Bad places are added to `problems` row by row; places that lie near the field only with the
/// sign of a coordinate turned, or lat and lon swapped, once with their number.
PointRows point_rows(const Field& field, const CropSource& source, Doubts& doubts,
                     Doubts& problems);

/// Names of places in messages.
struct PlaceNames {
  std::string file;
  std::string column;
  const std::vector<std::size_t>& lines;  ///< one for each place
};

/// Makes places NaN that lie far from the field and near it only with a sign turned or swapped, and
/// adds one problem for each such way.
void take_astray_out(const Field& field, const PlaceNames& names, std::vector<Point>& lonlat,
                     Doubts& problems);

Doubt bad_value(const Table& table, std::size_t row, const std::string& column,
                const std::string& found, const std::string& expected,
                const std::string& remedy = "");

/// First of the headings that the table has; empty if it has none.
std::string heading_among(const Table& table, std::initializer_list<const char*> headings);

/// Adds a problem for each value outside the range.
void require_range(const Table& table, const NumberColumn& column, double lowest, double highest,
                   const std::string& expected, Doubts& problems);

}  // namespace evendrip
