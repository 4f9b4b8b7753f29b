// SPDX-License-Identifier: Apache-2.0
#include "surface_study.hpp"

#include "evendrip/surface/line_candidates.hpp"

#include <algorithm>
#include <numeric>
#include <utility>

namespace evendrip {
namespace {

constexpr double wild_beyond = 3;            ///< robust standard errors; common practice, no source
constexpr std::size_t most_to_choose = 300;  ///< samples; the work grows with their cube
constexpr std::size_t fewest_to_compare = 4;

/// Ordinary kriging within zones as the only candidate: the local one, the same in all directions.
std::vector<Candidate> ordinary_kriging_alone(std::vector<Candidate> candidates) {
  const auto local = std::find_if(candidates.begin(), candidates.end(),
                                  [](const Candidate& c) { return c.name == "local"; });
  if (local == candidates.end()) return candidates;
  Candidate plain = std::move(*local);
  plain.name = "ordinary kriging";
  for (CovarianceTerm& term : plain.form.covariance.terms)
    for (CorrelationFactor& factor : term.factors) factor.ratio = 1;
  return {std::move(plain)};
}

std::vector<Candidate> candidates_for(const Field& field, const Samples& samples) {
  std::vector<Candidate> all = line_candidates(field, samples);
  if (field.analysis.method == SurfaceMethod::kriging)
    return ordinary_kriging_alone(std::move(all));
  return all;
}

/// Samples of the zones with most of them, as many whole zones as stay within the limit, but one.
Samples samples_to_choose_by(const Samples& samples) {
  if (samples.size() <= most_to_choose) return samples;
  int zones = 0;
  for (const Sample& sample : samples) zones = std::max(zones, sample.site.zone + 1);
  std::vector<std::size_t> counts(static_cast<std::size_t>(zones));
  for (const Sample& sample : samples) ++counts[static_cast<std::size_t>(sample.site.zone)];
  std::vector<std::size_t> order(counts.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return counts[a] > counts[b]; });
  std::vector<char> taken(counts.size());
  std::size_t total = 0;
  for (const std::size_t zone : order) {
    if (total > 0 && total + counts[zone] > most_to_choose) continue;
    taken[zone] = 1;
    total += counts[zone];
  }
  Samples chosen;
  for (const Sample& sample : samples)
    if (taken[static_cast<std::size_t>(sample.site.zone)] != 0) chosen.push_back(sample);
  return chosen;
}

ModelChoice chosen_for(const Field& field, const Samples& samples, std::uint64_t seed,
                       const Work& work) {
  FitOptions options;
  options.seed = seed;
  options.profile_ranges = true;
  const Samples by = samples_to_choose_by(samples);
  const std::vector<Candidate> candidates = candidates_for(field, by);
  return choose_model(by, candidates, options, work);
}

}  // namespace

SurfaceStudy study_surface(const Field& field, const Samples& samples, std::uint64_t seed,
                           const Work& work) {
  SurfaceStudy study;
  study.choice = chosen_for(field, samples, seed, work);
  study.fitted = samples;
  if (field.analysis.method == SurfaceMethod::kriging) return study;
  RobustSamples held =
      with_wild_ones_held(samples, study.choice->fit.model, wild_beyond, without_progress(work));
  if (!held.wild.empty()) study.choice = chosen_for(field, held.samples, seed, work);
  study.fitted = std::move(held.samples);
  study.wild = std::move(held.wild);
  return study;
}

std::vector<EstimatorScore> compared_estimators(const Samples& samples, const SurfaceStudy& study,
                                                const Analysis& analysis, const Work& work) {
  std::vector<EstimatorScore> scores;
  if (samples.size() < fewest_to_compare) return scores;
  const int most = std::max(1, analysis.neighbours);
  std::vector<Estimator> estimators;
  if (study.choice) estimators.push_back(model_estimator("this map", study.choice->fit.model));
  for (const Estimator& other :
       {ordinary_kriging_estimator(most), inverse_distance_estimator(2, most),
        natural_neighbour_estimator(), triangulation_estimator(), lateral_mean_estimator(),
        zone_mean_estimator()})
    estimators.push_back(other);
  for (const LeaveOut left_out : {LeaveOut::emitter, LeaveOut::lateral})
    for (const Estimator& estimator : estimators)
      scores.push_back(cross_validate(samples, estimator, left_out, without_progress(work)));
  return scores;
}

}  // namespace evendrip
