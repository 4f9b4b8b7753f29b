// SPDX-License-Identifier: Apache-2.0
// Whether crop goes with discharge, allowing for the likeness of neighbours in both.
//
// Effective sample size: Clifford, Richardson & Hemon 1989, Biometrics 45:123-134, with the
// correction of Dutilleul 1993, Biometrics 49:305-314. Regression with spatial errors: errors are a
// Gaussian process with an exponential covariance and a nugget, by restricted maximum likelihood
// (surface/surface_model.hpp).
//
// What grows faster than the number of pairs is bounded: beyond the numbers below pairs are thinned
// (spread_over), the same for the same places, and the result says how many were taken. Fewer pairs
// widen the limits and never narrow them.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/base/work.hpp"
#include "evendrip/geo/shapes.hpp"

namespace evendrip {

constexpr std::size_t most_tested_pairs = 5'000;    ///< time grows with their square
constexpr std::size_t most_regression_pairs = 500;  ///< time grows with their cube

/// `most` of the places at even steps along a Z-order curve through them (Morton 1966, from
/// memory), so that they stay spread as all are: ascending indices; all of them where there are no
/// more. Ties by the order of the places. Places that are not finite come last on the curve.
std::vector<std::size_t> spread_over(std::span<const Point> places, std::size_t most);

struct ModifiedTTest {
  int pairs = 0;  ///< that were taken: at most most_tested_pairs
  double correlation = 0;
  double effective_pairs = 0;  ///< how many independent ones they are worth
  double t = 0;
  double degrees_of_freedom = 0;  ///< effective pairs less 2
  double p = 1;                   ///< two-sided; 1 where nothing can be told
  double lower_90 = -1;           ///< Fisher's z with the effective number
  double upper_90 = 1;
};
/// Autocovariances by distance class: `classes` classes of equal width up to the longest distance;
/// 0: by Sturges' rule on the number of pairs of places, 1 + 3.3 log10. The effective number
/// may come out above the number of pairs, where a side is rather unlike its neighbours (limits
/// then take the pairs). Throws std::invalid_argument for lengths that differ, fewer than 4 pairs
/// or numbers that are not finite.
ModifiedTTest modified_t_test(std::span<const Point> places, std::span<const double> x,
                              std::span<const double> y, int classes = 0);

struct SpatialRegression {
  int pairs = 0;  ///< that were taken: at most most_regression_pairs
  double intercept = 0;
  double slope = 0;
  double slope_error = 0;
  double slope_p = 1;
  double error_range_m = 0;  ///< 0: errors are not alike in space
  double error_share = 0;    ///< of the error variance that is spatial
  bool converged = false;
};
/// y = intercept + slope x + spatial error; error_share 0 where neighbours share nothing beyond the
/// line. p by Student's t with two degrees less than pairs. Throws as fit_surface: x that is the
/// same everywhere, fewer than 3 pairs.
SpatialRegression spatial_regression(std::span<const Point> places, std::span<const double> x,
                                     std::span<const double> y, const Work& work);

/// A place where the water around it and the crop around it both stand out, beyond chance over the
/// map.
enum class LocalAssociation { none, both_low, both_high, water_low_crop_high, water_high_crop_low };
std::string to_text(LocalAssociation association);

struct Association {
  ModifiedTTest test;
  SpatialRegression regression;
  std::vector<LocalAssociation> local;  ///< one for each pair
  std::vector<double> local_p;          ///< adjusted for all of them; NaN where it was not tested
  std::string verdict;                  ///< in words, with its uncertainty
  Doubts doubts;                        ///< that pairs were thinned
};
/// `discharge` and `crop` are relative, at `places`. Verdict says that no association can be told
/// where p is above 0.05 and how strong one would have had to be. Locally a place counts when both
/// bivariate local Moran's I there (crop around it, discharge around it; conditional permutations)
/// are beyond chance: the larger of the two p, as both must hold, adjusted. Places that were
/// thinned out have LocalAssociation::none and no p. Fewer than 4 pairs, or a side that is the same
/// everywhere, get a verdict that says so. Throws std::invalid_argument for lengths that differ,
/// numbers that are not finite, or a distance not above 0.
Association associate(std::span<const Point> places, std::span<const double> discharge,
                      std::span<const double> crop, double neighbours_within_m,
                      double false_discovery_rate, std::uint64_t seed, const Work& work);

}  // namespace evendrip
