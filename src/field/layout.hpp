// SPDX-License-Identifier: Apache-2.0
// [lateral_layout]: how laterals lie where no layer has them.
#pragma once

#include <optional>

#include "evendrip/field/field.hpp"
#include "evendrip/io/toml.hpp"

namespace evendrip {

struct LayoutRequest {
  Place place;
  double bearing_deg = 0;  ///< of the flow, clockwise from grid north
  std::optional<double> spacing_m;
  double end_clearance_m = 0;
  double shortest_m = 5;
};

/// Keys: bearing (degrees, of the flow), north ("grid", the rule, or "true"), supply_side ("south";
/// turns the bearing so that flow leads away from it), spacing (else that of [lateral]),
/// end_clearance, shortest. Nothing, with a problem, if there is no usable bearing.
std::optional<LayoutRequest> layout_request(const TomlTable& table, const Field& field,
                                            Doubts& doubts);

}  // namespace evendrip
