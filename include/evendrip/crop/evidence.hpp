// SPDX-License-Identifier: Apache-2.0
// Crop values with what each one really sees. The datum is the pixel or the log record; means by
// lateral are for drawing and never used as data beside it.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/crop/cleaning.hpp"
#include "evendrip/crop/vegetation_index.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

/// A box turned to the direction of travel (or of the pixel's side), blurred.
struct Footprint {
  double along_m = 0;   ///< length of the box: travel and what the grain mixes, or the pixel
  double across_m = 0;  ///< width: cut width, or the pixel
  double blur_m = 0;    ///< standard deviation in each axis, of sensor, resampling and position
  double heading_deg = 0;
};

struct EvidenceDatum {
  Point place;
  double value = 0;  ///< in the layer's unit
  double error = 0;  ///< standard deviation of its own error, short-range
  float along_m = 0, across_m = 0, blur_m = 0, heading_deg = 0;
  bool marked = false;  ///< headland or machine stripe
};

struct CropEvidence {
  std::string id;
  std::string kind;
  std::string date;
  std::optional<double> days_since_water;
  std::string unit;
  Footprint typical;
  std::vector<EvidenceDatum> data;
  /// Narrowest strip of laterals, m, and shortest length along them whose deficit of one tenth the
  /// layer shows with a standard error below a third of it.
  double smallest_width_m = 0;
  double smallest_length_m = 0;
  double laterals_seen = 1;  ///< typical width over the lateral spacing: so many run under a datum
  std::string told;          ///< "a pixel of 10 m spans 6.7 laterals: single laterals are not seen"
};

CropEvidence evidence_of(const Field& field, const CropSource& source, const HarvestLog& log,
                         const CleanedLog& cleaned);
/// The raster's own pixels inside zones, not the grid's cells.
CropEvidence evidence_of(const Field& field, const CropSource& source, const IndexLayer& layer,
                         const Work& work);

}  // namespace evendrip
