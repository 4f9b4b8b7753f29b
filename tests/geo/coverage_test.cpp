// SPDX-License-Identifier: Apache-2.0
#include "evendrip/geo/coverage.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

/// A star around a centre: never crosses itself.
Ring star(std::mt19937_64& random, Point centre, double inner, double outer, int vertices) {
  std::uniform_real_distribution<double> radius(inner, outer);
  Ring ring;
  for (int i = 0; i < vertices; ++i) {
    const double angle = 2 * std::numbers::pi * i / vertices;
    const double r = radius(random);
    ring.push_back({centre.x + r * std::cos(angle), centre.y + r * std::sin(angle)});
  }
  return ring;
}

double sum_of(const Coverage& coverage) {
  return std::accumulate(coverage.fraction.begin(), coverage.fraction.end(), 0.0);
}

double share_at(const Coverage& coverage, int row, int column) {
  const int r = row - coverage.window.row;
  const int c = column - coverage.window.column;
  if (r < 0 || c < 0 || r >= coverage.window.rows || c >= coverage.window.columns) return 0;
  return coverage.fraction[static_cast<std::size_t>(r * coverage.window.columns + c)];
}

TEST(Coverage, SumsToTheAreaOfTheShape) {
  std::mt19937_64 random = item_stream(11, {1});
  const Grid grid{500000, 4400200, 2.5, 80, 80};
  for (int round = 0; round < 200; ++round) {
    Polygon polygon{star(random, {500100, 4400100}, 40, 95, 3 + round % 40), {}};
    if (round % 2 == 0) polygon.holes.push_back(star(random, {500100, 4400100}, 3, 15, 9));
    const Coverage coverage = coverage_of(grid, {polygon});
    EXPECT_NEAR(sum_of(coverage) * 2.5 * 2.5, area_m2(polygon), 1e-6);
  }
}

TEST(Coverage, OfNeighboursSumsToOneInEveryCellWithin) {
  // Two parts of a square cut by a slanting line, in a rotated frame.
  const Grid grid{0, 100, 3, 34, 34};
  const Coverage left = coverage_of(grid, {{{{5, 5}, {40, 7}, {62, 95}, {3, 90}}, {}}});
  const Coverage right = coverage_of(grid, {{{{40, 7}, {95, 2}, {97, 93}, {62, 95}}, {}}});
  const Coverage whole =
      coverage_of(grid, {{{{5, 5}, {40, 7}, {95, 2}, {97, 93}, {62, 95}, {3, 90}}, {}}});
  for (int row = 0; row < grid.rows; ++row) {
    for (int column = 0; column < grid.columns; ++column) {
      EXPECT_NEAR(share_at(left, row, column) + share_at(right, row, column),
                  share_at(whole, row, column), 1e-12);
    }
  }
}

TEST(Coverage, AgreesWithFineCounting) {
  std::mt19937_64 random = item_stream(11, {2});
  const Grid grid{0, 10, 1, 10, 10};
  const MultiPolygon shape{{star(random, {5, 5}, 1, 5.5, 11), {}}};
  const Coverage coverage = coverage_of(grid, shape);
  constexpr int fine = 60;
  for (int row = 0; row < 10; ++row) {
    for (int column = 0; column < 10; ++column) {
      int inside = 0;
      for (int i = 0; i < fine * fine; ++i) {
        const Point p{column + (i % fine + 0.5) / fine, 10 - row - (i / fine + 0.5) / fine};
        inside += contains(shape, p) ? 1 : 0;
      }
      EXPECT_NEAR(share_at(coverage, row, column), inside / double{fine * fine}, 0.03);
    }
  }
}

TEST(Coverage, CutsAShapeThatReachesBeyondTheGrid) {
  const Grid grid{0, 10, 1, 10, 10};
  const Coverage coverage = coverage_of(grid, {{{{-5, 2.5}, {20, 2.5}, {20, 30}, {-5, 30}}, {}}});
  EXPECT_DOUBLE_EQ(sum_of(coverage), 75);
  const Coverage slanted = coverage_of(grid, {{{{-10, -10}, {20, -10}, {20, 20}}, {}}});
  EXPECT_NEAR(sum_of(slanted), 50, 1e-12);  // below the diagonal
  EXPECT_DOUBLE_EQ(share_at(slanted, 0, 9), 0.5);
  EXPECT_DOUBLE_EQ(share_at(slanted, 9, 9), 1);
  EXPECT_DOUBLE_EQ(share_at(slanted, 0, 0), 0);
}

TEST(Coverage, IsExactlyOneOnCellsAlongTheEdges) {
  const Grid grid{0, 4, 1, 4, 4};
  const Coverage coverage = coverage_of(grid, {{{{1, 1}, {3, 1}, {3, 3}, {1, 3}}, {}}});
  EXPECT_EQ(coverage.window, (Window{1, 1, 2, 2}));
  EXPECT_EQ(coverage.fraction, (std::vector<double>{1, 1, 1, 1}));
}

TEST(Coverage, IsEmptyAwayFromTheGrid) {
  EXPECT_TRUE(coverage_of({0, 4, 1, 4, 4}, {{{{9, 9}, {10, 9}, {10, 10}}, {}}}).window.empty());
  EXPECT_TRUE(coverage_of({0, 4, 1, 4, 4}, {}).window.empty());
}

TEST(StatisticsOf, AgreeWithPlainSumsInOnePass) {
  std::mt19937_64 random = item_stream(11, {3});
  std::normal_distribution<double> noise(1e4, 2);
  Raster raster(Grid{0, 40, 1, 50, 40});
  for (std::size_t i = 0; i < raster.grid.cells(); ++i) {
    if (i % 7 == 0) {
      raster.clear(i, Reason::source_nodata);
    } else {
      raster.set(i, noise(random));
    }
  }
  const Coverage coverage = coverage_of(raster.grid, {{star(random, {25, 20}, 8, 19, 17), {}}});
  long double weight = 0;
  long double sum = 0;
  long double missing = 0;
  const auto each = [&](const auto& visit) {
    std::size_t k = 0;
    for (int r = 0; r < coverage.window.rows; ++r) {
      for (int c = 0; c < coverage.window.columns; ++c, ++k) {
        visit(raster.grid.index(coverage.window.row + r, coverage.window.column + c),
              coverage.fraction[k]);
      }
    }
  };
  each([&](std::size_t i, double share) {
    (raster.has_value(i) ? weight : missing) += static_cast<long double>(share);
    if (raster.has_value(i)) sum += static_cast<long double>(share * raster.values[i]);
  });
  long double squares = 0;
  each([&](std::size_t i, double share) {
    if (!raster.has_value(i)) return;
    const long double step = static_cast<long double>(raster.values[i]) - sum / weight;
    squares += static_cast<long double>(share) * step * step;
  });
  const CoverageStatistics found = statistics_of(*reader_of(raster), coverage);
  EXPECT_NEAR(found.weight_cells, static_cast<double>(weight), 1e-9);
  EXPECT_NEAR(found.missing_cells, static_cast<double>(missing), 1e-9);
  EXPECT_NEAR(found.mean, static_cast<double>(sum / weight), 1e-9);
  EXPECT_NEAR(found.sd, static_cast<double>(std::sqrt(squares / weight)), 1e-9);
}

TEST(StatisticsOf, AreEmptyWithoutAValue) {
  const Raster raster(Grid{0, 4, 1, 4, 4});
  const Coverage coverage = coverage_of(raster.grid, {{{{1, 1}, {3, 1}, {3, 3}, {1, 3}}, {}}});
  const CoverageStatistics found = statistics_of(*reader_of(raster), coverage);
  EXPECT_EQ(found.weight_cells, 0);
  EXPECT_EQ(found.missing_cells, 4);
  EXPECT_EQ(found.mean, 0);
}

}  // namespace
}  // namespace evendrip
