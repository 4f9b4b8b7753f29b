// SPDX-License-Identifier: Apache-2.0
// Which model: candidates compared by how well they predict whole laterals that were left out,
// with a penalty for complexity; told as a table. And which samples pull the fit.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "evendrip/surface/comparison.hpp"
#include "evendrip/surface/surface_model.hpp"

namespace evendrip {

struct Candidate {
  std::string name;  ///< plain words: "constant and laterals", "station trend"
  SurfaceModel form;
};

struct CandidateScore {
  std::string name;
  int trend_terms = 0;
  int covariance_parameters = 0;  ///< with the nugget
  double log_likelihood = 0;
  EstimatorScore by_lateral;
  /// Minus the log density of the values of each left-out lateral, given all others, summed; plus
  /// half the logarithm of the number of values for each covariance parameter, and 1 less than that
  /// for each trend term. Lower is better; NaN if it could not be fitted.
  double penalised = 0;
  bool chosen = false;
  std::string doubt;  ///< why it could not be fitted, or empty
};

struct ModelChoice {
  std::vector<CandidateScore> table;  ///< in the order of the candidates
  int chosen = -1;
  SurfaceFit fit;   ///< of the chosen one to all samples
  std::string why;  ///< plain words
};
/// The parameters of the covariance are fitted once to all samples for each candidate; the trend is
/// estimated anew without each lateral. A lateral counts by the density of its values together:
/// whether they hang together is all that a lateral effect says of a lateral nobody dug. The
/// penalty is that of Schwarz 1978, Ann. Stat. 6:461-464, less what leaving out has charged
/// already. Of equally good candidates the simplest is chosen. Where fewer than four laterals can
/// be left out, emitters are. Throws std::invalid_argument without candidates or samples.
ModelChoice choose_model(const Samples& samples, std::span<const Candidate> candidates,
                         const FitOptions& options, const Work& work);

/// The model as an estimator with its parameters held, for the comparison with others.
Estimator model_estimator(std::string name, const SurfaceModel& model);

/// Samples that differ wildly from what all others say there, found from a robust start.
struct WildSample {
  int sample = 0;
  double value = 0;
  double predicted = 0;  ///< from the others
  double score = 0;      ///< difference over its robust standard error
  double weight = 1;     ///< with which it enters the fit, 0 to 1
};
struct RobustSamples {
  Samples samples;               ///< the same, with the noise variance of wild ones raised
  std::vector<WildSample> wild;  ///< largest score first
  std::string why;               ///< plain words: what was held, or why nothing; empty if none wild
};
/// A sample more than `limit` robust standard errors off gets the noise variance that makes it
/// weigh as Huber's function would (Huber 1964, Ann. Math. Stat. 35:73-101); none is dropped. The
/// start is robust (medians of laterals and zones), and so is the scale (median absolute
/// deviation), so that a model fitted to the wild ones too does not hide them. Of fewer than 8
/// samples none is held; nor where more than one in ten would be: that is how the field is. A
/// plugged emitter is wild to a surface as well: `trusted`, one flag for each sample if given,
/// names those that are known to be right, and they are never held.
RobustSamples with_wild_ones_held(const Samples& samples, const SurfaceModel& model, double limit,
                                  const Work& work, std::span<const std::uint8_t> trusted = {});

/// How far each sample alone moves the mean of the predictions at `sites`: the mean with all
/// samples less the mean without that one. NaN where either cannot be told.
std::vector<double> influence(const Samples& samples, const SurfaceModel& model,
                              std::span<const Site> sites, const Work& work);

}  // namespace evendrip
