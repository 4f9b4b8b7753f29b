// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/plugging.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
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

void require_count(double count, double sample) {
  if (!(count >= 0 && sample >= count && std::isfinite(sample))) {
    throw std::invalid_argument("the count is not between 0 and the size of the sample");
  }
}

void require_share(double share) {
  if (!(share >= 0 && share <= 1)) throw std::invalid_argument("a share is not in 0 to 1");
}

PluggedCounts count_laterals(const EmitterSample& sample, double plugged_at_lph) {
  const SampleLevels levels = levels_of(sample);
  PluggedCounts laterals;
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
double correlation_of(const PluggedCounts& laterals) {
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

/// Emitters that an infinite population with that correlation would count for.
double effective_number(double emitters, double on_a_lateral, double correlation) {
  return emitters / (1 + (on_a_lateral - 1) * correlation);
}

/// Effective number of all emitters of the zone; infinite where the zone is not known.
double effective_zone(const DugFrom& zone, double correlation) {
  const auto laterals = static_cast<double>(zone.laterals);
  const auto each = static_cast<double>(zone.emitters_on_a_lateral);
  if (zone.laterals == 0) return std::numeric_limits<double>::infinity();
  if (zone.emitters_on_a_lateral > 0) return effective_number(laterals * each, each, correlation);
  return correlation > 0 ? laterals / correlation : std::numeric_limits<double>::infinity();
}

/// Effective number not dug that leaves what independent emitters would leave of the variance,
/// 1 - n/N over n. The correlation is an estimate, and none makes the rest more certain than that.
double independent_unseen(const DugFrom& zone, double emitters, double effective) {
  const double all = static_cast<double>(zone.laterals) * zone.emitters_on_a_lateral;
  if (!(all >= emitters)) return 0;
  const double left = (1 - emitters / all) * effective / emitters;
  return left < 1 ? effective * left / (1 - left) : std::numeric_limits<double>::infinity();
}

bool smaller_than(const DugFrom& zone, int laterals, int emitters) {
  const auto all = static_cast<std::int64_t>(zone.laterals) * zone.emitters_on_a_lateral;
  return (zone.laterals > 0 && zone.laterals < laterals) || (all > 0 && all < emitters);
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

void require_options(const PluggingOptions& options) {
  require_confidence(options.confidence);
  if (!(options.assumed_correlation >= 0 && options.assumed_correlation < 1)) {
    throw std::invalid_argument("the assumed correlation is not from 0 to below 1");
  }
  if (options.zone.laterals < 0 || options.zone.emitters_on_a_lateral < 0) {
    throw std::invalid_argument("a count of laterals or emitters is negative");
  }
}

void scale_effective(PluggedShare& plugged, double factor) {
  plugged.effective_emitters *= factor;
  plugged.effective_unseen *= factor;
}

ShareLimits clustered_limits(const PluggedShare& plugged, double confidence) {
  ShareLimits limits = exact_share_limits(plugged.share * plugged.effective_emitters,
                                          plugged.effective_emitters, confidence);
  const double part = plugged.unseen_part();
  limits.lower = plugged.share + part * (limits.lower - plugged.share);
  limits.upper = plugged.share + part * (limits.upper - plugged.share);
  return limits;
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
  require_count(count, sample);
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

double PluggedShare::unseen_part() const {
  if (!std::isfinite(effective_unseen)) return 1;
  const double all = effective_emitters + effective_unseen;
  return all > 0 ? std::sqrt(effective_unseen / all) : 1;
}

PluggedShare effective_plugging(const PluggedCounts& counts, const PluggingOptions& options) {
  PluggedShare result;
  result.emitters = std::accumulate(counts.emitters.begin(), counts.emitters.end(), 0);
  result.laterals = static_cast<int>(counts.emitters.size());
  result.plugged = std::accumulate(counts.plugged.begin(), counts.plugged.end(), 0);
  if (result.emitters == 0) return result;
  result.share = static_cast<double>(result.plugged) / result.emitters;
  const double seen = correlation_of(counts);
  result.correlation_assumed = seen <= options.assumed_correlation;
  result.correlation = std::max(seen, options.assumed_correlation);
  result.effective_emitters =
      effective_number(result.emitters, crowding(counts.emitters), result.correlation);
  double zone = effective_zone(options.zone, result.correlation);
  result.more_than_zone = smaller_than(options.zone, result.laterals, result.emitters);
  if (result.more_than_zone) zone = std::numeric_limits<double>::infinity();
  result.effective_unseen =
      std::max({0.0, zone - result.effective_emitters,
                independent_unseen(options.zone, result.emitters, result.effective_emitters)});
  if (!result.correlation_assumed) {
    scale_effective(result, freedom_factor(options.confidence, result.emitters, result.laterals));
  }
  return result;
}

PluggedShare measure_plugging(const EmitterSample& sample, const PluggingOptions& options) {
  require_sample(sample);
  require_options(options);
  const PluggedCounts laterals = count_laterals(sample, options.plugged_at_lph);
  PluggedShare result = effective_plugging(laterals, options);
  result.share = weighted_share(sample, options.plugged_at_lph);
  scale_effective(result, 1 / weight_factor(sample));
  result.exact = exact_share_limits(result.plugged, result.emitters, options.confidence);
  result.clustered = clustered_limits(result, options.confidence);
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
