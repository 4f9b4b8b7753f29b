// SPDX-License-Identifier: Apache-2.0
// The record of a system when it was known to be good: pressures at ports and metered flows, in
// commissioning.csv of the field folder.
//
// Columns: date, what (port or meter), id, zones (ids separated by ';'), pressure_kpa, flow_m3_h,
// accuracy (same unit as the value).
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

struct CommissioningPressure {
  int port = -1;           ///< index into Field::ports
  std::vector<int> zones;  ///< that ran
  double pressure_kpa = 0;
  double accuracy_kpa = 0;
};
struct CommissioningFlow {
  std::string meter;
  std::vector<int> zones;
  double flow_lph = 0;
  double accuracy_lph = 0;
};
struct Commissioning {
  std::string date;
  std::vector<CommissioningPressure> pressures;
  std::vector<CommissioningFlow> flows;
};

inline constexpr const char* commissioning_file = "commissioning.csv";

/// Nothing if the folder has no commissioning.csv; every problem of the file goes to `doubts`.
std::optional<Commissioning> read_commissioning(const Field& field, Doubts& doubts);
/// The table as text; numbers so that reading gives them back.
std::string commissioning_table(const Field& field, const Commissioning& record);

}  // namespace evendrip
