// SPDX-License-Identifier: Apache-2.0
// The highest point of a restricted likelihood: from one start, and where to start.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "likelihood.hpp"

namespace evendrip::likelihood {

/// Logarithms between which a parameter is sought. It is sought as log(value + offset): a variance
/// far below its offset moves evenly, so that one that should grow from nothing is seen to; by its
/// logarithm alone the likelihood would look level there.
struct Bounds {
  double lower = 0;
  double upper = 0;
  double offset = 0;
};

/// What the sites and the values leave room for: ranges as FitOptions says, in the way each factor
/// measures distance; variances up to a thousand times that of the values about the trend.
std::vector<Bounds> bounds_of(const Problem& problem, const Numbers& numbers,
                              std::span<const Parameter> parameters, const FitOptions& options);

/// Of a variance, when the values about the trend have this one.
Bounds variance_bounds(double variance);

struct Optimum {
  Numbers numbers;
  Evaluation evaluation;
  bool converged = false;
};

/// Sequential quadratic programming (Kraft 1994, ACM Trans. Math. Softw. 20:262-281, as NLopt has
/// it) on the logarithms, turned and scaled so that the average information is close to the
/// identity. Parameters that are not listed stay as they are. Nothing when the likelihood does not
/// exist at the start.
std::optional<Optimum> maximise(const Problem& problem, const Numbers& start,
                                std::span<const Parameter> parameters,
                                std::span<const Bounds> bounds, const Work& work);

/// The first start given, the others drawn. Many are looked at, the best few are climbed from, and
/// so are other tops that show along the ranges; beyond 300 observations all this happens on a
/// hundred of them, and the best climbs on all. Nothing when the likelihood exists at no start.
std::optional<Optimum> best_of_starts(const Problem& problem, const SurfaceTrend& trend,
                                      double known_mean, const Numbers& form,
                                      std::span<const Parameter> parameters,
                                      std::span<const Bounds> bounds, const FitOptions& options,
                                      const Work& work);

}  // namespace evendrip::likelihood
