// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crs/outlines.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <set>
#include <stdexcept>
#include <utility>

#include "evendrip/base/error.hpp"
#include "evendrip/base/random.hpp"
#include "evendrip/crs/overlay.hpp"
#include "evendrip/geo/coverage.hpp"

namespace evendrip {
namespace {

using Classes = std::vector<std::uint8_t>;

std::vector<Patch> patches_of(const Grid& grid, const Classes& classes, const Work& work = {}) {
  return polygonise(
      grid,
      [&](const Window& window) {
        const auto first = classes.begin() + static_cast<std::ptrdiff_t>(grid.index(window.row, 0));
        return Classes(first, first + static_cast<std::ptrdiff_t>(window.cells()));
      },
      work);
}

/// Number of 4-connected patches of classes other than 0, by flood fill.
int count_patches(const Grid& grid, Classes classes) {
  int count = 0;
  for (std::size_t seed = 0; seed < classes.size(); ++seed) {
    const std::uint8_t wanted = classes[seed];
    if (wanted == 0) continue;
    ++count;
    std::vector<std::pair<int, int>> open{
        {static_cast<int>(seed) / grid.columns, static_cast<int>(seed) % grid.columns}};
    while (!open.empty()) {
      const auto [row, column] = open.back();
      open.pop_back();
      if (!grid.contains_cell(row, column) || classes[grid.index(row, column)] != wanted) continue;
      classes[grid.index(row, column)] = 0;
      for (const int step : {-1, 1}) {
        open.emplace_back(row + step, column);
        open.emplace_back(row, column + step);
      }
    }
  }
  return count;
}

TEST(JoinedPatches, AreOneWhereCellsOfAClassTouchAtCorners) {
  // A strip that runs askew, beside a cell of another class and one that lies alone.
  const std::vector<std::string> rows = {"1...2", ".1.2.", "..1..", ".....", "1...."};
  const Grid grid{0, 5, 1, 5, 5};
  const auto patches = polygonise(
      grid,
      [&rows](const Window& window) {
        std::vector<std::uint8_t> classes;
        for (int r = window.row; r < window.row + window.rows; ++r)
          for (const char c : rows[static_cast<std::size_t>(r)])
            classes.push_back(c == '.' ? std::uint8_t{0} : static_cast<std::uint8_t>(c - '0'));
        return classes;
      },
      Work{});
  ASSERT_EQ(patches.size(), 6U);
  const auto joined = joined_at_corners(patches);
  ASSERT_EQ(joined.size(), 3U);
  double area = 0;
  for (const JoinedPatch& one : joined) {
    area += area_m2(one.outline);
    if (one.outline.size() == 3) {
      EXPECT_EQ(one.patch_class, 1);
    }
    if (one.outline.size() == 2) {
      EXPECT_EQ(one.patch_class, 2);
    }
  }
  EXPECT_DOUBLE_EQ(area, 6);
  EXPECT_EQ(std::count_if(joined.begin(), joined.end(),
                          [](const JoinedPatch& one) { return one.outline.size() == 1; }),
            1);
  EXPECT_TRUE(joined_at_corners({}).empty());
}

TEST(Polygonise, OutlinesEveryPatchOnceAndNoCellOfClassZero) {
  const Grid grid{322000, 4362060, 2, 37, 30};
  std::mt19937_64 random = item_stream(9, {1});
  std::uniform_int_distribution<int> any(0, 3);
  for (int round = 0; round < 20; ++round) {
    Classes classes(grid.cells());
    for (auto& c : classes) c = static_cast<std::uint8_t>(any(random) * any(random) % 4);
    const std::vector<Patch> patches = patches_of(grid, classes);
    EXPECT_EQ(static_cast<int>(patches.size()), count_patches(grid, classes));
    std::map<std::size_t, int> owner;
    for (const Patch& patch : patches) {
      EXPECT_EQ(invalid_because({patch.outline}), "");
      const Coverage coverage = coverage_of(grid, {patch.outline});
      std::size_t k = 0;
      for (int r = 0; r < coverage.window.rows; ++r) {
        for (int c = 0; c < coverage.window.columns; ++c, ++k) {
          if (coverage.fraction[k] == 0) continue;
          EXPECT_EQ(coverage.fraction[k], 1);
          const std::size_t cell = grid.index(coverage.window.row + r, coverage.window.column + c);
          EXPECT_TRUE(owner.emplace(cell, patch.patch_class).second);
        }
      }
    }
    for (std::size_t i = 0; i < classes.size(); ++i) {
      EXPECT_EQ(owner.contains(i) ? owner.at(i) : 0, classes[i]);
    }
  }
}

TEST(Polygonise, AsksForBlocksOfRowsAndNeverTheWholeRaster) {
  const Grid grid{0, 5000, 1, 5000, 5000};
  std::size_t largest = 0;
  const std::vector<Patch> patches = polygonise(
      grid,
      [&](const Window& window) {
        EXPECT_EQ(window.column, 0);
        EXPECT_EQ(window.columns, grid.columns);
        largest = std::max(largest, window.cells());
        return Classes(window.cells(), 1);
      },
      Work{});
  ASSERT_EQ(patches.size(), 1U);
  EXPECT_DOUBLE_EQ(area_m2(patches[0].outline), 25e6);
  EXPECT_LE(largest, std::size_t{1} << 18);
}

TEST(Polygonise, LetsAnErrorOfTheSourceThrough) {
  const auto failing = [](const Window&) -> Classes { throw std::runtime_error("no rows"); };
  EXPECT_THROW(polygonise(Grid{0, 4, 1, 4, 4}, failing, Work{}), std::runtime_error);
}

TEST(Polygonise, StopsWhenAsked) {
  std::stop_source source;
  source.request_stop();
  Work work;
  work.stop = source.get_token();
  EXPECT_THROW(patches_of(Grid{0, 4, 1, 4, 4}, Classes(16, 1), work), Interrupted);
}

TEST(Polygonise, FindsNothingInAnEmptyGrid) {
  EXPECT_TRUE(patches_of(Grid{}, {}).empty());
  EXPECT_TRUE(patches_of(Grid{0, 4, 1, 4, 4}, Classes(16, 0)).empty());
}

Raster slope(int rows, int columns) {
  Raster raster(Grid{1000, 2000, 10, columns, rows});
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      const Point p = raster.grid.centre(r, c);
      raster.set(raster.grid.index(r, c), 0.5 * (p.x - 1000) + 0.25 * (p.y - 1800));
    }
  }
  return raster;
}

TEST(Isolines, FollowAPlaneExactly) {
  const std::vector<Isoline> lines = isolines(slope(20, 30), {61.3, 40.7});
  ASSERT_EQ(lines.size(), 2U);
  std::set<double> levels;
  for (const Isoline& isoline : lines) {
    levels.insert(isoline.level);
    EXPECT_GT(isoline.line.size(), 10U);
    for (const Point p : isoline.line) {
      // Beyond the outermost centres the surface is continued flat: half a cell.
      if (p.x < 1005 || p.x > 1295 || p.y < 1805 || p.y > 1995) continue;
      EXPECT_NEAR(0.5 * (p.x - 1000) + 0.25 * (p.y - 1800), isoline.level, 1e-4);
    }
  }
  EXPECT_EQ(levels, (std::set<double>{40.7, 61.3}));
}

TEST(Isolines, AreInterruptedByCellsWithoutAValue) {
  Raster raster = slope(20, 30);
  for (int r = 8; r < 12; ++r) {
    for (int c = 0; c < 30; ++c) raster.clear(raster.grid.index(r, c), Reason::too_few);
  }
  const std::vector<Isoline> lines = isolines(raster, {61.3});
  ASSERT_EQ(lines.size(), 2U);
  for (const Isoline& isoline : lines) {
    for (const Point p : isoline.line) EXPECT_FALSE(p.y > 1885 && p.y < 1915) << p.y;
  }
}

TEST(Isolines, AreNoneWithoutLevelsOrValues) {
  EXPECT_TRUE(isolines(slope(5, 5), {}).empty());
  EXPECT_TRUE(isolines(slope(5, 5), {1e9, std::nan("")}).empty());
  EXPECT_TRUE(isolines(Raster(Grid{0, 5, 1, 5, 5}), {1}).empty());
  EXPECT_TRUE(isolines(Raster{}, {1}).empty());
}

}  // namespace
}  // namespace evendrip
