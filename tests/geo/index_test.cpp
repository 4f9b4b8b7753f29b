// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/index.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <tuple>
#include <utility>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

constexpr double anywhere = std::numeric_limits<double>::infinity();

std::vector<NearPoint> brute_force(const std::vector<Point>& points, Point p, std::size_t most,
                                   double within_m) {
  std::vector<NearPoint> all;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const double dx = points[i].x - p.x;
    const double dy = points[i].y - p.y;
    const double distance2 = dx * dx + dy * dy;
    if (distance2 <= within_m * within_m) all.push_back({static_cast<int>(i), distance2});
  }
  std::sort(all.begin(), all.end(), [](const NearPoint& a, const NearPoint& b) {
    return std::tuple(a.distance2_m2, a.point) < std::tuple(b.distance2_m2, b.point);
  });
  all.resize(std::min(all.size(), most));
  return all;
}

void expect_same(const std::vector<Point>& points, Point p, int most, double within_m) {
  const PointIndex index(points);
  std::vector<NearPoint> found;
  index.nearest(p, most, within_m, found);
  const auto expected = brute_force(points, p, static_cast<std::size_t>(most), within_m);
  ASSERT_EQ(found.size(), expected.size());
  for (std::size_t i = 0; i < found.size(); ++i) {
    EXPECT_EQ(found[i].point, expected[i].point);
    EXPECT_EQ(found[i].distance2_m2, expected[i].distance2_m2);
  }
}

TEST(PointIndex, AgreesWithBruteForce) {
  std::mt19937_64 random = item_stream(3, {1});
  std::uniform_real_distribution<double> place(0, 400);
  std::uniform_real_distribution<double> around(-300, 700);
  for (const int count : {1, 2, 5, 40, 700}) {
    std::vector<Point> points;
    for (int i = 0; i < count; ++i) points.push_back({500000 + place(random), place(random)});
    for (int query = 0; query < 60; ++query) {
      const Point p{500000 + around(random), around(random)};
      expect_same(points, p, 1 + query % 33, query % 2 == 0 ? anywhere : 5.0 * query);
    }
  }
}

TEST(PointIndex, OrdersTiesByIndexOnALattice) {
  std::vector<Point> points;
  for (int i = 0; i < 20; ++i) {
    for (int j = 0; j < 20; ++j) points.push_back({i * 5.0, j * 5.0});
  }
  std::shuffle(points.begin(), points.end(), item_stream(3, {2}));
  for (int k = 1; k < 50; ++k) {
    expect_same(points, {47.5, 47.5}, k, anywhere);
    expect_same(points, {50, 50}, k, 5);
    expect_same(points, {0, 95}, k, 20);
  }
}

TEST(PointIndex, AgreesWithBruteForceOnClustersLinesAndCopies) {
  std::mt19937_64 random = item_stream(3, {3});
  std::uniform_real_distribution<double> small(0, 1);
  std::vector<Point> points(30, Point{7, 7});
  for (int i = 0; i < 300; ++i) points.push_back({small(random), small(random)});
  points.push_back({1e6, 1e6});
  std::vector<Point> line;
  for (int i = 0; i < 200; ++i) line.push_back({i * 1.5, 20});
  for (int k = 1; k < 40; k += 3) {
    expect_same(points, {0.5, 0.5}, k, anywhere);
    expect_same(points, {7, 7}, k, 0);
    expect_same(points, {9e5, 0}, k, anywhere);
    expect_same(line, {100, 21}, k, anywhere);
    expect_same(line, {-100, -50}, k, 200);
  }
}

TEST(PointIndex, FindsNothingAmongNothing) {
  std::vector<NearPoint> found{{1, 1}};
  PointIndex(std::vector<Point>{}).nearest({0, 0}, 3, anywhere, found);
  EXPECT_TRUE(found.empty());
  PointIndex(std::vector<Point>{{0, 0}}).nearest({0, 0}, 0, anywhere, found);
  EXPECT_TRUE(found.empty());
}

void expect_same(const std::vector<Line>& lines, const LineIndex& index, Point p, double within) {
  std::vector<std::pair<double, int>> expected;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    const double distance = project_onto(lines[i], p).distance_m;
    if (distance <= within) expected.emplace_back(distance, static_cast<int>(i));
  }
  std::sort(expected.begin(), expected.end());
  expected.resize(std::min<std::size_t>(expected.size(), 8));
  const std::vector<NearLine> found = index.nearest(p, 8, within);
  ASSERT_EQ(found.size(), expected.size());
  for (std::size_t i = 0; i < found.size(); ++i) {
    EXPECT_EQ(found[i].line, expected[i].second);
    EXPECT_EQ(found[i].projection.distance_m, expected[i].first);
  }
}

TEST(LineIndex, AgreesWithBruteForce) {
  std::mt19937_64 random = item_stream(3, {4});
  std::uniform_real_distribution<double> place(0, 200);
  std::uniform_real_distribution<double> step(-30, 30);
  std::vector<Line> lines;
  for (int i = 0; i < 120; ++i) {
    Line line{{place(random), place(random)}};
    for (int k = 0; k < 1 + i % 5; ++k) {
      line.push_back({line.back().x + step(random), line.back().y + step(random)});
    }
    lines.push_back(line);
  }
  const LineIndex index(lines);
  for (int query = 0; query < 200; ++query)
    expect_same(lines, index, {place(random), place(random)}, query % 3 == 0 ? 20 : anywhere);
}

TEST(LineIndex, AgreesWithBruteForceOnLongLinesSideBySide) {
  std::mt19937_64 random = item_stream(3, {5});
  std::uniform_real_distribution<double> place(-100, 500);
  for (const double slant : {0.0, 1e-9, 0.3, 1.0}) {
    std::vector<Line> lines;
    for (int i = 0; i < 80; ++i)
      lines.push_back({{500000, 4e6 + 1.5 * i}, {500330, 4e6 + 1.5 * i + slant * 330}});
    const LineIndex index(lines);
    for (int query = 0; query < 60; ++query)
      expect_same(lines, index, {500000 + place(random), 4e6 + place(random)},
                  query % 3 == 0 ? 4 : anywhere);
  }
}

TEST(LineIndex, OrdersLinesAtTheSameDistanceByIndex) {
  std::vector<Line> lines;
  for (int i = 0; i < 50; ++i)
    lines.push_back({{0, (i % 2 == 0) ? 1.0 : -1.0}, {100, (i % 2 == 0) ? 1.0 : -1.0}});
  const std::vector<NearLine> found = LineIndex(lines).nearest({50, 0}, 5);
  ASSERT_EQ(found.size(), 5U);
  for (int i = 0; i < 5; ++i) EXPECT_EQ(found[static_cast<std::size_t>(i)].line, i);
}

TEST(LineIndex, ReachesLinesFarFromThePointAndFromEachOther) {
  const std::vector<Line> lines{{{0, 0}, {1, 0}}, {{0, 1}, {1, 1}}, {{1e6, 1e6}, {1e6 + 5, 1e6}}};
  const LineIndex index(lines);
  const std::vector<NearLine> found = index.nearest({-4e6, 0.9}, 3);
  ASSERT_EQ(found.size(), 3U);
  EXPECT_EQ(found[2].line, 2);
  EXPECT_DOUBLE_EQ(found[0].projection.distance_m, project_onto(lines[1], {-4e6, 0.9}).distance_m);
  EXPECT_TRUE(index.nearest({-4e6, 0.9}, 3, 1e6).empty());
  EXPECT_EQ(index.nearest({0.5, 1}, 3, 0).size(), 1U);
}

TEST(LineIndex, FindsNothingAmongNothing) {
  EXPECT_TRUE(LineIndex(std::vector<Line>{}).nearest({0, 0}, 3).empty());
}

}  // namespace
}  // namespace evendrip
