// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/soil_water.hpp"

#include <algorithm>
#include <stdexcept>

namespace evendrip {

double total_available_mm(const RootZone& zone) {
  return 1000 * (zone.field_capacity_frac - zone.wilting_point_frac) * zone.depth_m;
}

double depletion_share_at(double table_share, double crop_et_mm) {
  return std::clamp(table_share + 0.04 * (5 - crop_et_mm), 0.1, 0.8);
}

std::vector<WaterDayEnd> water_balance(const RootZone& zone, double depletion_mm,
                                       std::span<const WaterDay> days) {
  const double held_mm = total_available_mm(zone);
  if (!(held_mm > 0 && zone.depth_m > 0)) throw std::invalid_argument("a root zone holds no water");
  if (!(zone.depletion_share > 0 && zone.depletion_share < 1))
    throw std::invalid_argument("a depletion share lies between 0 and 1");
  if (!(depletion_mm >= 0 && depletion_mm <= held_mm))
    throw std::invalid_argument("the root zone cannot lack so much water");
  const double stressed_mm = (1 - zone.depletion_share) * held_mm;
  std::vector<WaterDayEnd> ends;
  ends.reserve(days.size());
  for (const WaterDay& day : days) {
    WaterDayEnd end;
    end.stress = std::clamp((held_mm - depletion_mm) / stressed_mm, 0.0, 1.0);
    end.et_mm = end.stress * day.crop_et_mm;
    const double lack_mm = depletion_mm - day.rain_mm - day.irrigation_mm + end.et_mm;
    end.percolation_mm = std::max(0.0, -lack_mm);
    end.depletion_mm = std::clamp(lack_mm, 0.0, held_mm);
    depletion_mm = end.depletion_mm;
    ends.push_back(end);
  }
  return ends;
}

double relative_yield(double yield_response_factor, double et_mm, double crop_et_mm) {
  return std::max(0.0, 1 - yield_response_factor * (1 - et_mm / crop_et_mm));
}

}  // namespace evendrip
