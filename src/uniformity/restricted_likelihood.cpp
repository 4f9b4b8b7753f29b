// SPDX-License-Identifier: Apache-2.0
#include "restricted_likelihood.hpp"

#include <boost/math/constants/constants.hpp>
#include <boost/math/tools/minima.hpp>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <map>
#include <set>
#include <tuple>
#include <utility>

namespace evendrip {
namespace {

// Logarithms of the ratios searched: beyond them a level is as good as absent or as good as all.
constexpr double lowest_log_ratio = -16;
constexpr double log_step = 2;
constexpr int log_ratio_steps = 20;
// Likewise of a variance, from this far below the logarithm of the whole.
constexpr double lowest_log_variance = -16;
constexpr int log_variance_steps = 10;
constexpr int search_bits = 30;

/// Sorted, so that sums do not depend on the order of digging.
std::vector<GroupedValue> sorted_copy(std::span<const GroupedValue> values) {
  std::vector<GroupedValue> sorted(values.begin(), values.end());
  const auto key = [](const GroupedValue& v) {
    return std::tuple(v.lateral, v.pit, v.value, v.covariate);
  };
  std::sort(sorted.begin(), sorted.end(),
            [&](const GroupedValue& a, const GroupedValue& b) { return key(a) < key(b); });
  return sorted;
}

bool same_pit(const GroupedValue& a, const GroupedValue& b, Grouping grouping) {
  if (a.lateral != b.lateral) return false;
  return grouping == Grouping::laterals || (a.pit == b.pit && a.pit >= 0);
}

struct Mean {
  double x = 0;
  double y = 0;
};

Mean mean_of(std::span<const GroupedValue> values) {
  Mean mean;
  for (const GroupedValue& v : values) {
    mean.x += v.covariate;
    mean.y += v.value;
  }
  const auto n = static_cast<double>(values.size());
  return {mean.x / n, mean.y / n};
}

void add_pit(NestedSums& sums, std::span<const GroupedValue> pit, bool new_lateral) {
  const Mean mean = mean_of(pit);
  for (const GroupedValue& v : pit) {
    const double dx = v.covariate - mean.x;
    const double dy = v.value - mean.y;
    sums.within_xx += dx * dx;
    sums.within_xy += dx * dy;
    sums.within_yy += dy * dy;
  }
  if (new_lateral) sums.laterals.emplace_back();
  sums.laterals.back().push_back({static_cast<double>(pit.size()), mean.x, mean.y});
  sums.emitters += static_cast<double>(pit.size());
  ++sums.pits;
}

/// Sums of products of weighted deviations of x and y.
struct Products {
  double xx = 0;
  double xy = 0;
  double yy = 0;
};

struct Weighted {
  double weight = 0;
  double x = 0;
  double y = 0;
};

/// The weighted mean of the parts; the products of their deviations from it are added.
Weighted gathered(std::span<const Weighted> parts, Products& products) {
  Weighted mean;
  for (const Weighted& part : parts) {
    mean.weight += part.weight;
    mean.x += part.weight * part.x;
    mean.y += part.weight * part.y;
  }
  mean.x /= mean.weight;
  mean.y /= mean.weight;
  for (const Weighted& part : parts) {
    const double dx = part.x - mean.x;
    const double dy = part.y - mean.y;
    products.xx += part.weight * dx * dx;
    products.xy += part.weight * dx * dy;
    products.yy += part.weight * dy * dy;
  }
  return mean;
}

void add_sums_about_means(NestedSums& sums, std::span<const GroupedValue> sorted) {
  const Mean all = mean_of(sorted);
  for (const GroupedValue& v : sorted) sums.total_yy += (v.value - all.y) * (v.value - all.y);
  Products products{sums.within_xx, sums.within_xy, sums.within_yy};
  std::vector<Weighted> pits;
  for (const std::vector<PitSums>& lateral : sums.laterals) {
    pits.clear();
    for (const PitSums& pit : lateral) pits.push_back({pit.emitters, pit.mean_x, pit.mean_y});
    gathered(pits, products);
  }
  sums.within_lateral_xx = products.xx;
  sums.within_lateral_xy = products.xy;
  sums.within_lateral_yy = products.yy;
}

/// Logarithm and height of the top of f(e^s), from s = lowest in steps, then refined.
template <typename F>
std::pair<double, double> top_of(const F& f, double lowest, int steps) {
  double best_log = lowest;
  double best = -std::numeric_limits<double>::infinity();
  for (int i = 0; i <= steps; ++i) {
    const double s = lowest + i * log_step;
    const double value = f(std::exp(s));
    if (value > best) std::tie(best, best_log) = std::pair(value, s);
  }
  const auto [s, negative] = boost::math::tools::brent_find_minima(
      [&](double log_ratio) { return -f(std::exp(log_ratio)); }, best_log - log_step,
      best_log + log_step, search_bits);
  return {s, -negative};
}

/// The best of f(0) and f(e^s) over s; zero where no positive ratio is better.
template <typename F>
std::pair<double, double> best_from_zero(const F& f) {
  const auto [s, best] = top_of(f, lowest_log_ratio, log_ratio_steps);
  const double at_zero = f(0.0);
  if (at_zero + 1e-10 * (1 + std::abs(at_zero)) >= best) return {0.0, at_zero};
  return {std::exp(s), best};
}

}  // namespace

Grouping grouping_of(std::span<const GroupedValue> values, PitLevel level) {
  if (level == PitLevel::none) return Grouping::laterals;
  std::map<std::pair<int, int>, int> emitters;
  std::map<int, std::set<std::pair<int, int>>> pits;
  int own = -1;
  for (const GroupedValue& v : values) {
    const std::pair<int, int> pit(v.lateral, v.pit >= 0 ? v.pit : own--);
    ++emitters[pit];
    pits[v.lateral].insert(pit);
  }
  const bool shared = std::any_of(emitters.begin(), emitters.end(),
                                  [](const auto& entry) { return entry.second > 1; });
  const bool several = std::any_of(pits.begin(), pits.end(),
                                   [](const auto& entry) { return entry.second.size() > 1; });
  return shared && several ? Grouping::pits_in_laterals : Grouping::laterals;
}

NestedSums nested_sums(std::span<const GroupedValue> values, Grouping grouping) {
  const std::vector<GroupedValue> sorted = sorted_copy(values);
  NestedSums sums;
  std::size_t begin = 0;
  for (std::size_t i = 1; i <= sorted.size(); ++i) {
    if (i < sorted.size() && same_pit(sorted[begin], sorted[i], grouping)) continue;
    const bool new_lateral = begin == 0 || sorted[begin].lateral != sorted[begin - 1].lateral;
    add_pit(sums, std::span(sorted).subspan(begin, i - begin), new_lateral);
    begin = i;
  }
  add_sums_about_means(sums, sorted);
  return sums;
}

std::vector<GroupedValue> pit_means(const NestedSums& sums) {
  std::vector<GroupedValue> means;
  for (std::size_t l = 0; l < sums.laterals.size(); ++l) {
    for (const PitSums& pit : sums.laterals[l]) {
      means.push_back({pit.mean_y, static_cast<int>(l), -1, pit.mean_x});
    }
  }
  return means;
}

GeneralisedFit generalised_fit(const NestedSums& sums, FixedPart fixed, Ratios ratios) {
  Products products{sums.within_xx, sums.within_xy, sums.within_yy};
  GeneralisedFit fit;
  std::vector<Weighted> laterals;
  std::vector<Weighted> pits;
  laterals.reserve(sums.laterals.size());
  for (const std::vector<PitSums>& lateral : sums.laterals) {
    pits.clear();
    for (const PitSums& pit : lateral) {
      const double inflation = 1 + ratios.pit * pit.emitters;
      fit.log_determinant += std::log(inflation);
      pits.push_back({pit.emitters / inflation, pit.mean_x, pit.mean_y});
    }
    Weighted mean = gathered(pits, products);
    const double inflation = 1 + ratios.lateral * mean.weight;
    fit.log_determinant += std::log(inflation);
    mean.weight /= inflation;
    laterals.push_back(mean);
  }
  const Weighted all = gathered(laterals, products);
  fit.log_determinant += std::log(all.weight);
  fit.degrees_of_freedom = sums.emitters - 1;
  fit.residual_squares = products.yy;
  fit.intercept = all.y;
  fit.intercept_variance = 1 / all.weight;
  if (fixed == FixedPart::mean) return fit;
  fit.slope = products.xy / products.xx;
  fit.slope_variance = 1 / products.xx;
  fit.intercept = all.y - fit.slope * all.x;
  fit.intercept_variance += all.x * all.x / products.xx;
  fit.residual_squares = std::max(0.0, products.yy - fit.slope * products.xy);
  fit.log_determinant += std::log(products.xx);
  fit.degrees_of_freedom -= 1;
  return fit;
}

double profiled_log_likelihood(const GeneralisedFit& fit) {
  return log_likelihood(fit, fit.residual_squares / fit.degrees_of_freedom);
}

double log_likelihood(const GeneralisedFit& fit, double within_variance) {
  const double two_pi = boost::math::constants::two_pi<double>();
  return -0.5 * (fit.degrees_of_freedom * std::log(two_pi * within_variance) + fit.log_determinant +
                 fit.residual_squares / within_variance);
}

BestRatios best_ratios(const NestedSums& sums, FixedPart fixed, Grouping grouping) {
  const auto at = [&](double lateral, double pit) {
    return profiled_log_likelihood(generalised_fit(sums, fixed, {lateral, pit}));
  };
  const auto best_lateral = [&](double pit) {
    return best_from_zero([&](double lateral) { return at(lateral, pit); });
  };
  BestRatios best;
  if (grouping == Grouping::pits_in_laterals) {
    best.ratios.pit = best_from_zero([&](double pit) { return best_lateral(pit).second; }).first;
  }
  std::tie(best.ratios.lateral, best.log_likelihood) = best_lateral(best.ratios.pit);
  return best;
}

double log_likelihood(const NestedSums& sums, FixedPart fixed, const Variances& variances) {
  const Ratios ratios{variances.lateral / variances.within, variances.pit / variances.within};
  return log_likelihood(generalised_fit(sums, fixed, ratios), variances.within);
}

double best_log_likelihood_holding(const NestedSums& sums, FixedPart fixed, Grouping grouping,
                                   HeldLevel held, double variance) {
  const double log_scale = std::log(sums.total_yy / sums.emitters);
  const auto with = [&](double within, double other_ratio) {
    Ratios ratios{variance / within, other_ratio};
    if (held == HeldLevel::pit) std::swap(ratios.lateral, ratios.pit);
    return log_likelihood(generalised_fit(sums, fixed, ratios), within);
  };
  return top_of(
             [&](double within) {
               if (grouping == Grouping::laterals) return with(within, 0);
               return best_from_zero([&](double ratio) { return with(within, ratio); }).second;
             },
             log_scale + lowest_log_variance, log_variance_steps)
      .second;
}

}  // namespace evendrip
