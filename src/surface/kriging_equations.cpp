// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>

namespace evendrip::kriging {
namespace {

constexpr int largest_small = 128;  ///< observations up to which the small factor is the faster one
constexpr int lanes = kernels::panel_lanes;
/// Squared length of a trend column that those before it leave, against its own: below it the
/// column is dependent.
constexpr double dependent_share = 1e-12;
constexpr double dependent_error = 1e-5;  ///< of a target's trend, against the column's largest

}  // namespace

SiteTargets::SiteTargets(const Problem& problem, std::span<const Site> sites)
    : problem_(problem), sites_(sites) {
  local.reserve(sites.size());
  for (const Site& site : sites)
    local.push_back({site.place.x - problem.origin.x, site.place.y - problem.origin.y});
}
void SiteTargets::fill(std::span<const int> observations, MatrixView out) const {
  problem_.fill_targets(sites_, observations, out);
}
void SiteTargets::fill_trend(MatrixView out) const {
  problem_.fill_trend(sites_, out);
}
double SiteTargets::variance(std::size_t target) const {
  return problem_.variance(sites_[target]);
}

MatrixView Equations::room(int n, int terms) {
  n_ = n;
  terms_ = terms;
  stride_ = padded_for_covariances(rows());
  matrix_.resize(size(stride_) * size(stride_));
  return {matrix_.data(), n, n, stride_};
}

bool Equations::factor(std::span<const double> trend, std::span<const double> values,
                       double smallest_pivot) {
  if (n_ == 0) return false;
  const bool small = n_ <= largest_small;
  const int filled = small ? kernels::padded(n_) : n_;
  for (int j = 0; j < filled; ++j)
    for (int i = std::max(j, n_); i < stride_; ++i) at(i, j) = i == j ? 1 : 0;
  double* l = matrix_.data();
  if (small ? !kernels::factor_small(l, filled, stride_, smallest_pivot)
            : !kernels::factor(l, n_, stride_, smallest_pivot))
    return false;
  right_.assign(size(terms_ + 1) * size(stride_), 0.0);
  for (std::size_t j = 0; j < size(terms_); ++j)
    std::copy_n(trend.begin() + static_cast<std::ptrdiff_t>(j * size(n_)), n_,
                right_.begin() + static_cast<std::ptrdiff_t>(j * size(stride_)));
  std::copy_n(values.begin(), n_,
              right_.begin() + static_cast<std::ptrdiff_t>(size(terms_) * size(stride_)));
  if (small) {
    for (int j = 0; j <= terms_; ++j)
      kernels::solve_small(l, filled, stride_, right_.data() + size(j) * size(stride_));
  } else {
    kernels::solve_lower(l, n_, stride_, right_.data(), terms_ + 1, stride_);
  }
  add_trend_rows(trend);
  packed_.resize(kernels::packed_size(rows()));
  kernels::pack_lower(l, rows(), stride_, packed_.data());
  return true;
}

/// U', R, z' and g' below L; R row by row.
void Equations::add_trend_rows(std::span<const double> trend) {
  dependent_ = false;
  tolerance_.assign(size(terms_), -1.0);
  const auto column = [&](int j) { return right_.data() + size(j) * size(stride_); };
  for (int j = 0; j <= terms_; ++j) {
    for (int i = 0; i < n_; ++i) at(n_ + j, i) = column(j)[i];
    for (int k = 0; k <= j; ++k) {
      double rest = kernels::dot(column(j), column(k), n_);
      const double own = rest;
      for (int m = 0; m < k; ++m) rest -= at(n_ + j, n_ + m) * at(n_ + k, n_ + m);
      const bool usable = k == terms_ || tolerance_[size(k)] < 0;
      if (k < j) {
        at(n_ + j, n_ + k) = usable ? rest / at(n_ + k, n_ + k) : 0;
      } else if (j < terms_ && !(rest > dependent_share * own)) {
        dependent_ = true;
        double largest = 0;
        for (int i = 0; i < n_; ++i)
          largest = std::max(largest, std::abs(trend[size(j) * size(n_) + size(i)]));
        tolerance_[size(j)] = dependent_error * largest;
        at(n_ + j, n_ + j) = 1;
      } else {
        at(n_ + j, n_ + j) = j < terms_ ? std::sqrt(rest) : 1;
      }
    }
  }
}

std::vector<Equations::Solved> Equations::solve(kernels::PanelVector& panels) const {
  const std::size_t step = kernels::panel_size(rows());
  const std::size_t count = panels.size() / step;
  std::vector<Solved> out(count * lanes);
  kernels::solve_panels(packed_.data(), rows(), panels.data(), static_cast<int>(count));
  std::array<double, lanes> explained;
  std::array<double, lanes> of_trend;
  for (std::size_t p = 0; p < count; ++p) {
    const double* panel = panels.data() + p * step;
    kernels::sums_of_squares(panel, 0, n_, explained.data());
    kernels::sums_of_squares(panel, n_, n_ + terms_, of_trend.data());
    const double* negative = panel + size(n_ + terms_) * lanes;
    for (std::size_t lane = 0; lane < lanes; ++lane)
      out[p * lanes + lane] = {-negative[lane], explained[lane] - of_trend[lane]};
  }
  return out;
}

/// False where a dependent trend column of the target is not the same sum of those before it.
bool Equations::reaches(const double* panel, std::size_t lane) const {
  for (std::size_t j = 0; j < size(terms_); ++j) {
    const double off = std::abs(panel[(size(n_) + j) * lanes + lane]);
    if (tolerance_[j] >= 0 && !(off <= tolerance_[j])) return false;
  }
  return true;
}

void Equations::predict(kernels::PanelVector& panels, double offset,
                        std::span<const double> variances, std::span<Outcome> out) const {
  const std::vector<Solved> solved = solve(panels);
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double value = offset + solved[i].value;
    const double variance = variances[i] - solved[i].explained;
    const double* panel = panels.data() + i / lanes * kernels::panel_size(rows());
    const bool known = std::isfinite(value) && std::isfinite(variance) &&
                       (!dependent_ || reaches(panel, i % lanes));
    out[i] = known ? Outcome{{value, std::max(0.0, variance)}, Reason::value} : Outcome{};
  }
}

/// L'^-1 (v + U R'^-1 w).
Equations::Weights Equations::weights(const double* panel, int lane) const {
  Weights out;
  std::vector<double> s(size(terms_));
  for (int j = terms_ - 1; j >= 0; --j) {
    double rest = panel[(n_ + j) * lanes + lane];
    for (int m = j + 1; m < terms_; ++m) rest -= at(n_ + m, n_ + j) * s[size(m)];
    s[size(j)] = rest / at(n_ + j, n_ + j);
  }
  for (const double multiplier : s) out.multipliers.push_back(-multiplier);
  for (int i = 0; i < n_; ++i) {
    double sum = panel[i * lanes + lane];
    for (int j = 0; j < terms_; ++j) sum += at(n_ + j, i) * s[size(j)];
    out.observations.push_back(sum);
  }
  kernels::solve_lower_transposed(matrix_.data(), n_, stride_, out.observations.data(), 1, n_);
  return out;
}

void Workspace::fill(const Targets& all, const Problem& problem,
                     std::span<const int> observations) {
  const int rows = all.count();
  const int columns = static_cast<int>(observations.size());
  stride = padded_for_covariances(rows);
  covariances.resize(size(columns) * size(stride));
  trend.resize(size(problem.terms) * size(stride));
  all.fill(observations, {covariances.data(), rows, columns, stride});
  all.fill_trend({trend.data(), rows, problem.terms, stride});
}

/// Rows of the panels; lanes beyond the last target repeat it.
void Workspace::lay_out(int rows, std::span<const int> used, std::span<const std::size_t> numbers) {
  const std::size_t step = kernels::panel_size(rows);
  const std::size_t filled = (numbers.size() + lanes - 1) / lanes;
  panels.assign(filled * step, 0.0);
  // Sorted: as many as their span are one behind the other.
  const bool in_order =
      numbers.size() % lanes == 0 && numbers.back() - numbers.front() + 1 == numbers.size();
  const auto put = [&](const double* column, std::size_t row) {
    for (std::size_t p = 0; p < filled; ++p) {
      double* to = panels.data() + p * step + row * lanes;
      if (in_order) {
        std::copy_n(column + numbers[0] + p * lanes, lanes, to);
        continue;
      }
      for (std::size_t lane = 0; lane < lanes; ++lane)
        to[lane] = column[numbers[std::min(p * lanes + lane, numbers.size() - 1)]];
    }
  };
  for (std::size_t i = 0; i < used.size(); ++i)
    put(covariances.data() + size(used[i]) * size(stride), i);
  const std::size_t terms = trend.size() / size(stride);
  for (std::size_t j = 0; j < terms; ++j) put(trend.data() + j * size(stride), used.size() + j);
}

bool Workspace::has_trend(std::size_t target) const {
  for (std::size_t at = target; at < trend.size(); at += size(stride)) {
    if (!std::isfinite(trend[at])) return false;
  }
  return true;
}

void Workspace::predict(const Equations& equations, const Targets& all, double offset,
                        std::span<const int> used, std::span<const std::size_t> numbers,
                        std::span<Outcome> out) {
  lay_out(equations.rows(), used, numbers);
  const std::size_t filled = (numbers.size() + lanes - 1) / lanes * lanes;
  variances.resize(filled);
  outcomes.resize(filled);
  for (std::size_t k = 0; k < filled; ++k)
    variances[k] = all.variance(numbers[std::min(k, numbers.size() - 1)]);
  equations.predict(panels, offset, variances, outcomes);
  for (std::size_t k = 0; k < numbers.size(); ++k) {
    out[numbers[k]] = outcomes[k];
    if (outcomes[k].reason != Reason::value && !has_trend(numbers[k]))
      out[numbers[k]].reason = Reason::no_source;
  }
}

}  // namespace evendrip::kriging
