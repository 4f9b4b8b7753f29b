// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/association.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include <boost/math/distributions/students_t.hpp>

#include "spread_pairs.hpp"

namespace evendrip {
namespace {

constexpr std::size_t fewest_pairs = 4;
constexpr double normal_95 = 1.6448536269514722;  ///< 95 % point of the normal distribution

std::vector<double> differences_from_mean(std::span<const double> values) {
  const double mean =
      std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
  if (!std::isfinite(mean))
    throw std::invalid_argument("correlation of numbers that are not finite");
  std::vector<double> off;
  for (const double v : values) off.push_back(v - mean);
  return off;
}

double product(std::span<const double> a, std::span<const double> b) {
  return std::inner_product(a.begin(), a.end(), b.begin(), 0.0);
}

/// Pairs of places by distance.
class DistanceClasses {
 public:
  DistanceClasses(std::span<const Point> places, int classes) : places_(places), classes_(classes) {
    double longest2 = 0;
    for (std::size_t i = 0; i < places.size(); ++i)
      for (std::size_t j = i + 1; j < places.size(); ++j)
        longest2 = std::max(longest2, squared(i, j));
    longest_m_ = std::sqrt(longest2);
    if (!std::isfinite(longest_m_))
      throw std::invalid_argument("correlation at places that are not finite");
    const double n = static_cast<double>(places.size());
    if (classes_ <= 0) classes_ = static_cast<int>(1 + 3.3 * std::log10(n * (n - 1) / 2));
  }

  std::size_t count() const { return static_cast<std::size_t>(classes_); }
  std::size_t of(std::size_t i, std::size_t j) const {
    if (!(longest_m_ > 0)) return 0;
    const int number = static_cast<int>(std::sqrt(squared(i, j)) / longest_m_ * classes_);
    return static_cast<std::size_t>(std::min(number, classes_ - 1));
  }

 private:
  double squared(std::size_t i, std::size_t j) const {
    const double dx = places_[i].x - places_[j].x;
    const double dy = places_[i].y - places_[j].y;
    return dx * dx + dy * dy;
  }

  std::span<const Point> places_;
  int classes_;
  double longest_m_ = 0;
};

/// Mean products of pairs by class, and of each value with itself.
struct Autocovariance {
  std::vector<double> by_class;
  double variance = 0;
};

Autocovariance autocovariance(std::span<const double> z, const DistanceClasses& classes) {
  Autocovariance result{std::vector<double>(classes.count(), 0.0), 0};
  std::vector<double> pairs(classes.count(), 0.0);
  for (std::size_t i = 0; i < z.size(); ++i)
    for (std::size_t j = i + 1; j < z.size(); ++j) {
      const std::size_t k = classes.of(i, j);
      result.by_class[k] += z[i] * z[j];
      pairs[k] += 1;
    }
  for (std::size_t k = 0; k < pairs.size(); ++k)
    if (pairs[k] > 0) result.by_class[k] /= pairs[k];
  result.variance = product(z, z) / static_cast<double>(z.size());
  return result;
}

/// 1 + tr(B Sx) tr(B Sy) / tr(B Sx B Sy) with B = I - 11'/n (Dutilleul 1993), by row sums of the
/// covariances Sx and Sy, which are never held.
double effective_number(const Autocovariance& x, const Autocovariance& y,
                        const DistanceClasses& classes, std::size_t items) {
  const double n = static_cast<double>(items);
  std::vector<double> rows_x(items, x.variance);
  std::vector<double> rows_y(items, y.variance);
  double both = n * x.variance * y.variance;
  for (std::size_t i = 0; i < items; ++i)
    for (std::size_t j = i + 1; j < items; ++j) {
      const std::size_t k = classes.of(i, j);
      const double of_x = x.by_class[k];
      const double of_y = y.by_class[k];
      both += 2 * of_x * of_y;
      rows_x[i] += of_x;
      rows_x[j] += of_x;
      rows_y[i] += of_y;
      rows_y[j] += of_y;
    }
  const double sum_x = std::accumulate(rows_x.begin(), rows_x.end(), 0.0);
  const double sum_y = std::accumulate(rows_y.begin(), rows_y.end(), 0.0);
  const double trace_x = n * x.variance - sum_x / n;
  const double trace_y = n * y.variance - sum_y / n;
  const double trace = both - 2 / n * product(rows_x, rows_y) + sum_x * sum_y / (n * n);
  const double effective = 1 + trace_x * trace_y / trace;
  return trace > 0 && trace_x * trace_y > 0 ? effective : n;
}

void add_test(ModifiedTTest& test) {
  test.degrees_of_freedom = test.effective_pairs - 2;
  const double r = test.correlation;
  const double left = 1 - r * r;
  if (!(test.degrees_of_freedom > 0)) return;
  if (!(left > 0)) {
    test.t = std::copysign(std::numeric_limits<double>::infinity(), r);
    test.p = 0;
    return;
  }
  test.t = r * std::sqrt(test.degrees_of_freedom / left);
  const boost::math::students_t_distribution<double> student(test.degrees_of_freedom);
  test.p = 2 * cdf(complement(student, std::abs(test.t)));
}

void add_limits(ModifiedTTest& test) {
  const double count = std::min(test.effective_pairs, static_cast<double>(test.pairs));
  if (!(count > 3) || !(std::abs(test.correlation) < 1)) return;
  const double z = std::atanh(test.correlation);
  const double half = normal_95 / std::sqrt(count - 3);
  test.lower_90 = std::tanh(z - half);
  test.upper_90 = std::tanh(z + half);
}

}  // namespace

ModifiedTTest modified_t_test(std::span<const Point> places, std::span<const double> x,
                              std::span<const double> y, int classes) {
  if (places.size() != x.size() || x.size() != y.size())
    throw std::invalid_argument("places and the two sides of a correlation differ in number");
  if (x.size() < fewest_pairs)
    throw std::invalid_argument("a correlation needs at least four pairs");
  if (x.size() > most_tested_pairs) {
    const std::vector<std::size_t> some = spread_over(places, most_tested_pairs);
    return modified_t_test(taken_from(places, some), taken_from(x, some), taken_from(y, some),
                           classes);
  }
  const std::vector<double> of_x = differences_from_mean(x);
  const std::vector<double> of_y = differences_from_mean(y);
  ModifiedTTest test;
  test.pairs = static_cast<int>(x.size());
  const double spread = std::sqrt(product(of_x, of_x) * product(of_y, of_y));
  if (!(spread > 0)) return test;
  const DistanceClasses by_distance(places, classes);
  test.correlation = std::clamp(product(of_x, of_y) / spread, -1.0, 1.0);
  test.effective_pairs = effective_number(autocovariance(of_x, by_distance),
                                          autocovariance(of_y, by_distance), by_distance, x.size());
  add_test(test);
  add_limits(test);
  return test;
}

}  // namespace evendrip
