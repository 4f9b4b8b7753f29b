// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/plugging.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <stdexcept>

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/students_t.hpp>

namespace evendrip {
namespace {

void require_confidence(double confidence) {
  if (!(confidence > 0 && confidence < 1)) {
    throw std::invalid_argument("the confidence is not between 0 and 1");
  }
}

void require_share(double share) {
  if (!(share >= 0 && share <= 1)) throw std::invalid_argument("a share is not in 0 to 1");
}

/// Plugged emitters on the laterals of a sample.
struct Laterals {
  std::vector<int> emitters;
  std::vector<int> plugged;
};

Laterals count_laterals(const EmitterSample& sample, double plugged_at_lph) {
  const SampleLevels levels = levels_of(sample);
  Laterals laterals;
  laterals.emitters.assign(static_cast<std::size_t>(levels.laterals), 0);
  laterals.plugged = laterals.emitters;
  for (std::size_t i = 0; i < sample.emitters.size(); ++i) {
    const auto lateral = static_cast<std::size_t>(levels.lateral[i]);
    ++laterals.emitters[lateral];
    if (sample.emitters[i].discharge_lph <= plugged_at_lph) ++laterals.plugged[lateral];
  }
  return laterals;
}

/// Mean number of emitters on the lateral of an emitter.
double crowding(const std::vector<int>& emitters) {
  double squares = 0;
  double sum = 0;
  for (const int m : emitters) {
    squares += static_cast<double>(m) * m;
    sum += m;
  }
  return sum > 0 ? squares / sum : 0;
}

/// Analysis-of-variance estimate of the correlation within laterals of a yes-or-no variable
/// (Fleiss 1981, "Statistical Methods for Rates and Proportions", chapter 13; from memory); 0 where
/// there is nothing to tell it from.
double correlation_of(const Laterals& laterals) {
  const auto groups = static_cast<double>(laterals.emitters.size());
  const double n = std::accumulate(laterals.emitters.begin(), laterals.emitters.end(), 0.0);
  const double x = std::accumulate(laterals.plugged.begin(), laterals.plugged.end(), 0.0);
  if (groups < 2 || n <= groups || x == 0 || x == n) return 0;
  double between = 0;
  double within = 0;
  for (std::size_t l = 0; l < laterals.emitters.size(); ++l) {
    const double m = laterals.emitters[l];
    const double share = laterals.plugged[l] / m;
    between += m * (share - x / n) * (share - x / n);
    within += m * share * (1 - share);
  }
  const double mean_between = between / (groups - 1);
  const double mean_within = within / (n - groups);
  const double typical = (n - crowding(laterals.emitters)) / (groups - 1);
  const double sum = mean_between + (typical - 1) * mean_within;
  return sum > 0 ? std::clamp((mean_between - mean_within) / sum, 0.0, 1.0) : 0;
}

/// Squared ratio of the t quantiles of many and of few degrees of freedom.
double freedom_factor(double confidence, int emitters, int laterals) {
  const double p = 0.5 + 0.5 * confidence;
  const double many = quantile(boost::math::students_t(emitters - 1), p);
  const double few = quantile(boost::math::students_t(laterals - 1), p);
  return (many / few) * (many / few);
}

/// Kish's factor by which unequal weights enlarge the variance; 1 for equal ones.
double weight_factor(const EmitterSample& sample) {
  double sum = 0;
  double squares = 0;
  for (const SampledEmitter& e : sample.emitters) {
    sum += e.weight;
    squares += e.weight * e.weight;
  }
  return static_cast<double>(sample.emitters.size()) * squares / (sum * sum);
}

double weighted_share(const EmitterSample& sample, double plugged_at_lph) {
  double sum = 0;
  double plugged = 0;
  for (const SampledEmitter& e : sample.emitters) {
    sum += e.weight;
    if (e.discharge_lph <= plugged_at_lph) plugged += e.weight;
  }
  return std::min(1.0, plugged / sum);
}

void require_sample(const EmitterSample& sample) {
  if (sample.emitters.empty()) throw std::invalid_argument("the sample is empty");
  for (const SampledEmitter& e : sample.emitters) {
    if (!std::isfinite(e.discharge_lph) || e.discharge_lph < 0) {
      throw std::invalid_argument("a discharge is negative or not finite");
    }
    if (!std::isfinite(e.weight) || e.weight <= 0) {
      throw std::invalid_argument("a weight is not above 0");
    }
  }
}

}  // namespace

ShareLimits exact_share_limits(double count, double sample, double confidence) {
  require_confidence(confidence);
  if (!(count >= 0 && sample >= count && std::isfinite(sample))) {
    throw std::invalid_argument("the count is not between 0 and the size of the sample");
  }
  const double tail = 0.5 * (1 - confidence);
  ShareLimits limits;
  if (count > 0) {
    limits.lower = quantile(boost::math::beta_distribution<>(count, sample - count + 1), tail);
  }
  if (count < sample) {
    limits.upper =
        quantile(complement(boost::math::beta_distribution<>(count + 1, sample - count), tail));
  }
  return limits;
}

double chance_of_missing(double share, int emitters) {
  require_share(share);
  if (emitters < 0) throw std::invalid_argument("the number of emitters is negative");
  return std::pow(1 - share, emitters);
}

double chance_of_missing(double share, const std::vector<int>& emitters_by_lateral,
                         double correlation) {
  require_share(share);
  if (!(correlation >= 0 && correlation < 1)) {
    throw std::invalid_argument("the correlation is not from 0 to below 1");
  }
  double chance = 1;
  for (const int emitters : emitters_by_lateral) {
    if (emitters < 0) throw std::invalid_argument("the number of emitters is negative");
    for (int j = 0; j < emitters; ++j) {
      chance *= ((1 - share) * (1 - correlation) + j * correlation) /
                ((1 - correlation) + j * correlation);
    }
  }
  return chance;
}

PluggedShare measure_plugging(const EmitterSample& sample, const PluggingOptions& options) {
  require_sample(sample);
  require_confidence(options.confidence);
  if (!(options.assumed_correlation >= 0 && options.assumed_correlation < 1)) {
    throw std::invalid_argument("the assumed correlation is not from 0 to below 1");
  }
  const Laterals laterals = count_laterals(sample, options.plugged_at_lph);
  PluggedShare result;
  result.emitters = static_cast<int>(sample.emitters.size());
  result.laterals = static_cast<int>(laterals.emitters.size());
  result.plugged = std::accumulate(laterals.plugged.begin(), laterals.plugged.end(), 0);
  result.share = weighted_share(sample, options.plugged_at_lph);
  result.exact = exact_share_limits(result.plugged, result.emitters, options.confidence);
  const double seen = correlation_of(laterals);
  result.correlation_assumed = seen <= options.assumed_correlation;
  result.correlation = std::max(seen, options.assumed_correlation);
  const double design = 1 + (crowding(laterals.emitters) - 1) * result.correlation;
  result.effective_emitters = result.emitters / (design * weight_factor(sample));
  if (!result.correlation_assumed) {
    result.effective_emitters *=
        freedom_factor(options.confidence, result.emitters, result.laterals);
  }
  result.clustered = exact_share_limits(result.share * result.effective_emitters,
                                        result.effective_emitters, options.confidence);
  const double correlation = std::min(result.correlation, 0.999);
  for (const double share : {0.02, 0.05, 0.10}) {
    result.missed.push_back({share, chance_of_missing(share, result.emitters),
                             chance_of_missing(share, laterals.emitters, correlation)});
  }
  return result;
}

double two_part_low_quarter(double plugged_share, const std::vector<double>& runners_lph) {
  require_share(plugged_share);
  if (runners_lph.empty() || plugged_share >= 0.25) return 0;
  const double mean = mean_of(runners_lph);
  if (mean == 0) return 0;
  std::vector<double> sorted = runners_lph;
  std::sort(sorted.begin(), sorted.end());
  // The runners' part of the lowest quarter, as a share of the runners.
  const double part = (0.25 - plugged_share) / (1 - plugged_share);
  const double count = part * static_cast<double>(sorted.size());
  double sum = 0;
  double left = count;
  for (std::size_t i = 0; i < sorted.size() && left > 0; ++i, left -= 1) {
    sum += std::min(left, 1.0) * sorted[i];
  }
  return (0.25 - plugged_share) / 0.25 * (sum / count) / ((1 - plugged_share) * mean);
}

}  // namespace evendrip
