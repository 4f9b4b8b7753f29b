// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/fitted_variogram.hpp"

#include "evendrip/geo/line.hpp"
#include "evendrip/surface/mean_bearing.hpp"
#include "evendrip/surface/model_variogram.hpp"

namespace evendrip {
namespace {

double mean_bearing_deg(const Field& field) {
  MeanBearing bearing;
  for (const Lateral& lateral : field.laterals)
    if (lateral.line.size() >= 2) bearing.add(bearing_deg(lateral.line));
  return bearing.degrees();
}

std::vector<double> distances_of(const std::vector<VariogramLag>& lags) {
  std::vector<double> out;
  out.reserve(lags.size());
  for (const VariogramLag& lag : lags) out.push_back(lag.mean_distance_m);
  return out;
}

/// The fitted samples but those that are unlike all others.
Samples like_the_others(const DischargeMap& map) {
  std::vector<char> wild(map.fitted_samples().size());
  for (const WildSample& one : map.wild()) wild[static_cast<std::size_t>(one.sample)] = 1;
  Samples samples;
  for (std::size_t i = 0; i < wild.size(); ++i)
    if (wild[i] == 0) samples.push_back(map.fitted_samples()[i]);
  return samples;
}

}  // namespace

std::optional<FittedVariogram> fitted_variogram(const Field& field, const DischargeMap& map) {
  const std::optional<ModelChoice>& choice = map.choice();
  if (!choice || field.laterals.empty()) return std::nullopt;
  FittedVariogram out;
  out.azimuth_deg = mean_bearing_deg(field);
  DirectionOptions options;
  options.azimuth_deg = out.azimuth_deg;
  const SurfaceFit& fit = choice->fit;
  out.moment = directional_variogram(less_trend(like_the_others(map), fit), options);
  out.model_along =
      model_variogram(fit.model, Direction::along, out.azimuth_deg, distances_of(out.moment.along));
  out.model_across = model_variogram(fit.model, Direction::across, out.azimuth_deg,
                                     distances_of(out.moment.across));
  return out;
}

}  // namespace evendrip
