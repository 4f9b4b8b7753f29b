// SPDX-License-Identifier: Apache-2.0
// What a crew catches on a made-up field: the emitters dug, and the text of the catch-can table in
// the units of the plan.
#pragma once

#include <string>
#include <vector>

#include "evendrip/simulate/truth.hpp"

namespace evendrip {

/// One emitter caught once.
struct CaughtEmitter {
  int lateral = 0;  ///< index into SimulatedField::laterals
  int emitter = 1;  ///< 1-based
  std::string pit;
  int place_in_pit = 1;
  int replicate = 1;
  bool declared = true;  ///< else by its fix alone
  double volume_ml = 0;
  std::string state;
  std::string seen;
  std::string note;
  double pressure_kpa = -1;  ///< in the pit; negative: not read
  double station_m = 0;      ///< by tape, from the supply end
  Point fix_lonlat;
};
std::vector<CaughtEmitter> caught_emitters(const SimulatedField& field);

std::string catch_can_table(const SimulatedField& field, const std::vector<CaughtEmitter>& caught);

}  // namespace evendrip
