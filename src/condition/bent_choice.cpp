// SPDX-License-Identifier: Apache-2.0
#include "bent_choice.hpp"

#include "evendrip/condition/crop_gate.hpp"

#include <algorithm>
#include <array>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

constexpr std::array<CropKink, 2> kinks = {CropKink{1.0, 0.0}, CropKink{0.9, 0.0}};
constexpr std::array<double, 3> steeper_by = {1, 1.25, 1.6};
constexpr double least_gain = 3;
constexpr int bending_passes = 2;

/// The straight response, in the model in which others are tried.
struct Straight {
  const ZoneModel& model;
  ConditionEstimate about;
  ConditionParameters parameters;
  Clogging clogging;
};

struct Fitted {
  ConditionFit fit;
  LeftOutScore score;
};

std::optional<Fitted> fitted(const ZoneModel& model, const Straight& straight, const Work& work) {
  const auto fit = fit_condition(model, straight.parameters, {}, FitSearch::one_start, work);
  if (!fit) return std::nullopt;
  return Fitted{*fit, laterals_left_out(model, fit->parameters, straight.clogging)};
}

struct Candidate {
  CropKink kink;
  ZoneModel model;  ///< bent
};

bool is_likelier(const ZoneModel& bent, ConditionParameters parameters, double than) {
  const double response = parameters.response;
  for (const double steeper : steeper_by) {
    parameters.response = response * steeper;
    const auto found = bent.log_likelihood(parameters);
    if (found && *found > than) return true;
  }
  return false;
}

/// The kinks that are likelier than the straight response before anything is fitted again: few, so
/// that a straight response costs little.
std::vector<Candidate> likelier(const Straight& straight) {
  std::vector<Candidate> candidates;
  const auto before = straight.model.log_likelihood(straight.parameters);
  if (!before) return candidates;
  for (const CropKink& kink : kinks) {
    ZoneModel bent(straight.model);
    bent.bend_crop(kink, straight.about, straight.parameters.emitter);
    if (is_likelier(bent, straight.parameters, *before))
      candidates.push_back({kink, std::move(bent)});
  }
  return candidates;
}

std::optional<BentChoice> best_bend(const Straight& straight, const Work& work) {
  const std::vector<Candidate> candidates = likelier(straight);
  if (candidates.empty()) return std::nullopt;
  const auto plain = fitted(straight.model, straight, work);
  if (!plain) return std::nullopt;
  std::optional<BentChoice> best;
  double most = 0;
  for (const Candidate& candidate : candidates) {
    const auto bent = fitted(candidate.model, straight, work);
    if (!bent) continue;
    const ScoreGain gain = gain_of(straight.model.hole_data(), plain->score, bent->score);
    const BentChoice choice{candidate.kink, bent->fit.log_posterior - plain->fit.log_posterior,
                            gain.mean, gain.error};
    const bool foretells = choice.score_gain > choice.score_error && choice.score_error > 0;
    const bool pays =
        (choice.gain > least_gain && choice.score_gain >= 0) || (choice.gain > 0 && foretells);
    if (!pays || choice.gain <= most) continue;
    most = choice.gain;
    best = choice;
  }
  return best;
}

}  // namespace

std::optional<BentChoice> choose_bend(ZoneModel& model, double plugged_below,
                                      ZoneCondition& condition, const Work& work) {
  if (model.crop_data() == 0 || model.holes() == 0) return std::nullopt;
  const ZoneModel& tried = model.coarser() == nullptr ? model : *model.coarser();
  auto estimate = tried.estimate(condition.fit.parameters);
  if (!estimate) return std::nullopt;
  const auto best =
      best_bend({tried, *std::move(estimate), condition.fit.parameters, condition.clogging}, work);
  if (!best) return std::nullopt;
  ZoneCondition about = condition;
  for (int pass = 0; pass < bending_passes; ++pass) {
    model.bend_crop(best->kink, about.estimate, about.fit.parameters.emitter);
    auto next = zone_condition(model, plugged_below, about.fit.parameters, work);
    if (!next) {
      model.bend_crop({}, condition.estimate, condition.fit.parameters.emitter);
      if (auto again = zone_condition(model, plugged_below, condition.fit.parameters, work))
        condition = *std::move(again);
      return std::nullopt;
    }
    about = *std::move(next);
  }
  condition = std::move(about);
  return best;
}

}  // namespace evendrip
