// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/variogram.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace evendrip {
namespace {

constexpr int starts = 240;              ///< ranges tried, evenly in the logarithm
constexpr double smallest_range = 0.05;  ///< of the shortest mean distance
constexpr double largest_range = 20;     ///< of the longest mean distance
constexpr double resolved_range = 1;  ///< of the same: beyond it a range is not told from a trend
constexpr double weakest_tie = 0.05;  ///< correlation at the shortest distance that still counts

/// Lags at a distance of 0 have no weight N/h^2.
std::vector<VariogramLag> usable_lags(std::span<const VariogramLag> lags) {
  std::vector<VariogramLag> usable;
  for (const VariogramLag& lag : lags) {
    if (lag.pairs > 0 && lag.mean_distance_m > 0) usable.push_back(lag);
  }
  return usable;
}

double weight_of(const VariogramLag& lag) {
  return static_cast<double>(lag.pairs) / (lag.mean_distance_m * lag.mean_distance_m);
}

double weighted_sse(std::span<const VariogramLag> lags, const VariogramModel& model) {
  double sum = 0;
  for (const VariogramLag& lag : lags) {
    const double miss = lag.semivariance - semivariance(model, lag.mean_distance_m);
    sum += weight_of(lag) * miss * miss;
  }
  return sum;
}

/// Sums of the normal equations for nugget and partial sill.
struct Moments {
  double w = 0, wf = 0, wff = 0, wg = 0, wfg = 0;
};

Moments moments_of(std::span<const VariogramLag> lags, const VariogramModel& unit) {
  Moments m;
  for (const VariogramLag& lag : lags) {
    const double w = weight_of(lag);
    const double f = semivariance(unit, lag.mean_distance_m);
    m.w += w;
    m.wf += w * f;
    m.wff += w * f * f;
    m.wg += w * lag.semivariance;
    m.wfg += w * f * lag.semivariance;
  }
  return m;
}

/// Given shape and range the two variances are a linear least-squares problem with bounds at 0: the
/// free solution if it is inside, else the better of the two edges.
VariogramFit with_best_variances(std::span<const VariogramLag> lags, VariogramShape shape,
                                 double range_m) {
  const Moments m = moments_of(lags, {shape, 0, 1, range_m, 0, 1});
  const double determinant = m.w * m.wff - m.wf * m.wf;
  std::vector<std::array<double, 2>> candidates;
  if (determinant > 1e-12 * m.w * m.wff) {
    const double nugget = (m.wff * m.wg - m.wf * m.wfg) / determinant;
    const double sill = (m.w * m.wfg - m.wf * m.wg) / determinant;
    if (nugget >= 0 && sill >= 0) candidates.push_back({nugget, sill});
  }
  if (candidates.empty()) {
    candidates.push_back({m.wg / m.w, 0});
    if (m.wff > 0) candidates.push_back({0, m.wfg / m.wff});
  }
  VariogramFit best;
  best.weighted_sse = std::numeric_limits<double>::infinity();
  for (const auto& [nugget, sill] : candidates) {
    const VariogramModel model{shape, nugget, sill, range_m, 0, 1};
    const double sse = weighted_sse(lags, model);
    if (sse < best.weighted_sse) best = {model, sse, true};
  }
  return best;
}

/// Golden-section search for the range between two logarithms.
VariogramFit refined(std::span<const VariogramLag> lags, VariogramShape shape, double low,
                     double high) {
  constexpr double golden = 0.6180339887498949;
  const auto fit_at = [&](double log_range) {
    return with_best_variances(lags, shape, std::exp(log_range));
  };
  double a = high - golden * (high - low);
  double b = low + golden * (high - low);
  VariogramFit at_a = fit_at(a);
  VariogramFit at_b = fit_at(b);
  while (high - low > 1e-9) {
    if (at_a.weighted_sse <= at_b.weighted_sse) {
      high = b;
      b = a;
      at_b = at_a;
      a = high - golden * (high - low);
      at_a = fit_at(a);
    } else {
      low = a;
      a = b;
      at_a = at_b;
      b = low + golden * (high - low);
      at_b = fit_at(b);
    }
  }
  return at_a.weighted_sse <= at_b.weighted_sse ? at_a : at_b;
}

/// `largest` is the largest range tried, over the longest mean distance.
VariogramFit fit_range(std::span<const VariogramLag> lags, VariogramShape shape, double largest) {
  const auto [nearest, farthest] = std::minmax_element(
      lags.begin(), lags.end(), [](const VariogramLag& a, const VariogramLag& b) {
        return a.mean_distance_m < b.mean_distance_m;
      });
  const double low = std::log(smallest_range * nearest->mean_distance_m);
  const double high = std::log(largest * farthest->mean_distance_m);
  const double step = (high - low) / (starts - 1);
  std::vector<double> sse;
  sse.reserve(static_cast<std::size_t>(starts));
  for (int i = 0; i < starts; ++i) {
    sse.push_back(with_best_variances(lags, shape, std::exp(low + i * step)).weighted_sse);
  }
  VariogramFit best = with_best_variances(lags, shape, std::exp(high));
  best.converged = false;
  for (int i = 1; i + 1 < starts; ++i) {
    const auto k = static_cast<std::size_t>(i);
    if (sse[k] > sse[k - 1] || sse[k] > sse[k + 1]) continue;
    const VariogramFit fit = refined(lags, shape, low + (i - 1) * step, low + (i + 1) * step);
    if (fit.weighted_sse < best.weighted_sse) best = fit;
  }
  return best;
}

/// Structure worth mapping: a part of the variance that is shared over the shortest distance seen.
bool has_structure(const VariogramFit& fit, std::span<const VariogramLag> lags) {
  if (!(fit.model.partial_sill > 0)) return false;
  if (fit.model.shape == VariogramShape::linear) return true;
  VariogramModel alone = fit.model;
  alone.nugget = 0;
  alone.partial_sill = 1;
  const auto nearest =
      std::min_element(lags.begin(), lags.end(), [](const VariogramLag& a, const VariogramLag& b) {
        return a.mean_distance_m < b.mean_distance_m;
      });
  const double sill = fit.model.nugget + fit.model.partial_sill;
  const double tie =
      (1 - semivariance(alone, nearest->mean_distance_m)) * (fit.model.partial_sill / sill);
  return tie > weakest_tie;
}

VariogramFit fit_up_to(std::span<const VariogramLag> lags, VariogramShape shape, double largest) {
  const std::vector<VariogramLag> usable = usable_lags(lags);
  if (usable.empty()) return {{VariogramShape::nugget, 0, 0, 1, 0, 1}, 0, false};
  if (shape == VariogramShape::nugget) {
    const Moments m = moments_of(usable, {shape, 0, 0, 1, 0, 1});
    const VariogramModel model{shape, m.wg / m.w, 0, 1, 0, 1};
    return {model, weighted_sse(usable, model), true};
  }
  if (shape == VariogramShape::linear) return with_best_variances(usable, shape, 1);
  return fit_range(usable, shape, largest);
}

}  // namespace

VariogramFit fit_variogram(std::span<const VariogramLag> lags, VariogramShape shape) {
  return fit_up_to(lags, shape, largest_range);
}

std::optional<VariogramFit> fit_best_variogram(std::span<const VariogramLag> lags,
                                               std::span<const VariogramShape> shapes) {
  const std::vector<VariogramLag> usable = usable_lags(lags);
  if (usable.size() < 3) return std::nullopt;
  std::optional<VariogramFit> best;
  for (const VariogramShape shape : shapes) {
    const VariogramFit fit = fit_up_to(usable, shape, resolved_range);
    if (!has_structure(fit, usable)) continue;
    if (!best || fit.weighted_sse < best->weighted_sse) best = fit;
  }
  return best;
}

}  // namespace evendrip
