// SPDX-License-Identifier: Apache-2.0
// Figures of many trials: medians, limits, the best competitor of a kind of trouble.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <iterator>
#include <utility>
#include <vector>

#include "condition_trials.hpp"

namespace evendrip::bench {

using Trials = std::vector<ConditionTrial>;
using Of = std::function<double(const ConditionTrial&)>;
using Wanted = std::function<bool(const ConditionTrial&)>;

inline std::vector<double> each(const Trials& trials, const Of& of) {
  std::vector<double> values;
  for (const ConditionTrial& trial : trials) values.push_back(of(trial));
  return values;
}
inline double mean_of(const Trials& trials, const Of& of) {
  double sum = 0;
  for (const ConditionTrial& trial : trials) sum += of(trial);
  return sum / static_cast<double>(trials.size());
}
inline double quantile(std::vector<double> values, double share) {
  if (values.empty()) return std::nan("");
  std::sort(values.begin(), values.end());
  return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1) + 0.5)];
}
inline Trials those(const Trials& trials, const Wanted& wanted) {
  Trials some;
  std::copy_if(trials.begin(), trials.end(), std::back_inserter(some), wanted);
  return some;
}
inline Trials of_kind(const Trials& trials, ConditionTrouble kind) {
  return those(trials, [&](const ConditionTrial& t) { return t.scenario.trouble == kind; });
}

/// 90 % limits of a median, from order statistics (normal approximation of the binomial ranks).
inline std::pair<double, double> median_limits(std::vector<double> values) {
  if (values.empty()) return {std::nan(""), std::nan("")};
  std::sort(values.begin(), values.end());
  const auto n = static_cast<double>(values.size());
  const double rank = std::floor((n - 1.645 * std::sqrt(n)) / 2);
  const auto low = static_cast<std::size_t>(std::max(0.0, rank));
  return {values[low], values[values.size() - 1 - low]};
}

inline std::size_t best_competitor(const Trials& trials) {
  std::size_t best = first_competitor;
  double least = 0;
  for (std::size_t m = first_competitor; m < condition_methods.size(); ++m) {
    const double median = median_of(each(trials, [&](const auto& t) { return t.errors[m]; }));
    if (m == first_competitor || median < least) {
      least = median;
      best = m;
    }
  }
  return best;
}

inline std::vector<double> ratios(const Trials& trials, std::size_t to) {
  return each(trials, [&](const auto& t) { return t.errors[0] / t.errors[to]; });
}

inline std::vector<ConditionTrouble> kinds_in(const Trials& trials) {
  std::vector<ConditionTrouble> kinds;
  for (std::size_t k = 0; k < condition_trouble_names.size(); ++k) {
    const auto kind = static_cast<ConditionTrouble>(k);
    if (!of_kind(trials, kind).empty()) kinds.push_back(kind);
  }
  return kinds;
}

/// Of perfect knowledge: own make and luck over 10 m cannot be known, so no estimate does better.
inline std::vector<double> perfect_ratios(const Trials& trials, std::size_t to) {
  return each(trials, [&](const auto& t) { return t.floor / t.errors[to]; });
}

/// Some 10 m mean, without own make and luck, is low in truth.
inline bool lowers_some_place(const ConditionTrial& trial) {
  return trial.deepest < low_below;
}
inline bool fine_and_closed(const ConditionScenario& scenario) {
  return scenario.closed && scenario.pixel_over_spacing <= 1;
}
inline bool fine_and_closed(const ConditionTrial& trial) {
  return fine_and_closed(trial.scenario);
}

}  // namespace evendrip::bench
