// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/crop_gate.hpp"

#include "evendrip/surface/comparison.hpp"

#include <fmt/format.h>
#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <set>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr std::size_t fewest_laterals = 3;
constexpr double least_weight = 1e-9;

std::set<int> dug_rows(const std::vector<HoleDatum>& holes) {
  std::set<int> rows;
  for (const HoleDatum& hole : holes) rows.insert(hole.row);
  return rows;
}

std::vector<std::size_t> holes_on(const std::vector<HoleDatum>& holes, int row) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < holes.size(); ++i)
    if (holes[i].row == row) out.push_back(i);
  return out;
}

struct Forecast {
  Eigen::VectorXd mean;
  Eigen::MatrixXd covariance;
};
Forecast without(const HoleEstimate& all, const std::vector<HoleDatum>& holes,
                 const ConditionParameters& parameters, std::span<const double> weights,
                 const std::vector<std::size_t>& out) {
  const auto n = static_cast<Eigen::Index>(out.size());
  Eigen::MatrixXd m(n, n);
  Eigen::MatrixXd left_over(n, n);
  Eigen::VectorXd mean(n);
  Eigen::VectorXd off(n);
  for (Eigen::Index a = 0; a < n; ++a) {
    const std::size_t i = out[static_cast<std::size_t>(a)];
    mean(a) = all.mean[i];
    off(a) = holes[i].value - all.mean[i];
    for (Eigen::Index b = 0; b < n; ++b)
      m(a, b) = all.covariance[i * holes.size() + out[static_cast<std::size_t>(b)]];
  }
  left_over = -m;
  for (Eigen::Index a = 0; a < n; ++a) {
    const std::size_t i = out[static_cast<std::size_t>(a)];
    left_over(a, a) +=
        (parameters.emitter * parameters.emitter + holes[i].noise_variance) / weights[i];
  }
  const Eigen::LDLT<Eigen::MatrixXd> factor(left_over);
  return {mean - m * factor.solve(off), m + m * factor.solve(m)};
}

std::vector<double> weights_of(const ZoneCondition& condition) {
  std::vector<double> weights;
  weights.reserve(condition.plugged.size());
  for (const double plugged : condition.plugged) weights.push_back(1 - plugged);
  return weights;
}

/// What the crop gains, by the laterals that were left out together.
void judge_gain(const std::vector<HoleDatum>& holes, const std::vector<double>& weights,
                ZoneJudgement& judged) {
  std::map<int, double> by_row;
  for (std::size_t i = 0; i < holes.size(); ++i)
    by_row[holes[i].row] +=
        weights[i] * (judged.without_crop.log_scores[i] - judged.with_crop.log_scores[i]);
  const auto rows = static_cast<double>(by_row.size());
  double sum = 0;
  for (const auto& [row, gain] : by_row) sum += gain;
  double squares = 0;
  for (const auto& [row, gain] : by_row) squares += (gain - sum / rows) * (gain - sum / rows);
  const double counted = std::max(1e-9, judged.with_crop.holes);
  judged.gain = sum / counted;
  judged.gain_error = std::sqrt(squares * rows / std::max(1.0, rows - 1)) / counted;
}

}  // namespace

/// The holes of one lateral are taken out of the estimate again: with M the covariance of r at them
/// given all data and W the precisions that they had, it was M + M (W^-1 - M)^-1 M without them.
LeftOutScore laterals_left_out(const ZoneModel& model, const ConditionParameters& parameters,
                               std::span<const double> hole_weights) {
  const std::vector<HoleDatum>& holes = model.hole_data();
  if (hole_weights.size() != holes.size())
    throw std::invalid_argument("there is not one weight for each hole");
  LeftOutScore score;
  score.log_scores.assign(holes.size(), 0);
  std::vector<double> weights(hole_weights.begin(), hole_weights.end());
  for (double& weight : weights) weight = std::max(weight, least_weight);
  const auto all = model.estimate_at_holes(parameters, weights);
  if (!all) return score;
  double squares = 0;
  for (const int row : dug_rows(holes)) {
    const std::vector<std::size_t> out = holes_on(holes, row);
    const Forecast forecast = without(*all, holes, parameters, weights, out);
    for (std::size_t k = 0; k < out.size(); ++k) {
      const std::size_t i = out[k];
      const auto at = static_cast<Eigen::Index>(k);
      const double variance = forecast.covariance(at, at) +
                              parameters.emitter * parameters.emitter + holes[i].noise_variance;
      const double error = holes[i].value - forecast.mean(at);
      score.log_scores[i] =
          0.5 * (std::log(2 * std::numbers::pi * variance) + error * error / variance);
      score.log_score += hole_weights[i] * score.log_scores[i];
      score.ranked += hole_weights[i] * ranked_probability_score(
                                            forecast.mean(at), std::sqrt(variance), holes[i].value);
      squares += hole_weights[i] * error * error;
      score.holes += hole_weights[i];
    }
  }
  if (score.holes > 0) {
    score.log_score /= score.holes;
    score.ranked /= score.holes;
    score.rmse = std::sqrt(squares / score.holes);
  }
  return score;
}

std::optional<ZoneJudgement> judge_zone(const SegmentGrid& grid,
                                        const std::vector<HoleDatum>& holes,
                                        const std::vector<CropDatum>& crop,
                                        const ConditionRanges& ranges, double plugged_below,
                                        const Work& work, const CropKink& kink) {
  const ZoneModel holes_alone(grid, holes, {}, ranges);
  auto alone = zone_condition(holes_alone, plugged_below, {}, work);
  if (!alone) return {};
  ZoneJudgement judged;
  judged.verified = dug_rows(holes).size() >= fewest_laterals;
  if (crop.empty() || !judged.verified) {
    judged.why = crop.empty() ? "there is no crop: the holes alone"
                              : fmt::format(
                                    "holes on {} laterals cannot verify what the crop says "
                                    "of the water, {} can: the holes alone",
                                    dug_rows(holes).size(), fewest_laterals);
    judged.condition = *std::move(alone);
    return judged;
  }
  ZoneModel joint(grid, holes, crop, ranges);
  auto both = bent_condition(joint, plugged_below, kink, {}, work);
  judged.without_crop = laterals_left_out(holes_alone, alone->fit.parameters, weights_of(*alone));
  // Both are judged on the same holes, by the weights that they have without the crop.
  if (both) judged.with_crop = laterals_left_out(joint, both->fit.parameters, weights_of(*alone));
  if (both) judge_gain(holes, weights_of(*alone), judged);
  judged.crop_used = both && judged.gain > judged.gain_error;
  judged.why = fmt::format(
      "laterals left out are foretold to {:.3f} (root mean square) with the crop and to {:.3f} "
      "without it; the log score of a hole gains {:.2f} (standard error {:.2f}): the crop is {}",
      judged.with_crop.rmse, judged.without_crop.rmse, judged.gain, judged.gain_error,
      judged.crop_used ? "used" : "not used");
  judged.condition = judged.crop_used ? *std::move(both) : *std::move(alone);
  return judged;
}

}  // namespace evendrip
