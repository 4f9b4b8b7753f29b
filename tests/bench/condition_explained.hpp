// SPDX-License-Identifier: Apache-2.0
// To what an estimate puts the water that a field loses: faults of the network, or the soil.
#pragma once

#include <cmath>
#include <cstddef>
#include <limits>
#include <stdexcept>
#include <vector>

#include "evendrip/condition/field_condition.hpp"

#include "condition_scenarios.hpp"

namespace evendrip::bench {

/// A pressure deficit is explained where the network takes it within a fifth and the soil at most a
/// tenth of it, either way.
inline constexpr double network_within = 0.2;
inline constexpr double soil_near_0 = 0.1;

/// Shares of the true loss; NaN where no place truly delivers below low_below.
struct Explained {
  /// Loss by the faults found over the true one, over the places that truly deliver below it.
  double network = std::numeric_limits<double>::quiet_NaN();
  /// Slope of the soil found at the crop's data on what each should lose by the true loss in its
  /// footprint; 0 where the crop is not used.
  double soil = std::numeric_limits<double>::quiet_NaN();

  bool known() const { return std::isfinite(network); }
  bool right() const {
    return std::abs(network - 1) <= network_within && std::abs(soil) <= soil_near_0;
  }
};

inline double slope_of(const std::vector<double>& y, const std::vector<double>& x) {
  const auto n = static_cast<double>(x.size());
  double mean_x = 0;
  double mean_y = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    mean_x += x[i] / n;
    mean_y += y[i] / n;
  }
  double xx = 0;
  double xy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    xx += (x[i] - mean_x) * (x[i] - mean_x);
    xy += (x[i] - mean_x) * (y[i] - mean_y);
  }
  return xx > 0 ? xy / xx : 0;
}

/// `loss`: the true one of each segment of the zone's grid; `crop`: the data that the estimate was
/// given. Throws std::logic_error where these are not those of the estimate.
inline Explained explained_by(const ZoneState& zone, const std::vector<double>& loss,
                              const std::vector<CropDatum>& crop) {
  double lost = 0;
  double found = 0;
  for (std::size_t i = 0; i < loss.size(); ++i) {
    if (!(1 - loss[i] < low_below)) continue;
    lost += loss[i];
    if (!zone.network.change.empty()) found -= zone.network.change.at(i);
  }
  Explained out;
  if (!(lost > 0)) return out;
  out.network = found / lost;
  out.soil = 0;
  if (zone.layer_used.empty()) return out;
  if (zone.condition.estimate.soil.size() != crop.size())
    throw std::logic_error("the crop data are not those of the estimate");
  std::vector<double> should_lose;
  for (const CropDatum& datum : crop) {
    double sum = 0;
    for (std::size_t k = 0; k < datum.segments.size(); ++k)
      sum += datum.weights[k] * loss[static_cast<std::size_t>(datum.segments[k])];
    should_lose.push_back(-zone.condition.fit.parameters.response * sum);
  }
  out.soil = slope_of(zone.condition.estimate.soil, should_lose);
  return out;
}

}  // namespace evendrip::bench
