// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

namespace evendrip::kriging {
namespace {

using Shape = kernels::Covariance::Shape;

Shape shape_of(VariogramShape shape) {
  switch (shape) {
    case VariogramShape::nugget:
      return Shape::none;
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
    case VariogramShape::linear:
      return Shape::linear;
  }
  return Shape::none;
}

/// `reach_m` is a length that no two samples exceed.
kernels::Covariance covariance_of(const VariogramModel& model, double reach_m) {
  kernels::Covariance c;
  c.shape = shape_of(model.shape);
  c.range = model.range_m;
  c.structured = model.partial_sill;
  if (model.shape == VariogramShape::nugget) c.structured = 0;
  if (model.shape == VariogramShape::linear) {
    c.slope = model.partial_sill;
    c.structured = 2 * c.slope * std::max(reach_m, 1.0);
  }
  c.at_zero = model.nugget + c.structured;
  return c;
}

}  // namespace

OrdinaryProblem::OrdinaryProblem(const Samples& given, const VariogramModel& model)
    : samples(placed(given)), isotropic_(model.ratio == 1) {
  origin = samples.origin;
  places = samples.places;
  kept = samples.values;
  terms = 1;
  trend.assign(places.size(), 1.0);
  const double azimuth = model.azimuth_deg * std::numbers::pi / 180;
  along_x_ = std::sin(azimuth);
  along_y_ = std::cos(azimuth);
  across_ = 1 / model.ratio;
  Extent extent;
  for (const Point& place : places) {
    stretched_.push_back(stretch(place));
    extent.include(stretched_.back());
  }
  if (count() > 0)
    offset = std::accumulate(samples.values.begin(), samples.values.end(), 0.0) / count();
  for (const double value : samples.values) values.push_back(value - offset);
  covariance_ =
      covariance_of(model, extent.empty() ? 0 : std::hypot(extent.width(), extent.height()));
  smallest_pivot = 1e-14 * covariance_.at_zero;
}

Point OrdinaryProblem::stretch(Point local) const {
  if (isotropic_) return local;
  return {(local.x * along_y_ - local.y * along_x_) * across_,
          local.x * along_x_ + local.y * along_y_};
}

void OrdinaryProblem::fill_pairs(std::span<const int> observations, MatrixView out) const {
  const std::size_t n = observations.size();
  for (std::size_t j = 0; j < n; ++j) {
    // From a whole number of lanes at or above the diagonal.
    const std::size_t first = j / kernels::covariance_lanes * kernels::covariance_lanes;
    double* column = &out(0, static_cast<int>(j));
    const Point& here = stretched_[size(observations[j])];
    for (std::size_t i = first; i < n; ++i)
      column[i] = distance2(stretched_[size(observations[i])], here);
    const int filled = padded_for_covariances(static_cast<int>(n));
    std::fill(column + n, column + filled, 0.0);
    kernels::covariances(covariance_, column + first, column + first,
                         filled - static_cast<int>(first));
  }
}

void OrdinaryProblem::fill_targets(std::span<const Site> targets, std::span<const int> observations,
                                   MatrixView out) const {
  const auto filled = size(padded_for_covariances(out.rows));
  std::vector<double> x(filled, 0.0);
  std::vector<double> y(filled, 0.0);
  for (std::size_t i = 0; i < targets.size(); ++i) {
    const Point& place = targets[i].place;
    const Point here = stretch({place.x - origin.x, place.y - origin.y});
    x[i] = here.x;
    y[i] = here.y;
  }
  for (std::size_t j = 0; j < observations.size(); ++j) {
    double* column = &out(0, static_cast<int>(j));
    const Point& there = stretched_[size(observations[j])];
    for (std::size_t i = 0; i < filled; ++i) column[i] = distance2({x[i], y[i]}, there);
    kernels::covariances(covariance_, column, column, static_cast<int>(filled));
  }
}

void OrdinaryProblem::fill_trend(std::span<const Site>, MatrixView out) const {
  std::fill_n(out.data, out.rows, 1.0);
}

double OrdinaryProblem::variance(const Site&) const {
  return covariance_.at_zero;
}

int OrdinaryProblem::at_place(Point local) const {
  const double reach = std::sqrt(same_place_m2);
  auto near = std::lower_bound(places.begin(), places.end(), local.x - reach,
                               [](const Point& p, double x) { return p.x < x; });
  for (; near != places.end() && near->x <= local.x + reach; ++near) {
    if (distance2(*near, local) <= same_place_m2) return static_cast<int>(near - places.begin());
  }
  return -1;
}

}  // namespace evendrip::kriging
