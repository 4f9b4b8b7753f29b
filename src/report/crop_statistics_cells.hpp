// SPDX-License-Identifier: Apache-2.0
// Columns and cells of crop statistics by zone or lateral.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "evendrip/crop/crop.hpp"
#include "table_cells.hpp"

namespace evendrip {

/// `heading` names the zone or lateral, `what` says which of them.
inline std::vector<LayerField> statistics_fields(std::string heading, std::string what) {
  return {text("crop", "crop layer"),
          text(std::move(heading), std::move(what)),
          number("cells", "covered cells with a value"),
          number("missing_cells", "covered cells without one"),
          number("mean", "mean, unit of the layer"),
          number("sd", "standard deviation"),
          number("min", "lowest"),
          number("max", "highest"),
          number("relative_mean", "mean over the median of the field")};
}

inline std::vector<CellValue> statistics_values(const CropLayer& layer, const CropStatistics& s) {
  const bool known = s.values.weight_cells > 0;
  const auto value = [known](double v) { return known ? cell(v) : CellValue{}; };
  return {CellValue{layer.id},          CellValue{s.name},    cell(s.values.weight_cells),
          cell(s.values.missing_cells), value(s.values.mean), value(s.values.sd),
          value(s.values.min),          value(s.values.max),  value(s.relative_mean)};
}

}  // namespace evendrip
