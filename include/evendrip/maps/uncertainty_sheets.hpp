// SPDX-License-Identifier: Apache-2.0
// Sheets of how sure the map of relative discharge is: its standard error, and the probability
// that discharge is below a threshold.
//
// Rasters as in maps/discharge_sheets.hpp.
#pragma once

#include "evendrip/maps/discharge_sheets.hpp"

namespace evendrip {

/// Ramp of styles/relative_discharge_error.sld stretched to the values, in shares of the reference.
Style relative_discharge_error_style(const Raster& standard_error, const MapResources& resources);

/// How far the map of relative discharge may be off; emitters show where it was measured.
Sheet relative_discharge_error_sheet(const Field& field, const Survey& survey,
                                     const Raster& standard_error, const Findings& findings,
                                     const SheetContext& context, const MapResources& resources);

/// Probability that relative discharge is below `threshold`, in the classes of
/// styles/probability_low.sld. Cells that are too uncertain for a verdict are hatched.
Sheet probability_sheet(const Field& field, const Survey& survey, const Raster& probability,
                        double threshold, const SheetContext& context,
                        const MapResources& resources);

}  // namespace evendrip
