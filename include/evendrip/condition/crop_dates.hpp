// SPDX-License-Identifier: Apache-2.0
// Whether irrigation could show in a layer of the crop at all: a layer of a time when plants had
// their water from elsewhere answers to the emitters with a slope of zero. What stands in it is
// soil, stand and machines.
#pragma once

#include <string>

#include "evendrip/field/field.hpp"

namespace evendrip {

/// When a field is irrigated.
struct IrrigationTimes {
  std::string began;      ///< [irrigation] began, ISO 8601; empty if not stated
  bool southern = false;  ///< seasons run from July to June
};

/// Why irrigation cannot show in a layer, in plain words; empty where it can. It cannot where
/// [[crop]] water says so, before the year in which the zone's laterals were laid, and before
/// irrigation began in the same season.
std::string why_not_irrigated(const Zone& zone, CropWater water, const std::string& date,
                              const IrrigationTimes& times);

/// The same of a layer of the field, by its id.
std::string why_not_irrigated(const Field& field, int zone, const std::string& layer,
                              const std::string& date, const IrrigationTimes& times);

}  // namespace evendrip
