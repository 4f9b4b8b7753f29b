// SPDX-License-Identifier: Apache-2.0
// Results out: the whole folder appears at once or not at all; tables and shapes as GeoPackage,
// places to visit as GPX.
#pragma once

#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "evendrip/crs/crs.hpp"
#include "evendrip/geo/shapes.hpp"

namespace evendrip {

/// A result folder in the making: a hidden sibling of the target that `commit` puts in its place in
/// one step. An earlier result of ours is replaced; a folder that holds anything else is refused
/// with FileError "folder_not_ours" (exit 4), so also one of ours into which somebody put a file.
/// FileError "folder_not_writable" if it cannot be made. Unfinished folders are removed by the
/// destructor and, left by a killed run, by the next run; folders of runs that are at work are
/// locked and stay. Marker file: "evendrip-results.json", written by the caller; `commit` adds a
/// hidden list of contents, by which foreign files are told later.
class ResultFolder {
 public:
  explicit ResultFolder(const std::filesystem::path& target);
  ~ResultFolder();
  ResultFolder(const ResultFolder&) = delete;
  ResultFolder& operator=(const ResultFolder&) = delete;
  const std::filesystem::path& path() const { return working_; }
  void commit();

 private:
  std::filesystem::path target_;
  std::filesystem::path working_;
  int lock_ = -1;  ///< descriptor of the working folder, locked while this lives
};

using CellValue = std::variant<std::monostate, double, long long, std::string>;
struct LayerField {
  std::string name;  ///< lower_snake
  enum class Type { number, integer, text } type = Type::number;
  std::string comment;  ///< with the unit
};
struct LayerRow {
  std::variant<std::monostate, Point, Line, MultiPolygon> shape;
  std::vector<CellValue> values;  ///< one for each field
};
struct ResultLayer {
  std::string name;  ///< lower_snake
  std::string description;
  enum class Shape { none, point, line, polygon } shape = Shape::none;
  std::vector<LayerField> fields;
  std::vector<LayerRow> rows;
  /// Further rows, each made when it is written: for what is too much to hold at once.
  std::size_t made_rows = 0;
  std::function<LayerRow(std::size_t number)> make_row = {};
};
/// One GeoPackage of all layers; byte-identical for the same input. `metadata` becomes one
/// ISO-style record in gpkg_metadata. Throws FileError.
void write_geopackage(const std::filesystem::path& file, const Crs& crs,
                      const std::vector<ResultLayer>& layers,
                      const std::vector<std::pair<std::string, std::string>>& metadata);

struct Waypoint {
  Point lonlat;
  std::string name;  ///< at most 6 characters, unique
  std::string description;
  std::string kind;  ///< gpx <type>
};
/// GPX 1.1 (topografix.com/GPX/1/1): waypoints, and one route in the order given if asked.
void write_gpx(const std::filesystem::path& file, const std::vector<Waypoint>& waypoints,
               const std::optional<std::string>& route_name);
/// Waypoints of a GPX file; throws InputError.
std::vector<Waypoint> read_gpx(const std::filesystem::path& file, const std::string& as_written);

/// Whole text file, written beside and renamed. Throws FileError.
void write_text(const std::filesystem::path& file, const std::string& text);

}  // namespace evendrip
