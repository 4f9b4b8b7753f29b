// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/field.hpp"

#include "evendrip/geo/line.hpp"

namespace evendrip {

Extent Field::extent() const {
  Extent all;
  for (const Zone& zone : zones) all.include(extent_of(zone.area));
  for (const Lateral& lateral : laterals) all.include(extent_of(lateral.line));
  return all;
}

double Field::zone_area_ha(int zone) const {
  return ground_area_m2(crs, zones.at(static_cast<std::size_t>(zone)).area) / 10'000.0;
}

double emitter_station_m(const EmitterSpec& spec, int emitter) {
  return spec.first_offset_m + spec.spacing_m * (emitter - 1);
}

Point place_on_lateral(const Field& field, int lateral, double station_m) {
  return point_at(field.laterals.at(static_cast<std::size_t>(lateral)).line,
                  station_m * field.scale_factor);
}

}  // namespace evendrip
