// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/crop_dates.hpp"

#include "evendrip/base/dates.hpp"
#include "evendrip/crop/over_dates.hpp"

#include <fmt/format.h>

#include <algorithm>

namespace evendrip {

std::string why_not_irrigated(const Zone& zone, CropWater water, const std::string& date,
                              const IrrigationTimes& times) {
  if (water == CropWater::before_irrigation) return "it is stated to be from before irrigation";
  if (water == CropWater::soaking_rain) return "it is stated to be of soaking rain";
  if (!day_number(date)) return "";
  const int laid = zone.lateral.installed_year;
  if (laid > 0 && std::stoi(date.substr(0, 4)) < laid)
    return fmt::format("it is of {}, before the laterals were laid in {}", date, laid);
  const auto left = days_between(date, times.began);
  if (left && *left > 0 &&
      season_of(date, times.southern) == season_of(times.began, times.southern))
    return fmt::format("it is of {}, before irrigation began on {}", date, times.began);
  return "";
}

std::string why_not_irrigated(const Field& field, int zone, const std::string& layer,
                              const std::string& date, const IrrigationTimes& times) {
  const auto source = std::find_if(field.crops.begin(), field.crops.end(),
                                   [&layer](const CropSource& one) { return one.id == layer; });
  const CropWater water = source == field.crops.end() ? CropWater::irrigation : source->water;
  return why_not_irrigated(field.zones[static_cast<std::size_t>(zone)], water, date, times);
}

}  // namespace evendrip
