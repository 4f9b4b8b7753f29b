// SPDX-License-Identifier: Apache-2.0
#include "total_variance.hpp"

#include "restricted_likelihood.hpp"

#include <Eigen/Dense>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/tools/minima.hpp>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

// Shares of the whole that lie above the emitters: a grid, then refined.
constexpr int share_steps = 12;
constexpr double most_share = 0.9999;
constexpr int search_bits = 12;
constexpr int bisections = 30;
// A limit lies within these factors of the sample variance, as logarithms.
constexpr double farthest_log = 12;

/// Where f is largest over 0 to `end`, and its value.
template <typename F>
std::pair<double, double> best_share(const F& f, double end) {
  std::pair<double, double> best(0, f(0.0));
  const double step = end / share_steps;
  for (int i = 1; i <= share_steps; ++i) {
    const double value = f(i * step);
    if (value > best.second) best = {i * step, value};
  }
  const auto [share, negative] = boost::math::tools::brent_find_minima(
      [&](double s) { return -f(s); }, std::max(0.0, best.first - step),
      std::min(end, best.first + step), search_bits);
  return -negative > best.second ? std::pair(share, -negative) : best;
}

/// A sample, its groups numbered, and how it is grouped.
class NestedSample {
 public:
  explicit NestedSample(std::span<const GroupedValue> values) {
    std::vector<GroupedValue> own(values.begin(), values.end());
    // On one lateral alone the pits are the groups.
    const bool one_lateral = std::all_of(own.begin(), own.end(), [&](const GroupedValue& v) {
      return v.lateral >= 0 && v.lateral == own.front().lateral;
    });
    for (GroupedValue& v : own) {
      if (one_lateral) v.lateral = std::exchange(v.pit, -1);
    }
    int next = 0;
    for (const GroupedValue& v : own) next = std::max(next, v.lateral + 1);
    for (GroupedValue& v : own) {
      if (v.lateral < 0) v.lateral = next++;
    }
    grouping_ = grouping_of(own, PitLevel::where_data_allow);
    sums_ = nested_sums(own, grouping_);
  }

  double variance() const { return sums_.total_yy / (sums_.emitters - 1); }

  double chance_above(double variance) const {
    const Variances at = divided(variance);
    const auto [first, second, third] = cumulants(at);
    const double freedom = second * second * second / (third * third);
    const double x = (sums_.total_yy - first) * std::sqrt(freedom / second) + freedom;
    if (x <= 0) return 1;
    return cdf(complement(boost::math::chi_squared_distribution<double>(freedom), x));
  }

 private:
  struct Cumulants {
    double first = 0;
    double second = 0;
    double third = 0;
  };

  bool has_levels() const {
    const auto groups = static_cast<double>(sums_.laterals.size());
    return groups > 1 && sums_.emitters > groups;
  }

  /// The likeliest division of a whole variance.
  Variances divided(double variance) const {
    const auto at = [&](double lateral, double pit) {
      return Variances{lateral * variance, pit * variance, (1 - lateral - pit) * variance};
    };
    const auto height = [&](double lateral, double pit) {
      return log_likelihood(sums_, FixedPart::mean, at(lateral, pit));
    };
    if (!has_levels()) return at(0, 0);
    if (grouping_ == Grouping::laterals) {
      return at(best_share([&](double l) { return height(l, 0); }, most_share).first, 0);
    }
    const auto best_pit = [&](double lateral) {
      return best_share([&](double p) { return height(lateral, p); }, most_share - lateral);
    };
    const double lateral =
        best_share([&](double l) { return best_pit(l).second; }, 0.99 * most_share).first;
    return at(lateral, best_pit(lateral).first);
  }

  /// Traces of powers of the covariance about the mean: emitters within a pit (or within a lateral
  /// where pits are no level) each hold the within variance; what is left has one row a pit.
  Cumulants cumulants(const Variances& at) const {
    std::vector<double> sizes;
    std::vector<std::size_t> laterals;
    for (std::size_t l = 0; l < sums_.laterals.size(); ++l) {
      double in_lateral = 0;
      for (const PitSums& pit : sums_.laterals[l]) {
        in_lateral += pit.emitters;
        if (grouping_ == Grouping::laterals) continue;
        sizes.push_back(pit.emitters);
        laterals.push_back(l);
      }
      if (grouping_ != Grouping::laterals) continue;
      sizes.push_back(in_lateral);
      laterals.push_back(l);
    }
    const auto rows = static_cast<Eigen::Index>(sizes.size());
    const Eigen::Map<const Eigen::VectorXd> size(sizes.data(), rows);
    const Eigen::VectorXd root = size.cwiseSqrt();
    Eigen::MatrixXd covariance = Eigen::MatrixXd::Zero(rows, rows);
    for (Eigen::Index i = 0; i < rows; ++i) {
      for (Eigen::Index j = 0; j < rows; ++j) {
        if (laterals[static_cast<std::size_t>(i)] != laterals[static_cast<std::size_t>(j)])
          continue;
        covariance(i, j) = at.lateral * root(i) * root(j);
      }
      covariance(i, i) += at.pit * size(i) + at.within;
    }
    const Eigen::MatrixXd about_mean =
        covariance - root * (root.transpose() * covariance) / sums_.emitters;
    const Eigen::MatrixXd square = about_mean * about_mean;
    const double alone = sums_.emitters - static_cast<double>(rows);
    return {about_mean.trace() + alone * at.within, square.trace() + alone * at.within * at.within,
            square.cwiseProduct(about_mean.transpose()).sum() +
                alone * at.within * at.within * at.within};
  }

  Grouping grouping_ = Grouping::laterals;
  NestedSums sums_;
};

/// The whole variance at which a sample variance this large has that chance.
double variance_with_chance(const NestedSample& sample, double chance) {
  const double centre = std::log(sample.variance());
  double low = centre - farthest_log;
  double high = centre + farthest_log;
  for (int i = 0; i < bisections; ++i) {
    const double middle = 0.5 * (low + high);
    (sample.chance_above(std::exp(middle)) < chance ? low : high) = middle;
  }
  return std::exp(0.5 * (low + high));
}

}  // namespace

double chance_of_variance_above(std::span<const GroupedValue> values, double variance) {
  return NestedSample(values).chance_above(variance);
}

VarianceLimits total_variance_limits(std::span<const GroupedValue> values, double confidence) {
  const NestedSample sample(values);
  if (!(sample.variance() > 0)) return {};
  const double tail = 0.5 * (1 - confidence);
  return {variance_with_chance(sample, tail), variance_with_chance(sample, 1 - tail)};
}

}  // namespace evendrip
