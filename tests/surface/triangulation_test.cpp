// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/triangulation.hpp"

#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

constexpr Point far_off{512345.125, 4123456.75};

Point moved(double x, double y) {
  return {far_off.x + x, far_off.y + y};
}

double plane(Point p) {
  return 3 + 0.02 * (p.x - far_off.x) - 0.05 * (p.y - far_off.y);
}

/// Places on whole millimetres, values on a plane.
Samples on_a_plane(std::size_t count, unsigned seed) {
  std::mt19937_64 random(seed);
  std::uniform_int_distribution<int> place_mm(0, 100000);
  Samples samples;
  for (std::size_t i = 0; i < count; ++i) {
    const double x = place_mm(random) / 1000.0;
    const double y = place_mm(random) / 1000.0;
    Sample sample = sample_at(moved(x, y).x, moved(x, y).y, 0);
    sample.value = plane(sample.site.place);
    samples.push_back(sample);
  }
  return samples;
}

/// Samples 20 m apart along laterals 1.5 m apart: four on a circle everywhere.
Samples along_laterals() {
  Samples samples;
  for (int lateral = 0; lateral < 9; ++lateral) {
    for (int hole = 0; hole < 6; ++hole) {
      const Point p = moved(1.5 * lateral, 20.0 * hole);
      samples.push_back(sample_at(p.x, p.y, plane(p)));
    }
  }
  return samples;
}

std::vector<Point> places_over(double width, double height, int count) {
  std::vector<Point> places;
  for (int i = 0; i < count; ++i)
    places.push_back(moved(width * std::fmod(0.5 + 0.618034 * i, 1.0),
                           height * std::fmod(0.5 + 0.754878 * i, 1.0)));
  return places;
}

bool is_nan(double v) {
  return std::isnan(v);
}

TEST(Triangulation, ReturnsTheSamplesAtTheirPlaces) {
  const Samples samples = scattered(60);
  const Triangulation surface(samples);
  std::vector<Point> places;
  for (const Sample& sample : samples) places.push_back(sample.site.place);
  const auto linear = surface.linear_at(places, {});
  const auto natural = surface.natural_neighbour_at(places, {});
  for (std::size_t i = 0; i < samples.size(); ++i) {
    EXPECT_EQ(linear[i], samples[i].value);
    EXPECT_EQ(natural[i], samples[i].value);
  }
}

TEST(Triangulation, ReproducesAnyPlaneInsideTheHull) {
  for (const Samples& samples : {on_a_plane(5, 1), on_a_plane(40, 2), on_a_plane(400, 3)}) {
    const Triangulation surface(samples);
    const std::vector<Point> places = places_over(100, 100, 2000);
    const auto linear = surface.linear_at(places, {});
    const auto natural = surface.natural_neighbour_at(places, {});
    int inside = 0;
    for (std::size_t i = 0; i < places.size(); ++i) {
      EXPECT_EQ(is_nan(linear[i]), is_nan(natural[i]));
      if (is_nan(linear[i])) continue;
      ++inside;
      EXPECT_NEAR(linear[i], plane(places[i]), 1e-9);
      EXPECT_NEAR(natural[i], plane(places[i]), 1e-9);
    }
    EXPECT_GT(inside, 200);
  }
}

TEST(Triangulation, ReproducesAPlaneWhereManySamplesLieOnOneCircle) {
  const Triangulation surface(along_laterals());
  const std::vector<Point> places = places_over(12, 100, 2000);
  const auto linear = surface.linear_at(places, {});
  const auto natural = surface.natural_neighbour_at(places, {});
  for (std::size_t i = 0; i < places.size(); ++i) {
    EXPECT_NEAR(linear[i], plane(places[i]), 1e-9);
    EXPECT_NEAR(natural[i], plane(places[i]), 1e-9);
  }
}

TEST(Triangulation, GivesTheMeanOfFourInTheMiddleOfASquare) {
  const Triangulation square(
      {sample_at(0, 0, 1), sample_at(10, 0, 2), sample_at(10, 10, 4), sample_at(0, 10, 9)});
  EXPECT_NEAR(square.natural_neighbour_at(std::vector{Point{5, 5}}, {})[0], 4, 1e-12);
}

TEST(Triangulation, TakesAllOfTheConvexHullAndNothingOutside) {
  const Triangulation square({sample_at(0, 0, 1), sample_at(10, 0, 2), sample_at(10, 10, 4),
                              sample_at(0, 10, 9), sample_at(5, 4, 3)});
  const std::vector<Point> inside{{5, 0}, {10, 2.5}, {0.001, 9.9}, {9.9999, 9.9}, {0, 3}};
  for (const double v : square.linear_at(inside, {})) EXPECT_FALSE(is_nan(v));
  for (const double v : square.natural_neighbour_at(inside, {})) EXPECT_FALSE(is_nan(v));
  const std::vector<Point> outside{{5, -0.01}, {10.01, 2.5}, {-3, 3}, {1e7, 1e7}};
  for (const double v : square.linear_at(outside, {})) EXPECT_TRUE(is_nan(v));
  for (const double v : square.natural_neighbour_at(outside, {})) EXPECT_TRUE(is_nan(v));
}

TEST(Triangulation, IsLinearAlongTheEdgeOfTheHullAndTendsToThatFromInside) {
  const Triangulation square({sample_at(0, 0, 1), sample_at(10, 0, 2), sample_at(10, 10, 4),
                              sample_at(0, 10, 9), sample_at(5, 4, 3)});
  const std::vector<Point> places{{3, 0}, {3, 1e-8}, {3, 1e-5}};
  const auto natural = square.natural_neighbour_at(places, {});
  EXPECT_NEAR(natural[0], 1.3, 1e-12);
  EXPECT_NEAR(natural[1], 1.3, 1e-6);
  EXPECT_NEAR(natural[2], 1.3, 1e-3);
}

TEST(Triangulation, StaysBetweenTheLeastAndTheGreatestSample) {
  const Samples samples = scattered(80);
  const auto [least, greatest] =
      std::minmax_element(samples.begin(), samples.end(),
                          [](const Sample& a, const Sample& b) { return a.value < b.value; });
  std::vector<Point> places;
  for (int i = 0; i < 1000; ++i)
    places.push_back({500000 + 100 * std::fmod(0.618034 * i, 1.0),
                      4100000 + 100 * std::fmod(0.754878 * i, 1.0)});
  for (const double v : Triangulation(samples).natural_neighbour_at(places, {})) {
    if (is_nan(v)) continue;
    EXPECT_GE(v, least->value);
    EXPECT_LE(v, greatest->value);
  }
}

TEST(Triangulation, MergesSamplesOfOneMillimetre) {
  Samples samples{sample_at(0, 0, 1), sample_at(10, 0, 2), sample_at(5, 10, 4)};
  samples.push_back(sample_at(0.0003, 0, 3));
  const Triangulation surface(samples);
  EXPECT_EQ(surface.linear_at(std::vector{Point{0, 0}}, {})[0], 2);
  EXPECT_NEAR(surface.linear_at(std::vector{Point{5, 0}}, {})[0], 2, 1e-12);
}

TEST(Triangulation, HasNoValueWhereNoTriangleCanBeMade) {
  const Samples on_one_line{sample_at(0, 0, 1), sample_at(5, 5, 2), sample_at(9, 9, 3)};
  const Samples twice_the_same{sample_at(2, 2, 1), sample_at(2, 2, 3), sample_at(2, 2, 5)};
  for (const Samples& samples :
       {Samples{}, Samples{sample_at(1, 1, 7)}, Samples{sample_at(1, 1, 7), sample_at(2, 2, 8)},
        on_one_line, twice_the_same}) {
    const Triangulation surface(samples);
    const std::vector<Point> place{{4, 4}};
    EXPECT_TRUE(is_nan(surface.linear_at(place, {})[0]));
    EXPECT_TRUE(is_nan(surface.natural_neighbour_at(place, {})[0]));
  }
  EXPECT_EQ(Triangulation(on_one_line).linear_at(std::vector{Point{5, 5}}, {})[0], 2);
  EXPECT_EQ(Triangulation(twice_the_same).natural_neighbour_at(std::vector{Point{2, 2}}, {})[0], 3);
}

TEST(Triangulation, HandlesSamplesAllButOnOneLine) {
  const double east = std::sin(0.7);  // rounded to the millimetre they stray from the line
  const double north = std::cos(0.7);
  Samples samples;
  for (int i = 0; i < 60; ++i) {
    const double along = 3.7 * i;
    samples.push_back(sample_at(east * along, north * along, 1 + 0.01 * along));
  }
  const Triangulation surface(samples);
  std::vector<Point> places;
  for (int i = 0; i < 500; ++i) places.push_back({east * 0.43 * i, north * 0.43 * i});
  for (const auto& values :
       {surface.linear_at(places, {}), surface.natural_neighbour_at(places, {})}) {
    int inside = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (is_nan(values[i])) continue;
      ++inside;
      EXPECT_NEAR(values[i], 1 + 0.01 * 0.43 * static_cast<double>(i), 0.05);
    }
    EXPECT_GT(inside, 50);
  }
}

TEST(Triangulation, RefusesPlacesThatAreNoneOrTooFarApart) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  EXPECT_THROW(Triangulation({sample_at(nan, 0, 1)}), std::invalid_argument);
  EXPECT_THROW(Triangulation({sample_at(0, 0, 1), sample_at(2e6, 0, 1)}), std::invalid_argument);
  const Triangulation surface(scattered(10));
  EXPECT_TRUE(is_nan(surface.linear_at(std::vector{Point{nan, 0}}, {})[0]));
}

TEST(Triangulation, DependsNeitherOnThreadsNorOnTheOrderOfSamples) {
  Samples samples = scattered(70);
  const std::vector<Point> places = [] {
    std::vector<Point> out;
    for (int i = 0; i < 1500; ++i)
      out.push_back({500000 + 100 * std::fmod(0.618034 * i, 1.0),
                     4100000 + 100 * std::fmod(0.754878 * i, 1.0)});
    return out;
  }();
  Work two;
  two.threads = 2;
  const Triangulation surface(samples);
  std::reverse(samples.begin(), samples.end());
  const Triangulation turned(samples);
  const auto one = surface.natural_neighbour_at(places, {});
  const auto by_two = surface.natural_neighbour_at(places, two);
  const auto by_turned = turned.natural_neighbour_at(places, {});
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (is_nan(one[i])) continue;
    EXPECT_EQ(one[i], by_two[i]);
    EXPECT_EQ(one[i], by_turned[i]);
  }
}

}  // namespace
}  // namespace evendrip
