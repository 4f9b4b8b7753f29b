// SPDX-License-Identifier: Apache-2.0
// What the numbers of a band stand for, and whether they can stand for it.
#pragma once

#include <cstddef>
#include <limits>
#include <string>

#include "evendrip/field/field.hpp"
#include "evendrip/io/raster_file.hpp"

namespace evendrip {

/// value = factor x number + offset.
struct BandScale {
  double factor = 1;
  double offset = 0;
  std::string unit;  ///< of the value
  std::string told;  ///< what was done, "" if nothing
  double of(double number) const { return factor * number + offset; }
};

/// Values that a band takes over the cells that count.
struct BandRange {
  double least = std::numeric_limits<double>::infinity();
  double most = -std::numeric_limits<double>::infinity();
  double sum = 0;
  double cells = 0;
  double above_reflectance = 0;  ///< cells whose value no reflectance has

  static constexpr double most_reflectance = 1.25;  ///< sunlit cloud or snow; common practice
  void include(double value) {
    least = value < least ? value : least;
    most = value > most ? value : most;
    sum += value;
    cells += 1;
    if (value > most_reflectance) above_reflectance += 1;
  }
  double mean() const { return cells > 0 ? sum / cells : 0; }
};
struct BandRanges {
  BandRange first;   ///< a ready band, or the near infrared
  BandRange second;  ///< red or red edge
};

/// By full_scale and, of a temperature or a yield, the unit that the band states.
BandScale scale_of_band(const CropSource& source, const RasterInfo& info, Doubts& doubts);

/// As open_index says. Throws InputError.
void judge_scale(const CropSource& source, const RasterInfo& info, const BandRanges& ranges,
                 Doubts& doubts);

}  // namespace evendrip
