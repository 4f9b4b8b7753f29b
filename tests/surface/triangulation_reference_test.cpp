// SPDX-License-Identifier: Apache-2.0
// Isaaks & Srivastava 1989, "An Introduction to Applied Geostatistics", Table 12.1 and chapter 11;
// natural neighbours against areas of Dirichlet tiles by R deldir 1.0-6: the tiles of the samples
// less those with the place added (both cut by a window 500 m wider than the samples).
#include "evendrip/surface/triangulation.hpp"

#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace evendrip {
namespace {

Samples seven_points() {
  return {sample_at(61, 139, 477), sample_at(63, 140, 696), sample_at(64, 129, 227),
          sample_at(68, 128, 646), sample_at(71, 140, 606), sample_at(73, 141, 791),
          sample_at(75, 128, 783)};
}

/// x, y and value on whole thousandths.
Samples forty_points() {
  const auto rounded = [](double v) { return std::round(1000 * v) / 1000; };
  Samples samples;
  for (int i = 1; i <= 40; ++i) {
    samples.push_back(sample_at(rounded(100 * std::fmod(0.618034 * i, 1.0)),
                                rounded(60 * std::fmod(0.7548777 * i, 1.0)),
                                rounded(std::sin(static_cast<double>(i)))));
  }
  return samples;
}

// The book has 548.7 (from memory); 548.659 by the weights 0.511364, 0.272727, 0.215909 of the
// second, third and fifth sample, worked out by hand.
TEST(Triangulation, MatchesTheWorkedExampleOfIsaaksAndSrivastava) {
  const Triangulation surface(seven_points());
  EXPECT_NEAR(surface.linear_at(std::vector{Point{65, 137}}, {})[0], 548.659, 5e-4);
}

TEST(Triangulation, TakesTheAreasThatDirichletTilesLose) {
  const Triangulation seven(seven_points());
  EXPECT_NEAR(seven.natural_neighbour_at(std::vector{Point{65, 137}}, {})[0], 549.636812866, 2e-8);
  const Triangulation forty(forty_points());
  const std::vector<Point> places{{50, 30}, {33.3, 21.7}, {61.25, 40.5}, {70, 18}};
  const std::vector<double> expected{-0.100112922379, 0.610661033356, 0.503733450959,
                                     0.578294978791};
  const auto values = forty.natural_neighbour_at(places, {});
  for (std::size_t i = 0; i < places.size(); ++i) EXPECT_NEAR(values[i], expected[i], 1e-9);
}

}  // namespace
}  // namespace evendrip
