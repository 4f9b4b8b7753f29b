// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/model_choice.hpp"

#include "joint_samples.hpp"
#include "left_out.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr int fewest_groups = 4;
constexpr double as_good = 0.01;  ///< nothing, in a difference of logarithms of densities

using Groups = std::vector<std::vector<int>>;

/// A candidate while it is judged.
struct Entry {
  CandidateScore score;
  std::optional<SurfaceFit> fit;
  std::vector<double> by_lateral;  ///< minus log density of each group; NaN where it cannot be told
  std::vector<double> by_emitter;

  int complexity() const { return score.trend_terms + score.covariance_parameters; }
};

std::vector<double> losses(const JointSamples& joint, const Groups& groups) {
  std::vector<double> out;
  for (const std::vector<int>& group : groups) {
    const SeenFromOthers seen = joint.from_others(group);
    out.push_back(seen.errors.empty() ? nan : -seen.log_density);
  }
  return out;
}

std::vector<Prediction> predictions(const Samples& samples, const JointSamples& joint,
                                    const Groups& groups) {
  std::vector<Prediction> out(samples.size(), Prediction{nan, nan});
  for (const std::vector<int>& group : groups) {
    const SeenFromOthers seen = joint.from_others(group);
    for (std::size_t k = 0; k < seen.errors.size(); ++k) {
      const auto i = static_cast<std::size_t>(group[k]);
      const double variance = seen.variances[k];
      out[i] = {samples[i].value - seen.errors[k],
                std::max(variance - samples[i].noise_variance, 1e-12 * variance)};
    }
  }
  return out;
}

/// What leaves out laterals, and single emitters.
struct Folds {
  Groups by_lateral;
  Groups by_emitter;
};

Entry judged(const Samples& samples, const Candidate& candidate, const Folds& folds,
             const FitOptions& options, const Work& work) {
  Entry entry;
  entry.score.name = candidate.name;
  entry.score.trend_terms = static_cast<int>(candidate.form.trend.size());
  entry.score.log_likelihood = nan;
  entry.score.penalised = nan;
  try {
    entry.fit = fit_surface(observations_of(samples), candidate.form, options, work);
  } catch (const std::invalid_argument& failure) {
    entry.score.doubt = failure.what();
    return entry;
  }
  const SurfaceModel& model = entry.fit->model;
  entry.score.covariance_parameters =
      static_cast<int>(parameters_of(model.covariance).size()) + (model.nugget > 0 ? 1 : 0);
  entry.score.log_likelihood = entry.fit->log_likelihood;
  const JointSamples joint(samples, model);
  if (!joint.solvable()) {
    entry.score.doubt = "its equations could not be solved";
    entry.fit.reset();
    return entry;
  }
  entry.by_lateral = losses(joint, folds.by_lateral);
  entry.by_emitter = losses(joint, folds.by_emitter);
  entry.score.by_lateral = score_of(samples, candidate.name, LeaveOut::lateral,
                                    predictions(samples, joint, folds.by_lateral));
  return entry;
}

using Losses = std::vector<double> Entry::*;

/// Groups whose loss every candidate can tell.
std::vector<std::size_t> told_by_all(std::span<const Entry> entries, std::size_t groups,
                                     Losses which) {
  std::vector<std::size_t> told;
  for (std::size_t g = 0; g < groups; ++g) {
    const bool all = std::all_of(entries.begin(), entries.end(), [&](const Entry& entry) {
      return !entry.fit || std::isfinite((entry.*which)[g]);
    });
    if (all) told.push_back(g);
  }
  return told;
}

/// What the candidates are judged by.
struct Judgement {
  Losses which = &Entry::by_lateral;
  std::vector<std::size_t> groups;
  LeaveOut left_out = LeaveOut::lateral;
};

/// A candidate that cannot tell what another can is no match for it.
void set_aside_the_mute(std::vector<Entry>& entries, std::size_t groups, Losses which) {
  const auto told = [&](const Entry& entry) {
    return std::count_if((entry.*which).begin(), (entry.*which).end(),
                         [](double loss) { return std::isfinite(loss); });
  };
  std::ptrdiff_t most = 0;
  for (const Entry& entry : entries)
    if (entry.fit) most = std::max(most, told(entry));
  for (Entry& entry : entries) {
    if (!entry.fit || 3 * told(entry) >= 2 * most) continue;
    entry.score.doubt = fmt::format("tells only {} of {} left out", told(entry), groups);
    entry.fit.reset();
  }
}

Judgement judgement(std::vector<Entry>& entries, const Folds& folds) {
  Judgement out;
  out.groups = told_by_all(entries, folds.by_lateral.size(), out.which);
  if (static_cast<int>(out.groups.size()) >= fewest_groups) {
    set_aside_the_mute(entries, folds.by_lateral.size(), out.which);
    out.groups = told_by_all(entries, folds.by_lateral.size(), out.which);
    return out;
  }
  out = {&Entry::by_emitter, {}, LeaveOut::emitter};
  set_aside_the_mute(entries, folds.by_emitter.size(), out.which);
  out.groups = told_by_all(entries, folds.by_emitter.size(), out.which);
  return out;
}

/// Schwarz 1978, Ann. Stat. 6:461-464: half the logarithm of the number of values for each number
/// that was fitted. Leaving out has charged the numbers of the trend already, 1 each (the price
/// that Akaike has for them), since they are estimated anew without what is foretold.
void penalise(std::vector<Entry>& entries, const Groups& groups, const Judgement& by) {
  double values = 0;
  for (const std::size_t g : by.groups) values += static_cast<double>(groups[g].size());
  const double price = 0.5 * std::log(std::max(values, 1.0));
  for (Entry& entry : entries) {
    if (!entry.fit) continue;
    entry.score.penalised = price * entry.score.covariance_parameters +
                            std::max(price - 1, 0.0) * entry.score.trend_terms;
    for (const std::size_t g : by.groups) entry.score.penalised += (entry.*by.which)[g];
  }
}

/// The lowest penalised loss; of those that are as good the simplest, then the earliest: a part
/// that vanished in the fit leaves the same model behind.
int best_of(std::span<const Entry> entries) {
  double lowest = std::numeric_limits<double>::infinity();
  for (const Entry& entry : entries)
    if (entry.fit) lowest = std::min(lowest, entry.score.penalised);
  int best = -1;
  for (std::size_t i = 0; i < entries.size(); ++i) {
    if (!entries[i].fit || entries[i].score.penalised > lowest + as_good) continue;
    if (best < 0 || entries[i].complexity() < entries[static_cast<std::size_t>(best)].complexity())
      best = static_cast<int>(i);
  }
  return best;
}

std::string reason(const Entry& chosen, const Judgement& by) {
  const bool laterals = by.left_out == LeaveOut::lateral;
  return fmt::format(
      "\"{}\" foretells {} {} that were left out best, its number of parameters allowed for{}",
      chosen.score.name, by.groups.size(), laterals ? "laterals" : "emitters",
      laterals ? "" : "; too few laterals were dug to leave out whole laterals");
}

}  // namespace

ModelChoice choose_model(const Samples& samples, std::span<const Candidate> candidates,
                         const FitOptions& options, const Work& work) {
  if (samples.empty()) throw std::invalid_argument("no samples to choose a model by");
  if (candidates.empty()) throw std::invalid_argument("no models to choose from");
  const Folds folds{groups_left_out(samples, LeaveOut::lateral),
                    groups_left_out(samples, LeaveOut::emitter)};
  std::vector<Entry> entries(candidates.size());
  Work alone;
  alone.stop = work.stop;
  for_each_chunk(work, candidates.size(), 1, [&](std::size_t i, std::size_t, int) {
    entries[i] = judged(samples, candidates[i], folds, options, alone);
  });
  const Judgement by = judgement(entries, folds);
  penalise(entries, by.left_out == LeaveOut::lateral ? folds.by_lateral : folds.by_emitter, by);
  ModelChoice choice;
  choice.chosen = best_of(entries);
  choice.why = "no model could be fitted";
  if (choice.chosen >= 0) {
    Entry& chosen = entries[static_cast<std::size_t>(choice.chosen)];
    choice.why = reason(chosen, by);
    chosen.score.chosen = true;
    if (chosen.fit) choice.fit = std::move(*chosen.fit);
  }
  for (Entry& entry : entries) choice.table.push_back(std::move(entry.score));
  return choice;
}

}  // namespace evendrip
