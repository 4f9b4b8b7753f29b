// SPDX-License-Identifier: Apache-2.0
#include "division_limits.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <functional>
#include <limits>
#include <optional>
#include <vector>

#include <boost/math/distributions/students_t.hpp>

#include "evendrip/uniformity/plugging.hpp"

namespace evendrip {
namespace {

constexpr int least_laterals = 3;
// A share, or a whole variation, below this is nothing.
constexpr double rounding = 1e-18;

/// Pressure, emitters, both at once.
using Shares = std::array<double, 3>;
constexpr std::size_t covariance = 2;

struct Row {
  double discharge = 0;
  double pressure = 0;
  double performance = 0;
  int cluster = 0;  ///< lateral, or its own where none is told
  bool runs = true;
  double weight = 1;
};

/// What is left out: a cluster, a row, or nothing (-1).
struct LeftOut {
  int cluster = -1;
  int row = -1;
};

std::vector<Row> kept(const std::vector<Row>& rows, LeftOut out) {
  std::vector<Row> left;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows[i].cluster == out.cluster || static_cast<int>(i) == out.row) continue;
    left.push_back(rows[i]);
  }
  return left;
}

/// Weighted moments about the weighted means.
struct Moments {
  double mean_discharge = 0, mean_pressure = 0, mean_performance = 0;
  double discharge = 0, pressure = 0, performance = 0, both = 0;
};

Moments moments_of(const std::vector<Row>& rows) {
  Moments m;
  double weight = 0;
  for (const Row& r : rows) {
    weight += r.weight;
    m.mean_discharge += r.weight * r.discharge;
    m.mean_pressure += r.weight * r.pressure;
    m.mean_performance += r.weight * r.performance;
  }
  for (double* mean : {&m.mean_discharge, &m.mean_pressure, &m.mean_performance}) *mean /= weight;
  for (const Row& r : rows) {
    const double q = r.discharge - m.mean_discharge;
    const double h = r.pressure - m.mean_pressure;
    const double f = r.performance - m.mean_performance;
    m.discharge += r.weight * q * q / weight;
    m.pressure += r.weight * h * h / weight;
    m.performance += r.weight * f * f / weight;
    m.both += r.weight * h * f / weight;
  }
  return m;
}

/// Weighs the rows so that a share of them is plugged; where none is, each stands for a plugged one
/// at its pressure too.
std::vector<Row> with_plugged_share(std::vector<Row> rows, double share) {
  const auto running = static_cast<double>(
      std::count_if(rows.begin(), rows.end(), [](const Row& r) { return r.runs; }));
  const double plugged = static_cast<double>(rows.size()) - running;
  for (Row& r : rows) r.weight = r.runs ? (1 - share) / running : share / plugged;
  if (plugged > 0 || share <= 0) return rows;
  const std::size_t count = rows.size();
  for (std::size_t i = 0; i < count; ++i) {
    Row row = rows[i];
    row.discharge = row.performance = 0;
    row.runs = false;
    row.weight = share / running;
    rows.push_back(row);
  }
  return rows;
}

std::optional<Shares> shares_of_squares(const std::vector<Row>& rows, double exponent,
                                        double plugged_share) {
  if (std::none_of(rows.begin(), rows.end(), [](const Row& r) { return r.runs; })) return {};
  const Moments m = moments_of(with_plugged_share(rows, plugged_share));
  const double total = m.discharge / (m.mean_discharge * m.mean_discharge);
  if (!(total > rounding)) return {};
  return Shares{exponent * exponent * m.pressure / (m.mean_pressure * m.mean_pressure) / total,
                m.performance / (m.mean_performance * m.mean_performance) / total,
                2 * exponent * m.both / (m.mean_pressure * m.mean_performance) / total};
}

/// Rows in logarithms, the pressure times the exponent.
std::optional<Shares> shares_of_logarithms(const std::vector<Row>& rows) {
  if (rows.empty()) return {};
  const Moments m = moments_of(rows);
  if (!(m.discharge > rounding)) return {};
  return Shares{m.pressure / m.discharge, m.performance / m.discharge, 2 * m.both / m.discharge};
}

double on_scale(std::size_t part, double share) {
  return part == covariance ? share : std::log(share);
}

double from_scale(std::size_t part, double scaled) {
  return part == covariance ? scaled : std::exp(scaled);
}

using Division = std::function<std::optional<Shares>(LeftOut)>;

/// Squares of the jackknife's standard errors of the parts on their scales; not finite where a
/// sample left has no such share.
Shares error_squares(const Division& division, const Shares& whole,
                     const std::vector<LeftOut>& left_out) {
  Shares sums{};
  const auto n = static_cast<double>(left_out.size());
  for (const LeftOut& out : left_out) {
    const auto left = division(out);
    for (std::size_t k = 0; k < sums.size(); ++k) {
      const double at = left ? (*left)[k] : std::numeric_limits<double>::quiet_NaN();
      const double d = on_scale(k, at) - on_scale(k, whole[k]);
      sums[k] += (n - 1) / n * d * d;
    }
  }
  return sums;
}

/// Shares at the lower and the upper limit of the plugged share, where it has a part.
using Extremes = std::vector<Shares>;

PartShare limited(const Shares& whole, std::size_t part, double reach, const Extremes& extremes) {
  const double centre = on_scale(part, whole[part]);
  double down = 0;
  double up = 0;
  for (const Shares& at : extremes) {
    const double moved = on_scale(part, at[part]) - centre;
    down = std::min(down, moved);
    up = std::max(up, moved);
  }
  PartShare share;
  share.frac = whole[part];
  share.known = true;
  share.lower = from_scale(part, centre - std::hypot(reach, down));
  share.upper = from_scale(part, centre + std::hypot(reach, up));
  return share;
}

int clusters_of(const std::vector<Row>& rows) {
  int most = -1;
  for (const Row& r : rows) most = std::max(most, r.cluster);
  return most + 1;
}

PartShares shares_with_limits(const std::vector<Row>& rows, const Division& division,
                              const Extremes& extremes, double confidence) {
  PartShares result;
  const std::optional<Shares> whole = division({});
  if (!whole) {
    result.why_not = "the emitters all give the same";
    return result;
  }
  std::array<PartShare*, 3> parts = {&result.hydraulic, &result.performance, &result.covariance};
  for (std::size_t k = 0; k < parts.size(); ++k) {
    *parts[k] = {(*whole)[k], false, (*whole)[k], (*whole)[k]};
  }
  result.laterals = clusters_of(rows);
  if (result.laterals < least_laterals) {
    result.why_not = "limits of the shares need emitters on three laterals or more";
    return result;
  }
  std::vector<LeftOut> laterals;
  std::vector<LeftOut> emitters;
  laterals.reserve(static_cast<std::size_t>(result.laterals));
  emitters.reserve(rows.size());
  for (int c = 0; c < result.laterals; ++c) laterals.push_back({c, -1});
  for (std::size_t i = 0; i < rows.size(); ++i) emitters.push_back({-1, static_cast<int>(i)});
  const boost::math::students_t_distribution<double> student(result.laterals - 1);
  const double t = quantile(complement(student, 0.5 * (1 - confidence)));
  const Shares by_lateral = error_squares(division, *whole, laterals);
  const Shares by_emitter = error_squares(division, *whole, emitters);
  for (std::size_t k = 0; k < parts.size(); ++k) {
    const double square = std::max(by_lateral[k], by_emitter[k]);
    const bool nothing = k != covariance && !((*whole)[k] > rounding);
    if (nothing || !std::isfinite(by_lateral[k]) || !std::isfinite(by_emitter[k])) continue;
    *parts[k] = limited(*whole, k, t * std::sqrt(square), extremes);
  }
  // Twice a covariance is at most the sum of the two variances.
  const double most = 0.5 * ((*whole)[0] + (*whole)[1] + (*whole)[covariance]);
  PartShare& both = result.covariance;
  if (both.known) both.upper = std::max(both.frac, std::min(both.upper, most));
  return result;
}

/// Clusters numbered in the order of the emitters.
std::vector<Row> rows_of(std::span<const VariedEmitter> emitters, double exponent) {
  std::vector<Row> rows;
  std::vector<int> laterals;
  for (const VariedEmitter& e : emitters) {
    Row row;
    row.discharge = e.discharge_lph;
    row.pressure = e.pressure_kpa;
    row.performance = e.discharge_lph / std::pow(e.pressure_kpa, exponent);
    row.runs = e.discharge_lph > 0;
    const auto known =
        e.lateral < 0 ? laterals.end() : std::find(laterals.begin(), laterals.end(), e.lateral);
    row.cluster = static_cast<int>(known - laterals.begin());
    if (known == laterals.end()) laterals.push_back(e.lateral);
    rows.push_back(row);
  }
  return rows;
}

PluggedShare plugged_share_of(std::span<const VariedEmitter> emitters, double confidence) {
  EmitterSample sample;
  for (const VariedEmitter& e : emitters) {
    SampledEmitter emitter;
    emitter.discharge_lph = e.discharge_lph;
    emitter.lateral = e.lateral;
    emitter.pit = e.pit;
    emitter.place = static_cast<int>(sample.emitters.size());
    sample.emitters.push_back(emitter);
  }
  PluggingOptions options;
  options.confidence = confidence;
  return measure_plugging(sample, options);
}

}  // namespace

PartShares plain_shares(std::span<const VariedEmitter> emitters, double exponent,
                        double confidence) {
  const std::vector<Row> rows = rows_of(emitters, exponent);
  const PluggedShare plugged = plugged_share_of(emitters, confidence);
  const auto at = [&](double share, LeftOut out) {
    return shares_of_squares(kept(rows, out), exponent, share);
  };
  Extremes extremes;
  for (const double share : {plugged.clustered.lower, plugged.clustered.upper}) {
    const auto moved = at(std::min(share, 1 - 1e-6), {});
    if (moved) extremes.push_back(*moved);
  }
  return shares_with_limits(
      rows, [&](LeftOut out) { return at(plugged.share, out); }, extremes, confidence);
}

PartShares log_shares(std::span<const VariedEmitter> running, double exponent, double confidence) {
  std::vector<Row> rows = rows_of(running, exponent);
  for (Row& row : rows) {
    row.discharge = std::log(row.discharge);
    row.pressure = exponent * std::log(row.pressure);
    row.performance = std::log(row.performance);
  }
  return shares_with_limits(
      rows, [&](LeftOut out) { return shares_of_logarithms(kept(rows, out)); }, {}, confidence);
}

}  // namespace evendrip
