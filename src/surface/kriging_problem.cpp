// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

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

Problem::Problem(const Samples& given, const VariogramModel& model)
    : samples(placed(given)), isotropic(model.ratio == 1) {
  const double azimuth = model.azimuth_deg * std::numbers::pi / 180;
  along_x_ = std::sin(azimuth);
  along_y_ = std::cos(azimuth);
  across_ = 1 / model.ratio;
  Extent extent;
  for (const Point& place : samples.places) {
    stretched.push_back(stretch(place));
    extent.include(stretched.back());
  }
  if (count() > 0)
    mean = std::accumulate(samples.values.begin(), samples.values.end(), 0.0) / count();
  for (const double value : samples.values) residual.push_back(value - mean);
  covariance =
      covariance_of(model, extent.empty() ? 0 : std::hypot(extent.width(), extent.height()));
  smallest_pivot = 1e-14 * covariance.at_zero;
}

Point Problem::stretch(Point local) const {
  if (isotropic) return local;
  return {(local.x * along_y_ - local.y * along_x_) * across_,
          local.x * along_x_ + local.y * along_y_};
}

}  // namespace evendrip::kriging
