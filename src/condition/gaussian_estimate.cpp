// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/gaussian_estimate.hpp"

#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

void require_sound(int unknowns, const SparseObservations& observations) {
  const auto n = static_cast<std::size_t>(observations.rows.rows);
  if (observations.rows.columns != unknowns || observations.values.size() != n ||
      observations.noise_variances.size() != n)
    throw std::invalid_argument("observations do not fit the unknowns");
  for (const double noise : observations.noise_variances)
    if (!(noise > 0)) throw std::invalid_argument("an observation has no noise");
}

}  // namespace

std::optional<GaussianEstimate> estimate(std::span<const Precision> parts,
                                         const SparseObservations& observations) {
  std::vector<SparseMatrix> blocks;
  double log_prior = 0;
  for (const Precision& part : parts) {
    blocks.push_back(part.matrix);
    log_prior += part.log_determinant;
  }
  const SparseMatrix prior = block_diagonal(blocks);
  require_sound(prior.rows, observations);
  const std::size_t n = observations.values.size();
  std::vector<double> weights(n);
  std::vector<double> weighted(n);
  double log_noise = 0;
  for (std::size_t i = 0; i < n; ++i) {
    weights[i] = 1 / observations.noise_variances[i];
    weighted[i] = weights[i] * observations.values[i];
    log_noise += std::log(observations.noise_variances[i]);
  }
  try {
    SparseCholesky factor(sum_of(prior, weighted_square(observations.rows, weights)));
    std::vector<double> mean = factor.solve(transposed_product(observations.rows, weighted));
    const std::vector<double> fitted = product(observations.rows, mean);
    double misfit = 0;
    for (std::size_t i = 0; i < n; ++i)
      misfit += (observations.values[i] - fitted[i]) * weighted[i];
    const double log_likelihood =
        0.5 * (log_prior - factor.log_determinant() - log_noise -
               static_cast<double>(n) * std::log(2 * std::numbers::pi) - misfit);
    return GaussianEstimate{std::move(mean), log_likelihood, std::move(factor)};
  } catch (const std::invalid_argument&) {
    return std::nullopt;
  }
}

std::vector<double> variances_of(const GaussianEstimate& estimate, const SparseMatrix& rows) {
  std::vector<double> out;
  out.reserve(static_cast<std::size_t>(rows.rows));
  for (int row = 0; row < rows.rows; ++row) {
    std::vector<double> dense(static_cast<std::size_t>(rows.columns), 0);
    const std::size_t begin = rows.begins[static_cast<std::size_t>(row)];
    const std::size_t end = rows.begins[static_cast<std::size_t>(row) + 1];
    for (std::size_t k = begin; k < end; ++k)
      dense[static_cast<std::size_t>(rows.columns_of[k])] = rows.values[k];
    const std::vector<double> solved = estimate.factor.solve(dense);
    double variance = 0;
    for (std::size_t k = begin; k < end; ++k)
      variance += rows.values[k] * solved[static_cast<std::size_t>(rows.columns_of[k])];
    out.push_back(variance);
  }
  return out;
}

}  // namespace evendrip
