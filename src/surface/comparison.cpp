// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/comparison.hpp"

#include "left_out.hpp"

#include <fmt/format.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
/// Normal distribution, 95 % point: the upper of the two 90 % limits.
constexpr double limit_90 = 1.6448536269514722;

double normal_density(double z) {
  return std::exp(-z * z / 2) / std::sqrt(2 * std::numbers::pi);
}

double normal_distribution(double z) {
  return std::erfc(-z / std::numbers::sqrt2) / 2;
}

/// Predicts the samples of one group from all others.
void leave_out(const Samples& samples, const Estimator& estimator, std::span<const int> group,
               std::vector<Prediction>& predicted) {
  std::vector<char> left(samples.size(), 0);
  for (const int i : group) left[static_cast<std::size_t>(i)] = 1;
  Samples known;
  for (std::size_t i = 0; i < samples.size(); ++i)
    if (left[i] == 0) known.push_back(samples[i]);
  if (known.empty()) return;
  std::vector<Site> sites;
  for (const int i : group) sites.push_back(samples[static_cast<std::size_t>(i)].site);
  const std::vector<Prediction> out = estimator.predict(known, sites);
  for (std::size_t k = 0; k < group.size(); ++k)
    predicted[static_cast<std::size_t>(group[k])] = out.at(k);
}

}  // namespace

double ranked_probability_score(double mean, double sd, double observed) {
  if (!(sd > 0)) return std::abs(observed - mean);
  const double z = (observed - mean) / sd;
  return sd *
         (z * (2 * normal_distribution(z) - 1) + 2 * normal_density(z) - std::numbers::inv_sqrtpi);
}

EstimatorScore score_of(const Samples& samples, std::string name, LeaveOut left_out,
                        std::vector<Prediction> predicted) {
  EstimatorScore score;
  score.name = std::move(name);
  score.left_out = left_out;
  double errors = 0, squares = 0, scores = 0;
  int with_limits = 0, inside = 0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const Prediction& p = predicted[i];
    if (!std::isfinite(p.value)) continue;
    const double error = samples[i].value - p.value;
    const double sd = p.variance > 0 ? std::sqrt(p.variance + samples[i].noise_variance) : 0;
    ++score.compared;
    errors += error;
    squares += error * error;
    scores += ranked_probability_score(p.value, sd, samples[i].value);
    if (!(sd > 0)) continue;
    ++with_limits;
    if (std::abs(error) <= limit_90 * sd) ++inside;
  }
  const double n = score.compared;
  score.mean_error = n > 0 ? errors / n : nan;
  score.rmse = n > 0 ? std::sqrt(squares / n) : nan;
  score.mean_score = n > 0 ? scores / n : nan;
  score.coverage_90 = with_limits > 0 ? static_cast<double>(inside) / with_limits : nan;
  const int without = static_cast<int>(samples.size()) - score.compared;
  if (without > 0)
    score.doubt = fmt::format("{} of {} could not be predicted", without, samples.size());
  score.predicted = std::move(predicted);
  return score;
}

EstimatorScore cross_validate(const Samples& samples, const Estimator& estimator, LeaveOut left_out,
                              const Work& work) {
  std::vector<Prediction> predicted(samples.size(), Prediction{nan, nan});
  const std::vector<std::vector<int>> groups = groups_left_out(samples, left_out);
  for_each_chunk(work, groups.size(), 1, [&](std::size_t group, std::size_t, int) {
    leave_out(samples, estimator, groups[group], predicted);
  });
  return score_of(samples, estimator.name, left_out, std::move(predicted));
}

}  // namespace evendrip
