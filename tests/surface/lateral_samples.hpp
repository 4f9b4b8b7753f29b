// SPDX-License-Identifier: Apache-2.0
// Samples along laterals with effects of known size, for tests of models that know the lateral.
#pragma once

#include <random>
#include <string>

#include "evendrip/field/field.hpp"
#include "evendrip/surface/sample.hpp"

namespace evendrip {

/// What the invented values are made of; standard deviations.
struct LateralEffects {
  double mean = 0.9;
  double lateral = 0;        ///< shared by a lateral
  double emitter = 0.05;     ///< from emitter to emitter
  double station_slope = 0;  ///< from the near to the far end
};

constexpr double lateral_length_m = 200;
constexpr double lateral_spacing_m = 1.5;

/// Holes at random stations on `laterals` laterals (every fourth one is dug), `each` on each.
inline Samples dug_along(int laterals, int each, const LateralEffects& effects, unsigned seed,
                         int zone = 0) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> normal;
  std::uniform_real_distribution<double> station(0, lateral_length_m);
  Samples samples;
  for (int l = 0; l < laterals; ++l) {
    const double shared = effects.lateral * normal(random);
    for (int k = 0; k < each; ++k) {
      Sample sample;
      sample.site.lateral = 4 * l;
      sample.site.zone = zone;
      sample.site.station_m = station(random);
      sample.site.place = {500000 + 4 * l * lateral_spacing_m, 4100000 + sample.site.station_m};
      sample.value = effects.mean + shared + effects.emitter * normal(random) +
                     effects.station_slope * sample.site.station_m / lateral_length_m;
      samples.push_back(sample);
    }
  }
  return samples;
}

/// The field under them: one zone, laterals to the north.
inline Field field_under(int laterals) {
  Field field;
  Zone zone;
  zone.id = "A";
  zone.lateral.spacing_m = lateral_spacing_m;
  field.zones.push_back(zone);
  for (int l = 0; l < 4 * laterals; ++l) {
    Lateral lateral;
    lateral.id = "L" + std::to_string(l + 1);
    lateral.zone = 0;
    const double x = 500000 + l * lateral_spacing_m;
    lateral.line = {{x, 4100000}, {x, 4100000 + lateral_length_m}};
    lateral.length_m = lateral_length_m;
    field.laterals.push_back(lateral);
  }
  return field;
}

}  // namespace evendrip
