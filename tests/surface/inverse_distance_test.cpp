// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/estimators.hpp"

#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <vector>

namespace evendrip {
namespace {

const Grid grid{499995, 4100105, 2.5, 44, 44};
const Window whole{0, 0, 44, 44};
constexpr double infinite = std::numeric_limits<double>::infinity();

/// The formula over the nearest samples, found by sorting them all.
double brute(const Samples& samples, const InverseDistance& options, Point place) {
  std::vector<std::pair<double, double>> by_distance;
  for (const Sample& sample : samples) {
    const double d = distance_m(sample.site.place, place);
    if (d <= options.neighbourhood.within_m) by_distance.emplace_back(d, sample.value);
  }
  std::sort(by_distance.begin(), by_distance.end());
  if (options.neighbourhood.most > 0 &&
      by_distance.size() > static_cast<std::size_t>(options.neighbourhood.most))
    by_distance.resize(static_cast<std::size_t>(options.neighbourhood.most));
  double sum = 0;
  double weights = 0;
  for (const auto& [d, value] : by_distance) {
    const double w = std::pow(d, -options.power);
    sum += w * value;
    weights += w;
  }
  return sum / weights;
}

TEST(InverseDistance, EqualsTheFormulaOverTheNearestSamples) {
  const Samples samples = scattered(250);
  for (const InverseDistance& options :
       {InverseDistance{2, {12, infinite, 1}}, InverseDistance{1.5, {12, 9, 1}},
        InverseDistance{2, {0, 14, 1}}, InverseDistance{3, {0, infinite, 1}}}) {
    const Raster out = InverseDistanceSurface(samples, options).over(grid, whole, {}, {});
    for (int r = 0; r < grid.rows; ++r)
      for (int c = 0; c < grid.columns; ++c) {
        const double expected = brute(samples, options, grid.centre(r, c));
        const std::size_t i = grid.index(r, c);
        ASSERT_EQ(out.has_value(i), std::isfinite(expected));
        if (!out.has_value(i)) continue;
        EXPECT_NEAR(out.values[i], expected, 1e-6);
      }
  }
}

TEST(InverseDistance, ReturnsTheSampleValueAtASamplePoint) {
  const Samples samples = scattered(50);
  const auto out = inverse_distance_at(samples, {}, std::vector{samples[9].site.place}, {});
  EXPECT_EQ(out[0], samples[9].value);
}

TEST(InverseDistance, DoesNotDependOnThreadsNorOnTheOrderOfTheSamples) {
  Samples samples = scattered(250);
  const Raster first = InverseDistanceSurface(samples, {}).over(grid, whole, {}, {});
  std::reverse(samples.begin(), samples.end());
  Work four;
  four.threads = 4;
  const Raster second = InverseDistanceSurface(samples, {}).over(grid, whole, {}, four);
  EXPECT_EQ(
      std::memcmp(first.values.data(), second.values.data(), first.values.size() * sizeof(float)),
      0);
}

TEST(InverseDistance, StaysBetweenTheSmallestAndLargestValue) {
  const Samples samples = scattered(100);
  const auto [low, high] =
      std::minmax_element(samples.begin(), samples.end(),
                          [](const Sample& a, const Sample& b) { return a.value < b.value; });
  const Raster out = InverseDistanceSurface(samples, {}).over(grid, whole, {}, {});
  for (const float value : out.values) {
    EXPECT_GE(value, static_cast<float>(low->value));
    EXPECT_LE(value, static_cast<float>(high->value));
  }
}

TEST(InverseDistance, OfTooFewSamplesHasAReasonAndNoValue) {
  const Raster none = InverseDistanceSurface({}, {}).over(grid, {0, 0, 2, 2}, {}, {});
  EXPECT_EQ(none.reasons[0], Reason::too_few);
  const Samples two = scattered(2);
  const InverseDistance options{2, {8, infinite, 3}};
  const Raster few = InverseDistanceSurface(two, options).over(grid, {0, 0, 2, 2}, {}, {});
  EXPECT_EQ(few.reasons[0], Reason::too_few);
  EXPECT_TRUE(std::isnan(inverse_distance_at(two, options, std::vector{Point{0, 0}}, {})[0]));
}

}  // namespace
}  // namespace evendrip
