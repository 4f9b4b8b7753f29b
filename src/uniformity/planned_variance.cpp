// SPDX-License-Identifier: Apache-2.0
#include "planned_variance.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace evendrip {
namespace {

// Student's quantile takes no fewer degrees of freedom than this share of those without kurtosis:
// on 6 to 45 laterals limits then hold the low-quarter uniformity of normal emitters in 93.5 to 97
// % of simulated surveys; with all of them in 87 to 94 %, with no floor in 96 to 100 %.
constexpr double least_freedom_frac = 0.5;

/// Variance of a plan as two mean squares, each with its degrees of freedom.
struct TwoSquares {
  double between = 0;
  double between_freedom = 0;
  double within = 0;
  double within_freedom = 0;
};

TwoSquares two_squares(const PlanComponents& parts, double m, double k,
                       const PlanOptions& options) {
  const double laterals_seen = options.laterals > 0 ? std::min(1.0, m / options.laterals) : 0;
  const double emitters_seen =
      options.emitters_on_a_lateral > 0 ? std::min(1.0, k / options.emitters_on_a_lateral) : 0;
  TwoSquares squares;
  squares.between = (1 - laterals_seen) * (parts.between / m + parts.within / (m * k));
  squares.between_freedom = m - 1;
  squares.within = laterals_seen * (1 - emitters_seen) * parts.within / (m * k);
  squares.within_freedom = m * (k - 1);
  return squares;
}

/// Degrees of freedom that the mean squares count for, each lowered by its kurtosis.
double effective_freedom(const TwoSquares& squares, double between_kurtosis, double within_kurtosis,
                         double m, double k) {
  const auto relative_variance = [](double freedom, double kurtosis, double units) {
    return 2 / freedom + kurtosis / units;
  };
  double variance = squares.between * squares.between *
                    relative_variance(squares.between_freedom, between_kurtosis, m);
  if (squares.within > 0) {
    variance += squares.within * squares.within *
                relative_variance(squares.within_freedom, within_kurtosis, m * k);
  }
  const double total = squares.between + squares.within;
  return 2 * total * total / variance;
}

}  // namespace

PlannedVariance planned_variance(const PlanComponents& parts, double m, double k,
                                 const PlanOptions& options) {
  PlannedVariance planned;
  TwoSquares squares = two_squares(parts, m, k, options);
  if (!(squares.within_freedom > 0)) squares.between += std::exchange(squares.within, 0);
  planned.variance = squares.between + squares.within;
  if (!(planned.variance > 0)) return planned;
  if (squares.between > 0 && !(squares.between_freedom > 0)) return planned;
  if (!(squares.between > 0)) squares.between_freedom = 1;  // without part in the sum
  planned.scatter_freedom = effective_freedom(squares, parts.shape.excess_kurtosis(k),
                                              parts.shape.excess_kurtosis(1), m, k);
  planned.freedom = std::max(planned.scatter_freedom,
                             least_freedom_frac * effective_freedom(squares, 0, 0, m, k));
  return planned;
}

}  // namespace evendrip
