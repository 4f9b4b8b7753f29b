// SPDX-License-Identifier: Apache-2.0
// What a fitted surface says of likeness over distance, to stand beside the moment variogram of the
// same samples.
#pragma once

#include <span>
#include <vector>

#include "evendrip/surface/surface_model.hpp"

namespace evendrip {

enum class Direction {
  along,  ///< two emitters of one lateral
  across  ///< two emitters of different laterals at the same station
};

/// Semivariance about the trend, nugget included, of two emitters of one zone at each distance (m;
/// 0 at distance 0). `azimuth_deg`: bearing of the laterals, from north.
std::vector<double> model_variogram(const SurfaceModel& model, Direction direction,
                                    double azimuth_deg, std::span<const double> distances_m);

/// The samples less the fitted trend: what the moment variogram beside a fit is of. Throws
/// std::invalid_argument where a trend term has no value.
Samples less_trend(const Samples& samples, const SurfaceFit& fit);

}  // namespace evendrip
