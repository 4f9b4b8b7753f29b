// SPDX-License-Identifier: Apache-2.0
// The sheet of pressures: the clean system at the measured inlet pressure as a map, and every gauge
// port with what was measured there against what is modelled.
//
// Rasters and units as in maps/discharge_sheets.hpp; pressures come in kPa.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/maps/discharge_sheets.hpp"

namespace evendrip {

/// Mean of the readings of a port while the system irrigates; nothing if there is none.
std::optional<double> irrigating_reading_kpa(const Survey& survey, int port);

/// Ramp of styles/pressure.sld stretched to the values, in kPa.
Style pressure_style(const Raster& pressure_kpa, const MapResources& resources);

/// Class of a port in styles/ports.sld by what it was compared with: "not_compared" if with
/// nothing, "disagrees" if any is flagged, else "agrees".
std::string port_class(std::span<const PortComparison> comparisons);

/// `zones`: Expectation::zones. The notes tell each zone's inlet pressure and where it comes from.
Sheet pressure_sheet(const Field& field, const Survey& survey, const Raster& pressure_kpa,
                     const std::vector<ExpectedZone>& zones, const SheetContext& context,
                     const MapResources& resources);

}  // namespace evendrip
