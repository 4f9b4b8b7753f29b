// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/model_variogram.hpp"

#include <cmath>
#include <cstddef>
#include <numbers>

namespace evendrip {

std::vector<double> model_variogram(const SurfaceModel& model, Direction direction,
                                    double azimuth_deg, std::span<const double> distances_m) {
  const double azimuth = azimuth_deg * std::numbers::pi / 180;
  const Site here{{0, 0}, 0, 0, 0};
  const double variance = variance_at(model.covariance, here);
  std::vector<double> values;
  for (const double distance : distances_m) {
    Site there = here;
    if (direction == Direction::along) {
      there.place = {distance * std::sin(azimuth), distance * std::cos(azimuth)};
      there.station_m = distance;
    } else {
      there.place = {distance * std::cos(azimuth), -distance * std::sin(azimuth)};
      there.lateral = 1;
    }
    const double shared = distance > 0 ? covariance(model.covariance, here, there) : 0;
    values.push_back(distance > 0 ? model.nugget + variance - shared : 0);
  }
  return values;
}

Samples less_trend(const Samples& samples, const SurfaceFit& fit) {
  const std::size_t terms = fit.model.trend.size();
  const SurfaceObservations observations = observations_of(samples);
  const int n = static_cast<int>(samples.size());
  std::vector<double> columns(samples.size() * terms);
  fill(fit.model.trend, observations, {columns.data(), n, static_cast<int>(terms), n});
  Samples rest = samples;
  for (std::size_t i = 0; i < rest.size(); ++i) {
    if (terms == 0) rest[i].value -= fit.model.known_mean;
    for (std::size_t k = 0; k < terms; ++k)
      rest[i].value -= columns[i + k * rest.size()] * fit.coefficients[k];
  }
  return rest;
}

}  // namespace evendrip
