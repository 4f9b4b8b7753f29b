// SPDX-License-Identifier: Apache-2.0
// What a clean system would give (hydraulics/expected.hpp) as the surface takes it: a value for
// each measured emitter, and rasters of pressure and discharge window by window.
#pragma once

#include <functional>
#include <optional>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"
#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/surface/discharge_samples.hpp"

namespace evendrip {

/// Zones that are computed, and the expected discharge of each measured emitter.
DischargeReference reference_of(const Expectation& expectation);

/// Clean pressure and discharge at a place in a zone; Expectation::at for one. Called from many
/// threads.
using ExpectedAt = std::function<std::optional<Expectation::Value>(Point place, int zone)>;

struct ExpectedPart {
  Raster pressure_kpa;
  Raster discharge_lph;  ///< of one emitter
};
/// At the centre of each cell of a window. Where nothing is expected the reason is
/// Reason::not_computed.
ExpectedPart expected_over(const Field& field, const Grid& grid, const Window& window,
                           const ExpectedAt& at, const Work& work);

}  // namespace evendrip
