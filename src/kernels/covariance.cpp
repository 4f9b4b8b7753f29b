// SPDX-License-Identifier: Apache-2.0
#include "evendrip/kernels/dense.hpp"

#include <Eigen/Core>

namespace evendrip::kernels {
namespace {

// A fixed length: every value takes the same path through the vector unit.
using Eight = Eigen::Array<double, covariance_lanes, 1>;

template <typename Formula>
void fill(const Covariance& model, const double* distance2, double* out, int count,
          const Formula& formula) {
  for (int i = 0; i < count; i += covariance_lanes) {
    const Eight d2 = Eigen::Map<const Eight>(distance2 + i);
    const Eight values = formula(d2);
    for (int k = 0; k < covariance_lanes; ++k) out[i + k] = d2[k] > 0 ? values[k] : model.at_zero;
  }
}

}  // namespace

void covariances(const Covariance& model, const double* distance2, double* out,
                 int count) noexcept {
  const double c = model.structured;
  const double scale = 1 / model.range;
  const auto run = [&](const auto& formula) { fill(model, distance2, out, count, formula); };
  switch (model.shape) {
    case Covariance::Shape::none:
      return run([](const Eight&) -> Eight { return Eight::Zero(); });
    case Covariance::Shape::exponential:
      return run([&](const Eight& d2) -> Eight { return c * (d2.sqrt() * -scale).exp(); });
    case Covariance::Shape::gaussian:
      return run([&](const Eight& d2) -> Eight { return c * (d2 * -(scale * scale)).exp(); });
    case Covariance::Shape::spherical:
      return run([&](const Eight& d2) -> Eight {
        const Eight h = (d2.sqrt() * scale).min(1.0);
        return c * (1 - h * (1.5 - 0.5 * h * h));
      });
    case Covariance::Shape::matern32:
      return run([&](const Eight& d2) -> Eight {
        const Eight h = d2.sqrt() * scale;
        return c * (1 + h) * (-h).exp();
      });
    case Covariance::Shape::matern52:
      return run([&](const Eight& d2) -> Eight {
        const Eight h = d2.sqrt() * scale;
        return c * (1 + h + h * h * (1.0 / 3.0)) * (-h).exp();
      });
    case Covariance::Shape::linear:
      return run([&](const Eight& d2) -> Eight { return c - model.slope * d2.sqrt(); });
  }
}

}  // namespace evendrip::kernels
