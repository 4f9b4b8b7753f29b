// SPDX-License-Identifier: Apache-2.0
#include "covariance_parts.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <stdexcept>

namespace evendrip::covariance_parts {
namespace {

using Shape = kernels::Covariance::Shape;

Shape shape_of(VariogramShape shape) {
  switch (shape) {
    case VariogramShape::exponential:
      return Shape::exponential;
    case VariogramShape::spherical:
      return Shape::spherical;
    case VariogramShape::gaussian:
      return Shape::gaussian;
    case VariogramShape::matern32:
      return Shape::matern32;
    case VariogramShape::matern52:
      return Shape::matern52;
    case VariogramShape::nugget:
    case VariogramShape::linear:
      break;
  }
  return Shape::none;
}

/// h rho'(h) with its sign turned is this correlation times a power of h: exponential h rho_exp,
/// Gaussian 2 h^2 rho_gauss, Matern 3/2 h^2 rho_exp, Matern 5/2 h^2 rho_matern32 / 3. The spherical
/// has a polynomial of its own.
Shape shape_of_slope(VariogramShape shape) {
  switch (shape) {
    case VariogramShape::exponential:
    case VariogramShape::matern32:
      return Shape::exponential;
    case VariogramShape::matern52:
      return Shape::matern32;
    case VariogramShape::gaussian:
      return Shape::gaussian;
    case VariogramShape::spherical:
    case VariogramShape::nugget:
    case VariogramShape::linear:
      break;
  }
  return Shape::none;
}

bool has_range(Metric metric) {
  return metric != Metric::same_lateral && metric != Metric::same_zone;
}

int padded(int count) {
  constexpr int lanes = kernels::covariance_lanes;
  return (count + lanes - 1) / lanes * lanes;
}

double power_of(VariogramShape shape, double range_m) {
  const double once = 1 / (range_m * range_m);
  if (shape == VariogramShape::gaussian) return 2 * once;
  if (shape == VariogramShape::matern52) return once / 3;
  return once;
}

void check(const CovarianceTerm& term) {
  if (!(term.variance > 0))
    throw std::invalid_argument("the variance of covariance term '" + term.name +
                                "' is not above 0");
  for (const CorrelationFactor& factor : term.factors) {
    if (!has_range(factor.metric)) continue;
    if (shape_of(factor.shape) == Shape::none)
      throw std::invalid_argument("covariance term '" + term.name + "' has the shape " +
                                  to_text(factor.shape) + ", which is no correlation");
    if (!(factor.range_m > 0) || !std::isfinite(factor.range_m))
      throw std::invalid_argument("a range of covariance term '" + term.name + "' is not above 0");
    if (!(factor.ratio > 0 && factor.ratio <= 1))
      throw std::invalid_argument("the ratio of covariance term '" + term.name +
                                  "' is not above 0 and at most 1");
  }
}

}  // namespace

void check(const CovarianceModel& model) {
  for (const CovarianceTerm& term : model.terms) check(term);
}

Factor::Factor(const CorrelationFactor& factor, Part::Kind part, double scale)
    : metric_(factor.metric),
      part_(part),
      shape_(factor.shape),
      range_m_(factor.range_m),
      east_(std::sin(factor.azimuth_deg * std::numbers::pi / 180)),
      north_(std::cos(factor.azimuth_deg * std::numbers::pi / 180)),
      stretch_(metric_ == Metric::plane ? 1 / factor.ratio : 1) {
  kernel_.shape = part == Part::Kind::value ? shape_of(shape_) : shape_of_slope(shape_);
  kernel_.structured = scale;
  kernel_.at_zero = part == Part::Kind::value ? scale : 0;
  kernel_.range = range_m_;
}

// Differences are taken before they are turned, so that a value does not depend on an origin.
void Factor::squared_distances(const Columns& rows, int first, int count, const Site& column,
                               double* out, double* across2) const {
  const double* x = rows.x.data() + first;
  const double* y = rows.y.data() + first;
  const double* station = rows.station.data() + first;
  const double x0 = column.place.x;
  const double y0 = column.place.y;
  if (metric_ == Metric::along_lateral || metric_ == Metric::station) {
    for (int i = 0; i < count; ++i) {
      const double d = station[i] - column.station_m;
      out[i] = d * d;
    }
  } else if (metric_ == Metric::plane && stretch_ == 1 && part_ != Part::Kind::ratio) {
    for (int i = 0; i < count; ++i) {
      const double dx = x[i] - x0;
      const double dy = y[i] - y0;
      out[i] = dx * dx + dy * dy;
    }
  } else {
    const double along = metric_ == Metric::plane ? 1 : 0;
    for (int i = 0; i < count; ++i) {
      const double dx = x[i] - x0;
      const double dy = y[i] - y0;
      const double u = (dx * north_ - dy * east_) * stretch_;
      const double v = (dx * east_ + dy * north_) * along;
      across2[i] = u * u;
      out[i] = u * u + v * v;
    }
  }
}

void Factor::differentiate(int padded, const double* distance2, const double* across2, double* out,
                           double* scratch) const {
  kernels::Covariance length;  // h itself
  length.shape = Shape::linear;
  length.structured = length.at_zero = 0;
  length.slope = -1 / range_m_;
  if (shape_ == VariogramShape::spherical) {
    kernels::covariances(length, distance2, scratch, padded);
    for (int i = 0; i < padded; ++i) {
      const double h = std::min(scratch[i], 1.0);
      out[i] = kernel_.structured * 1.5 * h * (1 - h * h);
    }
  } else {
    kernels::covariances(kernel_, distance2, out, padded);
    if (shape_ == VariogramShape::exponential) {
      kernels::covariances(length, distance2, scratch, padded);
      for (int i = 0; i < padded; ++i) out[i] *= scratch[i];
    } else {
      const double power = power_of(shape_, range_m_);
      for (int i = 0; i < padded; ++i) out[i] *= distance2[i] * power;
    }
  }
  if (part_ != Part::Kind::ratio) return;
  for (int i = 0; i < padded; ++i) out[i] *= distance2[i] > 0 ? across2[i] / distance2[i] : 0;
}

void Factor::values(const Columns& rows, int first, int count, const Site& column, double* out,
                    double* scratch) const {
  const int full = padded(count);
  double* distance2 = part_ == Part::Kind::value ? out : scratch;
  double* across2 = scratch + full;
  squared_distances(rows, first, count, column, distance2, across2);
  std::fill(distance2 + count, distance2 + full, 0.0);
  if (part_ == Part::Kind::value) {
    kernels::covariances(kernel_, distance2, out, full);
  } else {
    std::fill(across2 + count, across2 + full, 0.0);
    differentiate(full, distance2, across2, out, across2 + full);
  }
}

Term::Term(const CovarianceTerm& term, const Part& part, std::span<const Site> rows)
    : variance_(term.variance) {
  double scale = variance_;  // goes into the first factor
  for (std::size_t k = 0; k < term.factors.size(); ++k) {
    const CorrelationFactor& factor = term.factors[k];
    by_lateral_ |= factor.metric == Metric::same_lateral || factor.metric == Metric::along_lateral;
    by_zone_ |= factor.metric == Metric::same_zone;
    if (!has_range(factor.metric)) continue;
    const bool differs = static_cast<int>(k) == part.factor;
    factors_.emplace_back(factor, differs ? part.kind : Part::Kind::value, scale);
    scale = 1;
  }
  gather(rows);
}

std::pair<int, int> Term::key_of(const Site& site) const {
  return {by_lateral_ ? site.lateral : 0, by_zone_ ? site.zone : 0};
}

bool Term::reaches(const Site& site) const {
  return (!by_lateral_ || site.lateral >= 0) && (!by_zone_ || site.zone >= 0);
}

void Term::gather(std::span<const Site> rows) {
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (reaches(rows[i])) row_of_.push_back(static_cast<int>(i));
  const auto site = [&](int row) -> const Site& { return rows[static_cast<std::size_t>(row)]; };
  std::stable_sort(row_of_.begin(), row_of_.end(),
                   [&](int a, int b) { return key_of(site(a)) < key_of(site(b)); });
  int longest = 0;
  for (std::size_t i = 0; i < row_of_.size(); ++i) {
    const Site& here = site(row_of_[i]);
    sorted_.x.push_back(here.place.x);
    sorted_.y.push_back(here.place.y);
    sorted_.station.push_back(here.station_m);
    const auto [entry, fresh] = groups_.try_emplace(key_of(here));
    Group& group = entry->second;
    if (fresh) group = {static_cast<int>(i), 0, row_of_[i]};
    if (group.row + group.count != row_of_[i]) group.row = -1;
    longest = std::max(longest, ++group.count);
  }
  const auto length = static_cast<std::size_t>(padded(longest));
  product_.resize(length);
  factor_.resize(length);
  scratch_.resize(3 * length);
}

void Term::add(const Site& column, double* out) {
  if (!reaches(column)) return;
  const auto group = groups_.find(key_of(column));
  if (group != groups_.end()) add_group(group->second, column, out);
}

void Term::add_group(const Group& group, const Site& column, double* out) {
  if (factors_.empty()) std::fill_n(product_.data(), group.count, variance_);
  for (std::size_t k = 0; k < factors_.size(); ++k) {
    double* values = k == 0 ? product_.data() : factor_.data();
    factors_[k].values(sorted_, group.first, group.count, column, values, scratch_.data());
    if (k == 0) continue;
    for (int i = 0; i < group.count; ++i) product_[static_cast<std::size_t>(i)] *= values[i];
  }
  const double* product = product_.data();
  if (group.row >= 0) {
    double* target = out + group.row;
    for (int i = 0; i < group.count; ++i) target[i] += product[i];
  } else {
    const int* row = row_of_.data() + group.first;
    for (int i = 0; i < group.count; ++i) out[row[i]] += product[i];
  }
}

}  // namespace evendrip::covariance_parts
