// SPDX-License-Identifier: Apache-2.0
// Unknowns with a Gaussian prior in precision form, seen through sparse rows: their mean and
// variances given what was observed, and how likely that is.
//
//   y = A x + e,  x ~ N(0, Q^-1),  e ~ N(0, diag(noise))
//   log p(y) = 1/2 [ log|Q| - log|Q + A' N^-1 A| - log|N| - n log 2 pi
//                    - (y - A m)' N^-1 y ], m the mean of x given y
//
// Rue & Held 2005, "Gaussian Markov Random Fields", section 2.3.3 (from memory).
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "evendrip/condition/latent_parts.hpp"

namespace evendrip {

struct SparseObservations {
  SparseMatrix rows;  ///< A: observations x unknowns
  std::vector<double> values;
  std::vector<double> noise_variances;  ///< above 0
};

struct GaussianEstimate {
  std::vector<double> mean;
  double log_likelihood = 0;
  SparseCholesky factor;  ///< of Q + A' N^-1 A
};

/// `parts` one after the other are the unknowns. Nothing when the equations cannot be solved.
/// Throws std::invalid_argument for sizes that do not fit or a noise not above 0.
std::optional<GaussianEstimate> estimate(std::span<const Precision> parts,
                                         const SparseObservations& observations);

/// Variances of rows x unknowns given the observations, from the factor; rows may have any columns.
std::vector<double> variances_of(const GaussianEstimate& estimate, const SparseMatrix& rows);

}  // namespace evendrip
