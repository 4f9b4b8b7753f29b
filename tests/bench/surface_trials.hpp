// SPDX-License-Identifier: Apache-2.0
// One field tried: every estimator on the same holes, scored at every emitter.
#pragma once

#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>
#include <string>
#include <vector>

#include "evendrip/surface/comparison.hpp"
#include "evendrip/surface/fit_limits.hpp"
#include "evendrip/surface/line_candidates.hpp"
#include "evendrip/surface/model_choice.hpp"
#include "evendrip/surface/prediction.hpp"
#include "evendrip/surface/random_field.hpp"

#include "surface_scenarios.hpp"

namespace evendrip::bench {

/// The first knows the lateral; the others are its competitors.
constexpr std::array<const char*, 4> method_names = {"line-aware", "ordinary kriging",
                                                     "inverse distance", "zone mean"};

struct Method {
  double place = 0;     ///< root mean square error against what places share
  double own = 0;       ///< against every emitter with its own luck
  double coverage = 0;  ///< share of the places within the 90 % limits
};

struct FieldTrial {
  int field = 0;
  Trouble trouble = Trouble::clean;
  bool closed = true;
  double severity = 0;
  int holes = 0;
  std::string chosen;
  std::array<Method, method_names.size()> methods;
};

/// `freedom`: of the 90 % limits; NaN errors and errors of 0 hold nothing.
inline Method scored(const ScenarioField& field, const std::vector<Prediction>& predicted,
                     double freedom) {
  const double reach = student_limits({0, 1}, 0.90, freedom).upper;
  Method method;
  const auto n = static_cast<double>(predicted.size());
  for (std::size_t i = 0; i < predicted.size(); ++i) {
    const double off = predicted[i].value - field.place[i];
    method.place += off * off / n;
    method.own += std::pow(predicted[i].value - field.own[i], 2) / n;
    method.coverage += std::abs(off) <= reach * std::sqrt(predicted[i].variance) ? 1 / n : 0;
  }
  method.place = std::sqrt(method.place);
  method.own = std::sqrt(method.own);
  return method;
}

/// Mapped from a fit, with the limits that the fit can vouch for.
inline Method scored(const ScenarioField& field, const Samples& samples, const SurfaceFit& fit) {
  const FitAssurance assurance = assurance_of(fit);
  PredictionOptions options;
  options.target = assurance.target;
  const SurfacePredictor predictor(observations_of(samples), fit.model, options);
  return scored(field, predictor.at(field.sites, {}), assurance.freedom);
}

inline FieldTrial tried(const ScenarioField& field, int number, const Digging& digging) {
  const Samples samples = dig(field, digging);
  FieldTrial trial;
  trial.field = number;
  trial.trouble = field.scenario.trouble;
  trial.closed = field.scenario.closed;
  trial.severity = field.scenario.severity;
  trial.holes = static_cast<int>(samples.size());
  const std::vector<Candidate> candidates = line_candidates(field.system, samples);
  const ModelChoice choice = choose_model(samples, candidates, {}, {});
  if (choice.chosen < 0) throw std::logic_error("no model could be fitted");
  trial.chosen = choice.table[static_cast<std::size_t>(choice.chosen)].name;
  trial.methods[0] = scored(field, samples, choice.fit);
  const std::array<Estimator, 3> competitors = {
      ordinary_kriging_estimator(32), inverse_distance_estimator(2, 32), zone_mean_estimator()};
  for (std::size_t i = 0; i < competitors.size(); ++i)
    trial.methods[i + 1] = scored(field, competitors[i].predict(samples, field.sites),
                                  std::numeric_limits<double>::infinity());
  return trial;
}

/// Dug three times.
inline std::vector<FieldTrial> tried(const ScenarioField& field, int number) {
  std::vector<FieldTrial> trials;
  for (const Digging& digging : all_diggings) trials.push_back(tried(field, number, digging));
  return trials;
}

/// What a field is drawn from for the coverage of the limits: lateral effects, and patches longer
/// along the laterals than across, about a mean that falls along the laterals.
inline SurfaceModel drawn_model(const ScenarioField& field) {
  const Line& line = field.system.laterals[0].line;
  constexpr double degrees = 180 / std::numbers::pi;
  CorrelationFactor patch;
  patch.range_m = 40;
  patch.ratio = 0.25;
  patch.azimuth_deg =
      degrees * std::atan2(line.back().x - line.front().x, line.back().y - line.front().y);
  CorrelationFactor lateral;
  lateral.metric = Metric::same_lateral;
  SurfaceModel model;
  model.trend = {constant_term(), station_term(field.system, 1)};
  model.covariance.terms = {{"laterals", 0.0016, {lateral}}, {"local", 0.0049, {patch}}};
  model.nugget = 0.0009;
  return model;
}

struct CoverageTrial {
  int holes = 0;
  double known = 0;     ///< coverage with the parameters known
  double refitted = 0;  ///< with the parameters fitted again
  double chosen = 0;    ///< with the model chosen among the candidates
};

/// The layout of a scenario with values drawn from the model instead of its own.
inline std::vector<CoverageTrial> covered(const SurfaceScenario& s) {
  ScenarioField field = made_field(s);
  const SurfaceModel model = drawn_model(field);
  const std::vector<double> drawn =
      RandomField(model.covariance, 512, item_seed(s.seed, {8}), 0).at(field.sites);
  Chance chance(s.seed, 9);
  for (std::size_t i = 0; i < field.sites.size(); ++i) {
    const double length_m =
        field.system.laterals[static_cast<std::size_t>(field.sites[i].lateral)].length_m;
    field.place[i] = 1 - 0.1 * field.sites[i].station_m / length_m + drawn[i];
    // The error of catching is relative to the catch; here to the mean, as its variance is stated.
    field.dug[i] =
        field.place[i] + std::sqrt(model.nugget + stated_cv * stated_cv) * chance.normal();
  }
  std::vector<CoverageTrial> trials;
  for (const Digging& digging : all_diggings) {
    const Samples samples = dig(field, digging);
    const SurfaceObservations observations = observations_of(samples);
    CoverageTrial trial;
    trial.holes = static_cast<int>(samples.size());
    SurfaceFit known;
    known.model = model;
    trial.known = scored(field, samples, known).coverage;
    trial.refitted = scored(field, samples, fit_surface(observations, model, {}, {})).coverage;
    trial.chosen = scored(field, samples,
                          choose_model(samples, line_candidates(field.system, samples), {}, {}).fit)
                       .coverage;
    trials.push_back(trial);
  }
  return trials;
}

}  // namespace evendrip::bench
