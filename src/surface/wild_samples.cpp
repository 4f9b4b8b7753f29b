// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/model_choice.hpp"

#include "evendrip/base/error.hpp"
#include "evendrip/base/median.hpp"

#include "joint_samples.hpp"
#include "left_out.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

/// Standard deviation of a normal distribution over its median absolute deviation.
constexpr double normal_over_mad = 1.4826;
constexpr int fewest_for_lateral_median = 4;
constexpr int most_rounds = 20;
constexpr int fewest_to_judge = 8;
constexpr double hardly = 1e-4;  ///< weight of what is wild among the medians, in the first round
/// More wild ones than this share are no longer a few records but how the field is.
constexpr double most_wild_frac = 0.1;

/// A sample against all others.
struct Standing {
  double predicted = 0;
  double error = 0;     ///< observed less predicted
  double variance = 0;  ///< of the error, without what was added to hold the sample
};

double weight_of(double score, double limit) {
  return std::min(1.0, limit / std::max(std::abs(score), limit));
}

/// Least standard error that counts, as a share of the typical value: nobody catches water more
/// exactly (common practice, no source). Of values that are all but equal the smallest difference
/// would be wild otherwise.
constexpr double least_error_frac = 0.01;

double least_error(const Samples& samples) {
  std::vector<double> sizes;
  for (const Sample& sample : samples) sizes.push_back(std::abs(sample.value));
  return std::max(least_error_frac * median_of(sizes), 1e-12);
}

double robust_scale(std::span<const double> deviations) {
  std::vector<double> sizes;
  for (const double d : deviations)
    if (std::isfinite(d)) sizes.push_back(std::abs(d));
  return normal_over_mad * median_of(sizes);
}

/// Scores of the samples against the median of their lateral where that has enough, else of their
/// zone.
std::vector<double> scores_against_medians(const Samples& samples, double least) {
  std::map<int, std::vector<double>> zones;
  std::map<int, std::vector<double>> laterals;
  for (const Sample& sample : samples) {
    zones[sample.site.zone].push_back(sample.value);
    if (sample.site.lateral >= 0) laterals[sample.site.lateral].push_back(sample.value);
  }
  std::vector<double> errors;
  std::map<int, std::vector<double>> by_zone;
  for (const Sample& sample : samples) {
    const auto lateral = laterals.find(sample.site.lateral);
    const bool enough = lateral != laterals.end() &&
                        static_cast<int>(lateral->second.size()) >= fewest_for_lateral_median;
    errors.push_back(sample.value - median_of(enough ? lateral->second : zones[sample.site.zone]));
    by_zone[sample.site.zone].push_back(errors.back());
  }
  for (std::size_t i = 0; i < samples.size(); ++i)
    errors[i] /= std::max(robust_scale(by_zone[samples[i].site.zone]), least);
  return errors;
}

/// How the samples stand while they are being held.
struct Held {
  std::vector<Standing> standing;
  /// By which the errors are wider than the model says: from the first round, in which those that
  /// are wild among the medians hardly count, and kept, lest the wild ones widen it.
  std::optional<double> scale;
  std::vector<double> scores;
  std::vector<double> weights;
};

void weigh(Held& held, double limit, std::span<const std::uint8_t> trusted) {
  held.weights.clear();
  for (std::size_t i = 0; i < held.scores.size(); ++i) {
    const bool sure = !trusted.empty() && trusted[i] != 0;
    held.weights.push_back(sure ? 1 : weight_of(held.scores[i], limit));
  }
}

/// What the prediction moves by a sample is bounded as by Huber's function of its error: its gain,
/// prior over prior and noise together, falls to the weight's share of itself.
double added_noise(const Held& held, std::size_t i) {
  return held.standing[i].variance * (1 / held.weights[i] - 1);
}

/// `factor`: of the variances that the model says.
Samples with_noise_added(const Samples& samples, const Held& held, double factor) {
  Samples out = samples;
  for (std::size_t i = 0; i < out.size(); ++i)
    out[i].noise_variance += factor * added_noise(held, i);
  return out;
}

Held start(const Samples& samples, const SurfaceModel& model, double least) {
  Held held;
  for (const Sample& sample : samples) {
    const double variance =
        variance_at(model.covariance, sample.site) + model.nugget + sample.noise_variance;
    held.standing.push_back({sample.value, 0, variance});
  }
  held.scores = scores_against_medians(samples, least);
  return held;
}

/// Where a sample cannot be predicted from the others it stands as before.
void stand_against_others(const Samples& samples, const SurfaceModel& model, double least,
                          Held& held) {
  const JointSamples joint(with_noise_added(samples, held, 1), model);
  if (!joint.solvable()) return;
  std::vector<double> scaled;
  std::vector<std::size_t> seen_ones;
  std::vector<Standing> standing = held.standing;
  for (const std::vector<int>& group : groups_left_out(samples, LeaveOut::emitter)) {
    const SeenFromOthers seen = joint.from_others(group);
    for (std::size_t k = 0; k < seen.errors.size(); ++k) {
      const auto i = static_cast<std::size_t>(group[k]);
      const double own = std::max(seen.variances[k] - added_noise(held, i), least * least);
      standing[i] = {samples[i].value - seen.errors[k], seen.errors[k], own};
      scaled.push_back(seen.errors[k] / std::sqrt(own));
      seen_ones.push_back(i);
    }
  }
  held.standing = std::move(standing);
  if (!held.scale) held.scale = robust_scale(scaled);
  for (const std::size_t i : seen_ones) {
    const Standing& s = held.standing[i];
    held.scores[i] = s.error / std::max(*held.scale * std::sqrt(s.variance), least);
  }
}

double largest_change(std::span<const double> a, std::span<const double> b) {
  double most = 0;
  for (std::size_t i = 0; i < a.size(); ++i) most = std::max(most, std::abs(a[i] - b[i]));
  return most;
}

std::vector<WildSample> wild_ones(const Samples& samples, const Held& held) {
  std::vector<WildSample> wild;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    if (held.weights[i] < 1)
      wild.push_back({static_cast<int>(i), samples[i].value, held.standing[i].predicted,
                      held.scores[i], held.weights[i]});
  }
  std::stable_sort(wild.begin(), wild.end(), [](const WildSample& a, const WildSample& b) {
    return std::abs(a.score) > std::abs(b.score);
  });
  return wild;
}

Held held_ones(const Samples& samples, const SurfaceModel& model, double limit, const Work& work,
               std::span<const std::uint8_t> trusted) {
  const double least = least_error(samples);
  Held held = start(samples, model, least);
  weigh(held, limit, trusted);
  for (double& weight : held.weights)
    if (weight < 1) weight = hardly;
  for (int round = 0; round < most_rounds; ++round) {
    if (work.stop.stop_requested()) throw Interrupted();
    const std::vector<double> before = held.weights;
    stand_against_others(samples, model, least, held);
    weigh(held, limit, trusted);
    if (largest_change(before, held.weights) < 1e-3) break;
  }
  return held;
}

std::string in_words(std::size_t wild, std::size_t samples, bool too_many) {
  if (too_many)
    return fmt::format(
        "{} of {} samples differ wildly from the others: no longer a few records but how the field "
        "is; none is held",
        wild, samples);
  return fmt::format("{} of {} samples {} wildly from the others and {} less", wild, samples,
                     wild == 1 ? "differs" : "differ", wild == 1 ? "counts" : "count");
}

}  // namespace

RobustSamples with_wild_ones_held(const Samples& samples, const SurfaceModel& model, double limit,
                                  const Work& work, std::span<const std::uint8_t> trusted) {
  if (!(limit > 0)) throw std::invalid_argument("the limit of wild samples is not above 0");
  if (!trusted.empty() && trusted.size() != samples.size())
    throw std::invalid_argument("there is not one flag of trust for each sample");
  RobustSamples out{samples, {}, {}};
  if (static_cast<int>(samples.size()) < fewest_to_judge) {
    out.why = "too few samples to call one wild";
    return out;
  }
  const Held held = held_ones(samples, model, limit, work, trusted);
  if (!held.scale) {
    out.why = "the equations of the model could not be solved";
    return out;
  }
  std::vector<WildSample> wild = wild_ones(samples, held);
  if (wild.empty()) return out;
  const double few = std::max(1.0, most_wild_frac * static_cast<double>(samples.size()));
  const bool too_many = static_cast<double>(wild.size()) > few;
  out.why = in_words(wild.size(), samples.size(), too_many);
  if (too_many) return out;
  // As wide as the errors are, not as the model says: it is to be fitted anew to these.
  out.samples = with_noise_added(samples, held, *held.scale * *held.scale);
  out.wild = std::move(wild);
  return out;
}

std::vector<double> influence(const Samples& samples, const SurfaceModel& model,
                              std::span<const Site> sites, const Work& work) {
  std::vector<double> out(samples.size(), std::numeric_limits<double>::quiet_NaN());
  const JointSamples joint(samples, model);
  const std::vector<double> weights = joint.weights_of_mean(sites, work);
  if (weights.empty()) return out;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const std::vector<int> alone{static_cast<int>(i)};
    const SeenFromOthers seen = joint.from_others(alone);
    if (!seen.errors.empty()) out[i] = weights[i] * seen.errors[0];
  }
  return out;
}

}  // namespace evendrip
