// SPDX-License-Identifier: Apache-2.0
// Gauge readings that count for a zone: irrigating, with that zone open.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

#include "evendrip/field/commissioning.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// A quantity with its error, canonical units.
struct Reading {
  double value = 0;
  double sd = 0;
};

/// Stated accuracy, else 2 % of the reading and at least 1 kPa (common practice, no source).
double gauge_sd_kpa(double stated_kpa, double pressure_kpa);

std::vector<int> ports_of(const Field& field, int zone, std::string_view kind);
/// Zones that ran: as the reading says, else those of its port.
std::vector<int> zones_open(const Field& field, const PressureReading& reading);
/// Mean of the readings at a port while the zone ran; the gauge's error is not averaged away.
std::optional<Reading> reading_at(const Field& field, const Survey& survey, int port, int zone);
/// Of the record, the entry over fewest zones; an entry without zones counts for all.
std::optional<Reading> recorded_at(const Commissioning& record, int port, int zone);
/// At the height of the line: the gauge stands above it.
Reading at_line(const Field& field, int port, const Reading& reading);

}  // namespace evendrip
