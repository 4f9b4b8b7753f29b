// SPDX-License-Identifier: Apache-2.0
// The model of a surface and its fit by restricted maximum likelihood.
//
//   r(s) = trend(s) b + Gaussian part with `covariance` + nugget (from emitter to emitter) ;
//   an observation adds its own known noise.
//
// Patterson & Thompson 1971, Biometrika 58:545-554; Harville 1977, J. Am. Stat. Assoc. 72:320-338;
// derivatives as in Mardia & Marshall 1984, Biometrika 71:135-146 (all from memory).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/surface/observation.hpp"
#include "evendrip/surface/trend.hpp"

namespace evendrip {

struct SurfaceModel {
  SurfaceTrend trend;
  double known_mean = 0;  ///< used when the trend is empty
  CovarianceModel covariance;
  double nugget = 0;  ///< variance from emitter to emitter that is not known beforehand, 0 or more
};

/// Logarithm of the restricted likelihood,
///   -1/2 [ (n - p) log 2 pi + log|V| + log|X' V^-1 X| - log|X' X| + (y - X b)' V^-1 (y - X b) ]
/// The term in X'X makes the value independent of the scale of the columns; programs that leave it
/// out give a value lower by half of log|X'X|. With an empty trend: the ordinary likelihood.
struct LikelihoodValue {
  double log_likelihood = 0;
  /// With respect to the logarithms of parameters_of(covariance), in order, then of the nugget
  /// if that is above 0. Empty if not asked for.
  std::vector<double> gradient;
};
/// Nothing when V is not positive definite or the columns of the trend are dependent there. Throws
/// std::invalid_argument as fit_surface does for its data.
std::optional<LikelihoodValue> restricted_likelihood(const SurfaceObservations& observations,
                                                     const SurfaceModel& model, bool gradient);

/// Limits for one parameter of a fit, at the 95 % level.
struct ParameterEstimate {
  std::string name;  ///< "laterals: variance", "local: range", "nugget"
  double value = 0;
  double log_error = 0;  ///< standard error of the logarithm, from the average information matrix
                         ///< (Gilmour, Thompson & Cullis 1995, Biometrics 51:1440-1450; from
                         ///< memory); NaN if the likelihood is flat there
  double lower = 0;      ///< profile limits; 0 when the likelihood does not fall off below
  double upper = 0;      ///< infinity when it does not fall off above
  bool has_limits = false;  ///< profile limits were asked for and found
};

struct FitOptions {
  int starts = 6;
  std::uint64_t seed = 1;       ///< of the starts after the first
  bool profile_ranges = false;  ///< work out profile limits of the ranges
  double shortest_range_m = 0;  ///< 0: a quarter of the least distance between two sites
  double longest_range_m = 0;   ///< 0: the extent of the sites; longer is not told from a trend
};

struct SurfaceFit {
  SurfaceModel model;  ///< with the fitted numbers; a variance that vanished is 0 and its term gone
  std::vector<double> coefficients;        ///< one for each trend term
  std::vector<double> coefficient_errors;  ///< their standard errors
  std::vector<ParameterEstimate> parameters;
  double log_likelihood = 0;
  int observations = 0;
  bool converged = false;
  std::string why;  ///< plain words when there is no structure or too little data: the trend alone
  std::vector<std::string> remarks;  ///< plain words: a variance that vanished, a flat likelihood
};
/// Best of several starts. `form` gives the terms; its numbers are the first start; a nugget of 0
/// in it stays 0 unless the trend is left alone. A term whose variance vanishes goes. The trend is
/// left alone when its terms together gain less than one unit of log likelihood for each parameter
/// (Akaike 1974, IEEE Trans. Autom. Control 19:716-723; from memory), or when there are fewer than
/// eight observations, or two for each parameter, beyond the trend terms (common practice, no
/// source). Profile limits: where twice the logarithm of the likelihood ratio reaches 3.84. Throws
/// std::invalid_argument if there are not more observations than trend terms, a trend term has no
/// value at an observation or the columns of the trend are dependent there.
SurfaceFit fit_surface(const SurfaceObservations& observations, const SurfaceModel& form,
                       const FitOptions& options, const Work& work);

}  // namespace evendrip
