// SPDX-License-Identifier: Apache-2.0
// The sheets of the condition of the emitters: what plants get, how well emitters themselves work,
// how sure that is, and the parts that it is made of.
//
// Rasters as in maps/discharge_sheets.hpp; shares of the reference, 1 = as a clean system. Cells
// that are too uncertain for a verdict are hatched, ground that was not judged is hatched
// crosswise.
#pragma once

#include <string>
#include <vector>

#include "evendrip/field/fault.hpp"
#include "evendrip/maps/discharge_sheets.hpp"

namespace evendrip {

/// A fault found in the network, for the map.
struct FaultMark {
  Point place;
  std::string name;  ///< "F1"
  FaultKind kind = FaultKind::pinch;
  std::string told;  ///< one line of the notes
};

/// A part of the condition, all over the same grid.
struct PartMap {
  std::string name;   ///< the panel's title
  Raster raster;      ///< changes of a clean emitter's discharge, or of the crop's median
  double share = -1;  ///< of the crop's variance, for the title; a negative one is not told
  bool of_crop = false;
};

/// What plants get, with outlines where an emitter is low more likely than not and where with a
/// probability over 0.8, and the faults found. `limits`: lower and upper 90 % limits, for a note on
/// how wide they are.
Sheet delivery_sheet(const Field& field, const Survey& survey, const Raster& delivery,
                     const Raster& probability_low, const Raster& lower_90, const Raster& upper_90,
                     const std::vector<FaultMark>& faults, const SheetContext& context,
                     const MapResources& resources);

/// What is left of clean emitters at their own pressure: clogging and wear alone. Outlines where an
/// emitter is clogged more likely than not.
Sheet performance_sheet(const Field& field, const Survey& survey, const Raster& performance,
                        const Raster& probability_clogged, const Raster& lower_90,
                        const Raster& upper_90, const SheetContext& context,
                        const MapResources& resources);

/// Standard error of delivery, over its own range.
Sheet delivery_error_sheet(const Field& field, const Survey& survey, const Raster& standard_error,
                           const SheetContext& context, const MapResources& resources);

/// Probability that a single emitter is below `threshold`, its own spread and plugging in it.
/// `what`: "delivery" or "performance".
Sheet emitter_probability_sheet(const Field& field, const Survey& survey, const Raster& probability,
                                const std::string& what, double threshold,
                                const SheetContext& context, const MapResources& resources);

/// The parts side by side at one scale of colours.
Sheet parts_sheet(const Field& field, const Survey& survey, const std::vector<PartMap>& parts,
                  const SheetContext& context, const MapResources& resources);

/// Without holes: the crop as far as it follows the laterals. "Crop and gauges only, not verified."
Sheet water_shaped_crop_sheet(const Field& field, const Survey& survey, const Raster& relative_crop,
                              const std::vector<FaultMark>& faults, const SheetContext& context,
                              const MapResources& resources);

}  // namespace evendrip
