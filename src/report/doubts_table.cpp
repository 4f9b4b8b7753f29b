// SPDX-License-Identifier: Apache-2.0
#include "doubts_table.hpp"

#include "table_cells.hpp"

namespace evendrip {

ResultLayer doubts_layer(const Doubts& doubts) {
  ResultLayer layer{"doubts", "What was doubtful about the data", ResultLayer::Shape::none, {}, {}};
  layer.fields = {text("severity", "note or doubt"),
                  text("code", "kind"),
                  text("file", "file"),
                  text("layer", "layer or section"),
                  integer("row", "line or feature"),
                  text("column", "column or key"),
                  text("message", "what was found and expected")};
  for (const Doubt& doubt : doubts) {
    layer.rows.push_back(
        {{},
         {CellValue{to_text(doubt.severity)}, CellValue{doubt.code}, CellValue{doubt.place.file},
          CellValue{doubt.place.layer}, cell(doubt.place.row), CellValue{doubt.place.column},
          CellValue{to_text(doubt)}}});
  }
  return layer;
}

}  // namespace evendrip
