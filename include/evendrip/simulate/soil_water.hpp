// SPDX-License-Identifier: Apache-2.0
// Water in the root zone day by day, and what its lack costs in yield.
//
// Allen, Pereira, Raes & Smith 1998, FAO Irrigation and Drainage Paper 56, chapter 8: equations 82
// (total available water), 84 (stress), 85 (balance) and 90 (yield); depletion share by evaporation
// as the note to its table 22.
#pragma once

#include <span>
#include <vector>

namespace evendrip {

struct RootZone {
  double field_capacity_frac = 0.32;  ///< of the soil's volume
  double wilting_point_frac = 0.12;
  double depth_m = 0.8;
  double depletion_share = 0.4;  ///< p: of the total available water, free of stress
};
/// 1000 (field capacity - wilting point) depth, mm.
double total_available_mm(const RootZone& zone);
/// p = table value + 0.04 (5 - crop ET in mm/day), within 0.1 to 0.8.
double depletion_share_at(double table_share, double crop_et_mm);

struct WaterDay {
  double rain_mm = 0;        ///< that enters the soil
  double irrigation_mm = 0;  ///< likewise
  double crop_et_mm = 0;     ///< of a crop that lacks nothing
};
struct WaterDayEnd {
  double stress = 1;          ///< Ks, from the depletion at the day's start
  double et_mm = 0;           ///< Ks x crop ET
  double depletion_mm = 0;    ///< at the day's end, 0 at field capacity
  double percolation_mm = 0;  ///< below the roots
};
/// Depletion stays between 0 and the total available water. Throws std::invalid_argument unless
/// field capacity lies above the wilting point, the depth above 0, the depletion share between 0
/// and 1, and the first depletion within what the zone holds.
std::vector<WaterDayEnd> water_balance(const RootZone& zone, double depletion_mm,
                                       std::span<const WaterDay> days);

/// 1 - Ky (1 - ET / crop ET), not below 0.
double relative_yield(double yield_response_factor, double et_mm, double crop_et_mm);

}  // namespace evendrip
