// SPDX-License-Identifier: Apache-2.0
// OGR geometries as our plain shapes.
#pragma once

#include <string>
#include <utility>

#include <ogr_geometry.h>

#include "evendrip/io/vector.hpp"

namespace evendrip {

/// What the features of one layer have in common while they are read.
struct LayerReading {
  const FileRef& file;
  std::string layer;
  bool swapped_axes = false;  ///< the file holds y before x
  Doubts problems;

  void problem(std::size_t feature, std::string code, std::string text, std::string expected,
               std::string remedy) {
    problems.push_back({std::move(code),
                        Severity::problem,
                        {file.as_written, layer, feature, ""},
                        std::move(text),
                        "",
                        std::move(expected),
                        std::move(remedy)});
  }
};

/// Takes a geometry apart into points, lines and polygons of the feature: heights and measures are
/// dropped, arcs become lines, what cannot be read is told in reading.problems.
void add_shape(const OGRGeometry& shape, Feature& feature, LayerReading& reading);

}  // namespace evendrip
