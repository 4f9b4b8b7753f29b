// SPDX-License-Identifier: Apache-2.0
// Worked examples that can be read in print.
#include "evendrip/surface/estimators.hpp"

#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

namespace evendrip {
namespace {

constexpr Neighbourhood everything{0, std::numeric_limits<double>::infinity(), 1};

/// Isaaks & Srivastava 1989, "An Introduction to Applied Geostatistics", Table 12.1.
Samples seven_points() {
  return {sample_at(61, 139, 477), sample_at(63, 140, 696), sample_at(64, 129, 227),
          sample_at(68, 128, 646), sample_at(71, 140, 606), sample_at(73, 141, 791),
          sample_at(75, 128, 783)};
}
constexpr Point target{65, 137};

/// One figure of that chapter: what the book prints (to its digits) and the same worked out to more
/// digits with an independent library (R gstat). The covariance is c exp(-3h/a).
struct Figure {
  const char* name;
  VariogramModel model;
  double book_estimate;
  double book_estimate_tolerance;
  double book_variance;
  double estimate;  ///< computed, to half a unit of its last digit
  double variance;
  double lagrange;
  std::vector<double> weights;  ///< computed; empty where none were kept
};

std::vector<Figure> figures() {
  using enum VariogramShape;
  const double gaussian_range = 10 / std::sqrt(3.0);
  const std::vector<double> w12_3{0.1729, 0.3178, 0.1287, 0.0864, 0.1511, 0.0572, 0.0858};
  return {
      {"12.3",
       {exponential, 0, 10, 10 / 3., 0, 1},
       592.7,
       0.05,
       8.96,
       592.7289,
       8.9561,
       -0.9066,
       w12_3},
      {"12.6",
       {exponential, 0, 20, 10 / 3., 0, 1},
       593,
       0.5,
       17.91,
       592.7289,
       17.9121,
       -1.8132,
       w12_3},
      {"12.8",
       {gaussian, 0, 10, gaussian_range, 0, 1},
       559,
       0.5,
       4.78,
       559.3700,
       4.7806,
       -0.3583,
       {-0.0215, 0.6760, 0.1659, -0.0128, 0.4441, -0.2884, 0.0367}},
      {"12.10",
       {exponential, 5, 5, 10 / 3., 0, 1},
       597,
       0.5,
       10.31,
       596.7770,
       10.3059,
       -1.1510,
       {0.1790, 0.2262, 0.1314, 0.1117, 0.1368, 0.1038, 0.1110}},
      {"12.12",
       {exponential, 0, 10, 20 / 3., 0, 1},
       572,
       0.5,
       5.76,
       572.3899,
       5.7585,
       -0.2353,
       {0.1782, 0.3790, 0.1423, 0.0654, 0.1980, 0.0029, 0.0343}},
      {"12.16",
       {exponential, 0, 10, 20 / 3., 135, 0.5},
       620,
       0.5,
       6.30,
       619.808,
       6.2986,
       -0.3602,
       {0.2391, 0.4435, 0.0485, 0.0878, 0.0714, 0.0208, 0.0889}},
      {"12.18",
       {exponential, 0, 10, 20 / 3., 45, 0.5},
       574,
       0.5,
       8.16,
       574.049,
       8.1563,
       -0.7762,
       {0.1140, 0.2850, 0.1652, 0.0469, 0.2897, 0.0355, 0.0637}},
      {"12.20",
       {exponential, 0, 10, 100 / 3., 135, 0.1},
       654,
       0.5,
       2.83,
       653.738,
       2.8300,
       -0.0177,
       {0.2776, 0.5235, -0.0016, 0.0080, -0.0081, 0.0008, 0.1997}},
  };
}

TEST(OrdinaryKrigingInPrint, GivesTheSevenPointEstimatesOfIsaaksAndSrivastava) {
  for (const Figure& figure : figures()) {
    // All seven as one system of many right-hand sides, and as the neighbours of one place.
    for (const Neighbourhood& neighbourhood : {everything, Neighbourhood{7, 1000, 1}}) {
      const OrdinaryKriging kriging(seven_points(), figure.model, neighbourhood);
      const Prediction out = kriging.at(std::vector{target}, {})[0];
      EXPECT_NEAR(out.value, figure.book_estimate, figure.book_estimate_tolerance) << figure.name;
      EXPECT_NEAR(out.variance, figure.book_variance, 0.005) << figure.name;
      EXPECT_NEAR(out.value, figure.estimate, 6e-4) << figure.name;
      EXPECT_NEAR(out.variance, figure.variance, 6e-5) << figure.name;
    }
  }
}

TEST(OrdinaryKrigingInPrint, GivesTheSevenPointWeightsAndMultipliers) {
  for (const Figure& figure : figures()) {
    const OrdinaryKriging kriging(seven_points(), figure.model, everything);
    const auto weights = kriging.weights_at(target);
    EXPECT_NEAR(weights.lagrange, figure.lagrange, 6e-5) << figure.name;
    ASSERT_EQ(weights.weights.size(), 7U);
    for (std::size_t i = 0; i < 7; ++i) {
      const auto sample = static_cast<std::size_t>(weights.samples[i]);
      EXPECT_NEAR(weights.weights[i], figure.weights[sample], 6e-5) << figure.name << ' ' << sample;
    }
  }
}

// Published 128.9 / 6.70 and 138.6 / 10.4 (Virginia Tech kriging primer, quoted in a public
// script); further digits computed with R gstat. Linear variogram 4h.
TEST(OrdinaryKrigingInPrint, GivesTheThreePointEstimatesWithALinearVariogram) {
  const Samples samples{sample_at(1, 2, 150), sample_at(4, 1, 110), sample_at(6, 4, 140)};
  const VariogramModel linear{VariogramShape::linear, 0, 4, 1, 0, 1};
  const std::vector<Point> places{{3, 2}, {4, 4}};
  for (const Neighbourhood& neighbourhood : {everything, Neighbourhood{3, 1000, 1}}) {
    const auto out = OrdinaryKriging(samples, linear, neighbourhood).at(places, {});
    EXPECT_NEAR(out[0].value, 128.913, 6e-4);
    EXPECT_NEAR(out[0].variance, 6.6960, 6e-5);
    EXPECT_NEAR(out[1].value, 138.620, 6e-4);
    EXPECT_NEAR(out[1].variance, 10.3851, 6e-5);
  }
  const auto weights = OrdinaryKriging(samples, linear, everything).weights_at(places[0]);
  const std::vector<double> expected{0.380452, 0.496380, 0.123168};
  for (std::size_t i = 0; i < 3; ++i)
    EXPECT_NEAR(weights.weights[i], expected[static_cast<std::size_t>(weights.samples[i])], 6e-7);
}

// R gstat's own regression test, tests/covtable.Rout.save; also by hand: covariance at 0.7071 is
// 0.1161165, 1 - 2 (0.1161165) + 1/4 = 1.017767.
TEST(OrdinaryKrigingInPrint, GivesTheCentreOfFourCornersAndOfTwoPoints) {
  const VariogramModel spherical{VariogramShape::spherical, 0, 1, 1, 0, 1};
  const Samples corners{sample_at(0, 0, 1), sample_at(1, 0, 2), sample_at(0, 1, 3),
                        sample_at(1, 1, 4)};
  const auto centre =
      OrdinaryKriging(corners, spherical, everything).at(std::vector{Point{0.5, 0.5}}, {});
  EXPECT_NEAR(centre[0].value, 2.5, 1e-12);
  EXPECT_NEAR(centre[0].variance, 1.017767, 5e-7);
  const Samples pair{sample_at(-0.5, -0.5, 1), sample_at(0.5, -0.5, 2)};
  const auto between =
      OrdinaryKriging(pair, spherical, everything).at(std::vector{Point{0, 0}}, {});
  EXPECT_NEAR(between[0].value, 1.5, 1e-12);
  EXPECT_NEAR(between[0].variance, 1.267767, 5e-7);
}

// The same seven points. The book's 594 and 598 for powers 1 and 2 are from memory; the digits are
// computed independently.
TEST(InverseDistanceInPrint, GivesTheSevenPointEstimates) {
  const std::vector<std::pair<double, double>> by_power{{0.2, 600.61}, {0.5, 597.02}, {1, 593.95},
                                                        {2, 597.62},   {5, 635.37},   {10, 672.99}};
  for (const auto& [power, expected] : by_power) {
    const auto out =
        inverse_distance_at(seven_points(), {power, everything}, std::vector{target}, {});
    EXPECT_NEAR(out[0], expected, 0.006) << power;
  }
}

}  // namespace
}  // namespace evendrip
