// SPDX-License-Identifier: Apache-2.0
// What was observed of a surface: a weighted sum of its values at sites, with its own noise. A
// point, the mean of a segment and the total of a zone are one thing.
#pragma once

#include <span>
#include <vector>

#include "evendrip/surface/covariance.hpp"

namespace evendrip {

/// value = sum of weights[i] r(sites[i]) + noise. The nugget of a model (what differs from emitter
/// to emitter) enters with the sum of the squared weights; noise_variance comes on top.
struct SurfaceObservation {
  std::vector<Site> sites;
  std::vector<double> weights;  ///< as many as sites
  double value = 0;
  double noise_variance = 0;  ///< known: of measuring, of making the emitters
};
using SurfaceObservations = std::vector<SurfaceObservation>;

/// Each sample at its own site with weight 1 and its own noise variance.
SurfaceObservations observations_of(const Samples& samples);

/// Covariance of the weighted sums, without nugget and noise. out: rows.size() x columns.size().
void fill(const CovarianceModel& model, std::span<const SurfaceObservation> rows,
          std::span<const SurfaceObservation> columns, MatrixView out);
/// Covariance of weighted sums (rows) with the surface at sites (columns).
void fill(const CovarianceModel& model, std::span<const SurfaceObservation> rows,
          std::span<const Site> columns, MatrixView out);
/// Derivative of the first with respect to the logarithm of a parameter.
void fill_gradient(const CovarianceModel& model, const CovarianceParameter& parameter,
                   std::span<const SurfaceObservation> rows,
                   std::span<const SurfaceObservation> columns, MatrixView out);

}  // namespace evendrip
