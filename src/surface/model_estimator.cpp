// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/model_choice.hpp"
#include "evendrip/surface/prediction.hpp"

#include "joint_samples.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace evendrip {
namespace {

constexpr Prediction unknown{std::numeric_limits<double>::quiet_NaN(),
                             std::numeric_limits<double>::quiet_NaN()};

std::vector<Site> sites_of(const Samples& samples) {
  std::vector<Site> sites;
  sites.reserve(samples.size());
  for (const Sample& sample : samples) sites.push_back(sample.site);
  return sites;
}

std::vector<double> values_of(const TrendTerm& term, std::span<const Site> sites) {
  std::vector<double> values(sites.size());
  term.fill(sites, values);
  return values;
}

/// The trend that some samples can tell, and the sites it can be told for: a zone of which no
/// sample is left has neither.
struct Told {
  SurfaceTrend trend;
  std::vector<std::size_t> sites;
};
Told told_by(const Samples& known, const SurfaceTrend& trend, std::span<const Site> sites) {
  const std::vector<Site> at = sites_of(known);
  std::vector<char> lost(sites.size(), 0);
  Told out;
  for (const TrendTerm& term : trend) {
    const std::vector<double> values = values_of(term, at);
    if (std::any_of(values.begin(), values.end(), [](double v) { return v != 0; })) {
      out.trend.push_back(term);
      continue;
    }
    const std::vector<double> there = values_of(term, sites);
    for (std::size_t i = 0; i < sites.size(); ++i)
      if (there[i] != 0) lost[i] = 1;
  }
  for (std::size_t i = 0; i < sites.size(); ++i)
    if (lost[i] == 0) out.sites.push_back(i);
  return out;
}

std::vector<Prediction> predicted(const Samples& known, const SurfaceModel& model,
                                  std::span<const Site> sites) {
  std::vector<Prediction> out(sites.size(), unknown);
  Told told = told_by(known, model.trend, sites);
  if (known.empty() || (told.trend.empty() && !model.trend.empty())) return out;
  SurfaceModel reduced = model;
  reduced.trend = std::move(told.trend);
  std::vector<Site> wanted;
  wanted.reserve(told.sites.size());
  for (const std::size_t i : told.sites) wanted.push_back(sites[i]);
  if (!JointSamples(known, reduced).solvable()) return out;  // too few are left for this model
  PredictionOptions options;
  options.use = DataUse::all;
  options.target = Target::emitter;
  const SurfacePredictor predictor(observations_of(known), reduced, options);
  const std::vector<Prediction> there = predictor.at(wanted, {});
  for (std::size_t k = 0; k < wanted.size(); ++k) out[told.sites[k]] = there[k];
  return out;
}

}  // namespace

Estimator model_estimator(std::string name, const SurfaceModel& model) {
  return {std::move(name), [model](const Samples& known, std::span<const Site> sites) {
            return predicted(known, model, sites);
          }};
}

}  // namespace evendrip
