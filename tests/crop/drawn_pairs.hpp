// SPDX-License-Identifier: Apache-2.0
// How often a correlation of two fields that have nothing to do with each other is called
// significant.
#pragma once

#include "../surface/drawn_fields.hpp"
#include "drawn_places.hpp"

#include <cmath>
#include <vector>

#include "evendrip/crop/association.hpp"

namespace evendrip::drawn {

struct FieldPair {
  double range_x_m = 0;  ///< of an exponential covariance; 0: nothing shared by neighbours
  double range_y_m = 0;
  double nugget = 0;  ///< share of the variance of a field that has a range
  int places = 100;   ///< anywhere in 100 x 100 m
};

struct Alarms {
  int trials = 0;
  int plain = 0;     ///< by the t test that takes pairs as independent
  int modified = 0;  ///< both at the level of 5 %
};

inline FieldDraws draws_of(const std::vector<Point>& points, double range_m, double nugget,
                           unsigned seed) {
  std::vector<Site> sites;
  for (const Point p : points) sites.push_back({p, -1, 0, 0});
  CovarianceModel model;
  if (!(range_m > 0)) return {sites, model, 1, seed};
  model.terms = {
      {"field", 1 - nugget, {{Metric::plane, VariogramShape::exponential, range_m, 0, 1}}}};
  return {sites, model, nugget + 1e-9, seed};
}

inline std::vector<double> values_of(const Samples& samples) {
  std::vector<double> values;
  for (const Sample& sample : samples) values.push_back(sample.value);
  return values;
}

/// `draws` at each of `layouts` sets of places.
inline Alarms alarms_of(const FieldPair& pair, int layouts, int draws, unsigned seed) {
  Alarms alarms;
  for (int layout = 0; layout < layouts; ++layout) {
    const unsigned own = seed + static_cast<unsigned>(layout);
    const std::vector<Point> points = places(static_cast<std::size_t>(pair.places), 100, 100, own);
    FieldDraws x = draws_of(points, pair.range_x_m, pair.nugget, 2 * own);
    FieldDraws y = draws_of(points, pair.range_y_m, pair.nugget, 2 * own + 1'000'001);
    for (int draw = 0; draw < draws; ++draw) {
      const ModifiedTTest test = modified_t_test(points, values_of(x.next()), values_of(y.next()));
      const double r = test.correlation;
      const double t = r * std::sqrt((pair.places - 2) / (1 - r * r));
      ++alarms.trials;
      if (std::abs(t) > (pair.places == 60 ? 2.0017 : 1.9845)) ++alarms.plain;  // of 58 or 98
      if (test.p <= 0.05) ++alarms.modified;
    }
  }
  return alarms;
}

}  // namespace evendrip::drawn
