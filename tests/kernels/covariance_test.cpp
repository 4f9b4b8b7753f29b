// SPDX-License-Identifier: Apache-2.0
#include "evendrip/kernels/dense.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace evendrip::kernels {
namespace {

using Shape = Covariance::Shape;

double formula(const Covariance& model, double h) {
  const double r = h / model.range;
  switch (model.shape) {
    case Shape::none:
      return 0;
    case Shape::exponential:
      return model.structured * std::exp(-r);
    case Shape::spherical:
      return r < 1 ? model.structured * (1 - 1.5 * r + 0.5 * r * r * r) : 0;
    case Shape::gaussian:
      return model.structured * std::exp(-r * r);
    case Shape::matern32:
      return model.structured * (1 + r) * std::exp(-r);
    case Shape::matern52:
      return model.structured * (1 + r + r * r / 3) * std::exp(-r);
    case Shape::linear:
      return model.structured - model.slope * h;
  }
  return 0;
}

constexpr Shape all_shapes[] = {Shape::none,     Shape::exponential, Shape::spherical,
                                Shape::gaussian, Shape::matern32,    Shape::matern52,
                                Shape::linear};

TEST(Covariances, FollowTheStatedFormulas) {
  for (const Shape shape : all_shapes) {
    const Covariance model{shape, 3, 2, 7, 0.1};
    std::vector<double> d2;
    for (int i = 0; i < 64; ++i) d2.push_back(0.3 * i * i);
    std::vector<double> out(d2.size());
    covariances(model, d2.data(), out.data(), static_cast<int>(d2.size()));
    EXPECT_EQ(out[0], 3);
    for (std::size_t i = 1; i < d2.size(); ++i)
      EXPECT_NEAR(out[i], formula(model, std::sqrt(d2[i])), 1e-14)
          << static_cast<int>(shape) << " at " << i;
  }
}

TEST(Covariances, AreTheSameWhereverADistanceStandsInTheRow) {
  for (const Shape shape : all_shapes) {
    const Covariance model{shape, 3, 2, 7, 0.1};
    std::vector<double> d2(24, 11.7);
    covariances(model, d2.data(), d2.data(), static_cast<int>(d2.size()));
    for (const double value : d2) EXPECT_EQ(value, d2[0]);
  }
}

}  // namespace
}  // namespace evendrip::kernels
