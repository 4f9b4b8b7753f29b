// SPDX-License-Identifier: Apache-2.0
// The posterior density of a zone's parameters over their logarithms.
#pragma once

#include <array>
#include <optional>
#include <span>

#include "evendrip/condition/zone_model.hpp"

namespace evendrip {

using FittedVector = std::array<double, fitted_count>;  ///< logarithms of the fitted parameters

constexpr double impossible_posterior = -1e9;

/// Of the fitted parameters: whether it is the size of a part of r, or of a part of soil.
bool is_part_of_water(std::size_t which);
bool is_part_of_soil(std::size_t which);
/// Of a standard deviation, before the data speak.
double prior_median(std::size_t which);
double least_fitted(std::size_t which);
double most_fitted(std::size_t which);
/// Within the bounds.
FittedVector fitted_of(const ConditionParameters& parameters);
/// What is not fitted is as in `others`.
ConditionParameters parameters_at(const FittedVector& x, const ConditionParameters& others);

struct PosteriorSlope {
  double value = 0;
  FittedVector slope{};
  std::array<FittedVector, fitted_count> curvature{};  ///< minus the second derivatives, about
};

/// Density with respect to the parameters themselves, or to their logarithms (which differ by the
/// derivative: the latter does not favour parts of size 0).
enum class PosteriorOf { parameters, logarithms };

class FittedPosterior {
 public:
  FittedPosterior(const ZoneModel& model, const ConditionParameters& others,
                  std::span<const double> hole_weights, PosteriorOf what)
      : model_(model), others_(others), hole_weights_(hole_weights), what_(what) {}
  double value_at(const FittedVector& x) const;  ///< impossible_posterior if it cannot be had
  std::optional<PosteriorSlope> slope_at(const FittedVector& x) const;

 private:
  const ZoneModel& model_;
  ConditionParameters others_;
  std::span<const double> hole_weights_;
  PosteriorOf what_;
};

/// Logarithm of the integral of a posterior over the logarithms of the parameters, by the quadratic
/// that it has at a place near its top (Laplace's method: Tierney & Kadane 1986, J. Am. Stat.
/// Assoc. 81:82-86, from memory), as wide as 1 at most in any direction. Nothing where the
/// equations cannot be solved.
std::optional<double> log_integral(const FittedPosterior& posterior, const FittedVector& near_top);

}  // namespace evendrip
