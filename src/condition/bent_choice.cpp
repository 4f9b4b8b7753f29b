// SPDX-License-Identifier: Apache-2.0
#include "bent_choice.hpp"

#include "evendrip/condition/crop_gate.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

constexpr std::array<CropKink, 2> kinks = {CropKink{1.0, 0.0}, CropKink{0.9, 0.0}};
constexpr double least_gain = 3;
constexpr int bending_passes = 2;

struct Straight {
  ConditionFit fit;
  LeftOutScore score;
};

/// Mean gain of a hole, laterals as the units.
void judge_scores(const std::vector<HoleDatum>& holes, const std::vector<double>& weights,
                  const LeftOutScore& straight, const LeftOutScore& bent, BentChoice& choice) {
  std::map<int, double> by_row;
  double counted = 0;
  for (std::size_t i = 0; i < holes.size(); ++i) {
    by_row[holes[i].row] += weights[i] * (straight.log_scores[i] - bent.log_scores[i]);
    counted += weights[i];
  }
  const auto rows = static_cast<double>(by_row.size());
  if (by_row.size() < 2 || !(counted > 0)) return;
  double sum = 0;
  for (const auto& [row, gain] : by_row) sum += gain;
  double squares = 0;
  for (const auto& [row, gain] : by_row) squares += (gain - sum / rows) * (gain - sum / rows);
  choice.score_gain = sum / counted;
  choice.score_error = std::sqrt(squares * rows / (rows - 1)) / counted;
}

std::optional<BentChoice> tried(const ZoneModel& model, const CropKink& kink,
                                const ZoneCondition& condition, const Straight& straight,
                                const std::vector<double>& weights, const Work& work) {
  ZoneModel bent(model);
  bent.bend_crop(kink, condition.estimate, straight.fit.parameters.emitter);
  const auto fit =
      fit_condition(bent, straight.fit.parameters, weights, FitSearch::one_start, work);
  if (!fit) return std::nullopt;
  BentChoice choice{kink, fit->log_posterior - straight.fit.log_posterior, 0, 0};
  judge_scores(model.hole_data(), weights, straight.score,
               laterals_left_out(bent, fit->parameters, weights), choice);
  const bool foretells = choice.score_gain > choice.score_error && choice.score_error > 0;
  const bool pays = choice.gain > least_gain || (choice.gain > 0 && foretells);
  return pays ? std::optional(choice) : std::nullopt;
}

}  // namespace

std::optional<BentChoice> choose_bend(ZoneModel& model, double plugged_below,
                                      ZoneCondition& condition, const Work& work) {
  if (model.crop_data() == 0 || model.holes() == 0) return std::nullopt;
  const std::vector<double> weights = hole_weights(condition.plugged);
  const auto fit =
      fit_condition(model, condition.fit.parameters, weights, FitSearch::one_start, work);
  if (!fit) return std::nullopt;
  const Straight straight{*fit, laterals_left_out(model, fit->parameters, weights)};
  std::optional<BentChoice> best;
  for (const CropKink& kink : kinks) {
    const auto choice = tried(model, kink, condition, straight, weights, work);
    if (choice && (!best || choice->gain > best->gain)) best = choice;
  }
  if (!best) return std::nullopt;
  ZoneCondition about = condition;
  for (int pass = 0; pass < bending_passes; ++pass) {
    model.bend_crop(best->kink, about.estimate, about.fit.parameters.emitter);
    auto next = zone_condition(model, plugged_below, about.fit.parameters, work);
    if (!next) {
      model.bend_crop({}, condition.estimate, condition.fit.parameters.emitter);
      return std::nullopt;
    }
    about = *std::move(next);
  }
  condition = std::move(about);
  return best;
}

}  // namespace evendrip
