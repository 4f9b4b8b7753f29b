// SPDX-License-Identifier: Apache-2.0
// Vector layers in: any file that an allowed OGR driver reads, as plain features.
#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/io/csv.hpp"
#include "evendrip/io/paths.hpp"

namespace evendrip {

struct Feature {
  std::size_t number = 0;  ///< 1-based place in the layer, in a table its line; for messages
  std::vector<Point> points;
  std::vector<Line> lines;
  MultiPolygon polygons;
  std::vector<std::pair<std::string, std::string>> attributes;  ///< name lower case, value as text

  /// Text of an attribute; empty if it is missing or null.
  std::string attribute(std::string_view name) const;
};

struct VectorLayer {
  std::string file;   ///< as written
  std::string layer;  ///< its name
  Crs crs;            ///< unknown if the file has none
  std::vector<std::string> fields;
  std::vector<Feature> features;
  Doubts doubts;  ///< met while reading; in_crs hands them on
};

/// Coordinates as in the file, x/y (lon/lat) order. Tables (.csv, .tsv, .txt) have their places in
/// columns lat and lon, x and y, or wkt, and are read by read_csv. Throws InputError: no layer of
/// that name (lists those there), several layers and none named, a driver that is not allowed, an
/// unreadable file, coordinates that are not finite, a layer without features.
VectorLayer read_vector(const FileRef& file);

/// A layer of many features: attributes stand in a table, one row to a feature, and not in the
/// features.
struct LayerTable {
  VectorLayer layer;
  Table table;  ///< headings are the layer's fields; lines are Feature::number
};

/// As read_vector, for files that are no tables as text.
LayerTable read_layer_table(const FileRef& file);

/// Layer transformed to `to`. Where the file has no CRS, `assumed` is used and a doubt added;
/// without it an InputError "layer_without_crs". Longitude/latitude that only fits when swapped is
/// a problem "swapped_lat_lon".
VectorLayer in_crs(VectorLayer layer, const Crs& to, const std::optional<Crs>& assumed,
                   Doubts& doubts);

/// Extent of all coordinates of a layer.
Extent extent_of(const VectorLayer& layer);

}  // namespace evendrip
