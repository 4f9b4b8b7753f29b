// SPDX-License-Identifier: Apache-2.0
// The gauge readings that speak of one zone, brought to the height of its lines.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "evendrip/hydraulics/zone_network.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// One port of a zone: the mean of its readings while irrigating.
struct LineReading {
  int port = -1;  ///< index into Field::ports
  int node = -1;  ///< of the zone's network
  bool at_inlet = false;
  double kpa = 0;           ///< at the height of the line
  double gauge_sd_kpa = 0;  ///< of the gauge; behind the valve with the loss down to the inlet
  double sd_kpa = 0;        ///< with the error of the heights, away from the inlet
  std::size_t row = 0;      ///< of the first reading
};

/// Every port of the zone that was read, in the order of its first reading. What is taken and
/// what is left out: see meet_gauges. Doubts: "gauge_too_coarse", "negative_end_pressure",
/// "other_zones_open".
std::vector<LineReading> line_readings(const Field& field, const Survey& survey,
                                       const ZoneNetwork& network, Doubts& doubts);

/// Where a reading stands: file of the survey's pressures, row, column.
Place place_of_reading(const Field& field, const Survey& survey, std::size_t row,
                       const std::string& column);

}  // namespace evendrip
