// SPDX-License-Identifier: Apache-2.0
// All samples together under one model. With V their covariance (nugget and noise on the diagonal)
// and X their trend,
//
//   Q = V^-1 - V^-1 X (X' V^-1 X)^-1 X' V^-1 ,
//
// every group g of samples is predicted from all others without solving anew: its errors are
// Q_gg^-1 (Q y)_g, with covariance Q_gg^-1. Dubrule 1983, Math. Geol. 15:687-699, for one sample;
// the same algebra holds for several.
#pragma once

#include <memory>
#include <span>
#include <vector>

#include "evendrip/surface/surface_model.hpp"

namespace evendrip {

/// A group of samples seen from all others.
struct SeenFromOthers {
  std::vector<double> errors;     ///< observed minus predicted; empty where that cannot be
  std::vector<double> variances;  ///< of the errors: nugget and own noise are in them
  double log_density = 0;         ///< of the observed values together
};

class JointSamples {
 public:
  JointSamples(const Samples& samples, const SurfaceModel& model);
  ~JointSamples();
  /// False if V is not positive definite, a trend term has no value at a sample, or the terms
  /// depend on each other there.
  bool solvable() const;
  SeenFromOthers from_others(std::span<const int> group) const;
  /// What each sample weighs in the mean of the predictions of the surface at `sites`. Empty where
  /// a trend term has no value.
  std::vector<double> weights_of_mean(std::span<const Site> sites, const Work& work) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace evendrip
