// SPDX-License-Identifier: Apache-2.0
// Crop values with what each one really sees. The datum is the pixel or the log record; means by
// lateral are for drawing and never used as data beside it.
//
// What a record sees: the width that was cut, times the way travelled while it was logged and while
// grain of different places mixed on its way to the sensor (a standard deviation of 2 s; common
// practice, no source), blurred by what the receiver does not know of the place. What a pixel sees:
// its square, blurred by the sensor (0.3 pixel unless [[crop]] blur states it; common practice, no
// source), by its position (a quarter pixel unless stated; likewise) and, where pixels had to be
// resampled to the field's CRS, by bilinear interpolation (a variance of f (1 - f) pixel^2 at an
// offset f, 1/6 on the mean).
//
// Error of a datum: from second differences of data in a row, whose variance is 6 times that of one
// where the crop itself changes evenly, by the median absolute deviation. Records that share
// grain are passed over: the row is taken at steps of three times the mixing. What changes over two
// data is in it too: it is what a datum says of a place for reasons of its own.
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
  Footprint typical;  ///< medians
  std::vector<EvidenceDatum> data;
  double median = 0;          ///< of the values
  double relative_error = 0;  ///< of a datum, over the median
  /// Narrowest strip of whole laterals, m, and shortest length along them whose deficit of one
  /// tenth the layer shows: at least half of it in the middle of the strip, and with a standard
  /// error below a third of it. 0 where it shows none, however large.
  double smallest_width_m = 0;
  double smallest_length_m = 0;
  double laterals_seen = 1;  ///< typical width over the lateral spacing: so many run under a datum
  std::string told;          ///< "a pixel of 10 m spans 6.7 laterals: single laterals are not seen"
  Doubts doubts;             ///< what of the footprint is not known
};

/// Records that were kept. `cleaned` is of the log.
CropEvidence evidence_of(const Field& field, const CropSource& source, const HarvestLog& log,
                         const CleanedLog& cleaned);
/// The raster's own pixels inside zones, not the grid's cells. More than four million pixels are
/// joined to squares of whole numbers of them.
CropEvidence evidence_of(const Field& field, const CropSource& source, const IndexLayer& layer,
                         const Work& work);

/// Marks the data within `width_m` of either end of the nearest lateral of their place.
void mark_headland(CropEvidence& evidence, const Field& field, double width_m);

/// How well data of one kind show a strip: data of standard deviation `sd_m` of what they see in
/// one axis, a strip of width `width_m` in that axis.
struct StripResponse {
  double middle = 0;     ///< share of the strip's deficit that a datum in its middle shows
  double squares_m = 0;  ///< integral of the squared share over the axis
};
StripResponse strip_response(double width_m, double sd_m);

}  // namespace evendrip
