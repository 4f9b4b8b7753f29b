// SPDX-License-Identifier: Apache-2.0
// Zonal coverage and statistics against R terra: extract(raster, polygons, exact = TRUE), run by
// Rscript while the test runs. terra 1.7's own shares change by up to 3e-6 when grid and shapes are
// moved together by whole metres: tolerance 5e-6 of a cell. (Areas are held to 1e-9 by zonal_test.)
#include "evendrip/crop/zonal.hpp"

#include "evendrip/base/random.hpp"

#include "own_folder.hpp"

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iomanip>
#include <map>
#include <string>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

const Grid grid = {500'000, 4'400'090, 3, 40, 30};

Raster invented_values() {
  Raster raster(grid);
  std::mt19937_64 stream = item_stream(6, {28});
  for (std::size_t i = 0; i < grid.cells(); ++i) {
    raster.set(i, 1 + static_cast<double>(stream() >> 11U) * 0x1.0p-53);
  }
  return raster;
}

/// Slanted, concave, with a hole, smaller than a cell, along cell edges, beyond the grid's edge.
std::vector<Polygon> shapes() {
  std::vector<Polygon> all = {
      {{{10.3, 12.1}, {97.2, 15.9}, {88.4, 77.7}, {28.8, 64.2}}, {}},
      {{{5, 5}, {110, 5}, {110, 80}, {57.5, 20.5}, {5, 80}}, {}},
      {{{10, 10}, {100, 12}, {90, 80}, {20, 70}}, {{{40, 30}, {60.5, 33}, {50, 55.25}}}},
      {{{31.1, 31.2}, {31.9, 31.4}, {31.4, 32.3}}, {}},
      {{{30, 30}, {60, 30}, {60, 60}, {30, 60}}, {}},
      {{{-20, 40}, {30, 35}, {25, 120}}, {}},
      {{{50, 2}, {51.3, 2}, {71.3, 88}, {70, 88}}, {}}};
  const auto shift = [](Ring& ring) {
    for (Point& p : ring) p = {p.x + 500'000, p.y + 4'400'000};
  };
  for (Polygon& polygon : all) {
    shift(polygon.outer);
    for (Ring& hole : polygon.holes) shift(hole);
  }
  return all;
}

void write_ring(std::ostream& out, const Ring& ring) {
  out << '(';
  for (const Point& p : ring) out << p.x << ' ' << p.y << ", ";
  out << ring.front().x << ' ' << ring.front().y << ')';
}

struct Share {
  double fraction = 0;
  double value = 0;
};
using Shares = std::map<std::pair<int, int>, Share>;

class Terra : public testing::Test {
 protected:
  void SetUp() override {
    if (std::system("Rscript -e 'quit(status = !requireNamespace(\"terra\", quietly = TRUE))' "
                    ">/dev/null 2>&1") != 0) {
      GTEST_SKIP() << "R terra is not installed";
    }
    folder_ = test::own_folder();
    write_inputs();
    run();
  }

  void write_inputs() const {
    std::ofstream(folder_ / "grid.txt")
        << std::setprecision(17) << grid.x_left << ' ' << grid.y_top << ' ' << grid.cell_m << ' '
        << grid.columns << ' ' << grid.rows << '\n';
    std::ofstream cells(folder_ / "cells.txt");
    cells << std::setprecision(9);
    for (const float value : invented_values().values) cells << value << '\n';
    std::ofstream wkt(folder_ / "shapes.txt");
    wkt << std::setprecision(17);
    for (const Polygon& polygon : shapes()) {
      wkt << "POLYGON (";
      write_ring(wkt, polygon.outer);
      for (const Ring& hole : polygon.holes) {
        wkt << ", ";
        write_ring(wkt, hole);
      }
      wkt << ")\n";
    }
  }

  void run() {
    const auto quoted = [](const std::filesystem::path& path) {
      return " '" + path.string() + "'";
    };
    std::filesystem::remove(folder_ / "out.txt");
    const std::string command =
        "Rscript" + quoted(std::filesystem::path(EVENDRIP_TEST_DATA) / "crop/zonal_terra.R") +
        quoted(folder_ / "grid.txt") + quoted(folder_ / "cells.txt") +
        quoted(folder_ / "shapes.txt") + quoted(folder_ / "out.txt") + " 2>" +
        quoted(folder_ / "messages.txt");
    ASSERT_EQ(std::system(command.c_str()), 0);
    std::ifstream out(folder_ / "out.txt");
    std::size_t shape = 0;
    int row = 0;
    int column = 0;
    Share share;
    while (out >> shape >> row >> column >> share.fraction >> share.value) {
      if (theirs_.size() <= shape) theirs_.resize(shape + 1);
      theirs_[shape][{row, column}] = share;
    }
    ASSERT_EQ(theirs_.size(), shapes().size());
  }

  void compare_shares() const {
    const std::vector<Polygon> polygons = shapes();
    for (std::size_t s = 0; s < polygons.size(); ++s) {
      const Coverage ours = coverage_of(grid, {polygons[s]});
      std::size_t matched = 0;
      for (int r = 0; r < ours.window.rows; ++r) {
        for (int c = 0; c < ours.window.columns; ++c) {
          const auto i = static_cast<std::size_t>(r * ours.window.columns + c);
          const auto their = theirs_[s].find({ours.window.row + r, ours.window.column + c});
          const double expected = their == theirs_[s].end() ? 0 : their->second.fraction;
          if (their != theirs_[s].end()) ++matched;
          EXPECT_NEAR(ours.fraction[i], expected, 5e-6) << "shape " << s;
        }
      }
      EXPECT_EQ(matched, theirs_[s].size()) << "shape " << s;
    }
  }

  void compare_means() const {
    const auto reader = reader_of(invented_values());
    const std::vector<Polygon> polygons = shapes();
    for (std::size_t s = 0; s < polygons.size(); ++s) {
      double weight = 0;
      double sum = 0;
      for (const auto& [cell, share] : theirs_[s]) {
        weight += share.fraction;
        sum += share.fraction * share.value;
      }
      const CoverageStatistics ours = statistics_under(*reader, {polygons[s]}, 200);
      EXPECT_NEAR(ours.weight_cells, weight, 5e-6 * static_cast<double>(theirs_[s].size()));
      EXPECT_NEAR(ours.mean, sum / weight, 5e-6) << "shape " << s;
    }
  }

  std::filesystem::path folder_;
  std::vector<Shares> theirs_;
};

TEST_F(Terra, AgreesOnTheShareOfEveryCellAndOnMeans) {
  compare_shares();
  compare_means();
}

}  // namespace
}  // namespace evendrip
