// SPDX-License-Identifier: Apache-2.0
// A made field of straight laterals and a survey of it, for tests of what is derived from a map.
#pragma once

#include "evendrip/crs/crs.hpp"
#include "evendrip/surface/discharge_map.hpp"

#include <cmath>
#include <string>

namespace evendrip::test {

/// One zone of 60 m x 30 m with laterals from west to east every 1.5 m, an emitter every 0.5 m.
inline Field field_of_laterals() {
  constexpr double x0 = 500000;
  constexpr double y0 = 4300000;
  Field field;
  field.crs = parse_crs("EPSG:32614");
  Zone zone;
  zone.id = "Z1";
  zone.area = {{{{x0, y0}, {x0 + 60, y0}, {x0 + 60, y0 + 30}, {x0, y0 + 30}}, {}}};
  zone.emitter.spacing_m = 0.5;
  zone.emitter.first_offset_m = 0.25;
  zone.lateral.spacing_m = 1.5;
  field.zones.push_back(zone);
  for (int i = 0; i < 20; ++i) {
    Lateral lateral;
    lateral.id = "L" + std::to_string(i + 1);
    lateral.zone = 0;
    const double y = y0 + 0.75 + 1.5 * i;
    lateral.line = {{x0, y}, {x0 + 60, y}};
    lateral.length_m = 60;
    lateral.emitters = 120;
    field.laterals.push_back(lateral);
  }
  return field;
}

/// Relative discharge falls over the last third of every lateral, to 0.6 at the end.
inline double truth_at(double station_m) {
  return station_m < 40 ? 1 : 1 - 0.4 * (station_m - 40) / 20;
}

/// Six laterals, six emitters on each.
inline Survey survey_of(const Field& field) {
  Survey survey;
  for (int lateral = 1; lateral < 20; lateral += 3)
    for (int k = 0; k < 6; ++k) {
      const double station_m = 0.25 + 0.5 * (4 + 22 * k);
      MeasuredEmitter emitter;
      emitter.name = std::to_string(survey.emitters.size() + 1);
      emitter.site = {place_on_lateral(field, lateral, station_m), lateral, station_m, 0};
      emitter.discharge_lph =
          truth_at(station_m) + 0.02 * std::sin(7.0 * static_cast<double>(survey.emitters.size()));
      survey.emitters.push_back(emitter);
    }
  return survey;
}

inline DischargeMap map_of(const Field& field, const Survey& survey) {
  return DischargeMap(field, survey, analysis_grid(field), {});
}

}  // namespace evendrip::test
