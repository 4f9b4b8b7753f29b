// SPDX-License-Identifier: Apache-2.0
// Coverage and weighted mean against tests/reference/coverage_terra.txt (R terra, exact
// extraction).
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include "evendrip/geo/coverage.hpp"

namespace evendrip {
namespace {

struct Oracle {
  double mean = 0;
  std::map<std::size_t, double> shares;  ///< by cell number
};

Oracle oracle() {
  Oracle table;
  std::ifstream file(EVENDRIP_TEST_DATA "/reference/coverage_terra.txt");
  for (std::string row; std::getline(file, row);) {
    if (row.empty() || row.front() == '#') continue;
    std::istringstream cells(row);
    std::string key;
    double value = 0;
    cells >> key >> value;
    if (key == "mean") {
      table.mean = value;
    } else {
      table.shares[std::stoul(key)] = value;
    }
  }
  return table;
}

const Polygon outline{
    {{500012.3, 4200020.7},
     {500187.9, 4200003.1},
     {500331.25, 4200077.5},
     {500390.6, 4200211.3},
     {500255.5, 4200180.2},
     {500201.4, 4200289.9},
     {500096.6, 4200240.8},
     {500140.2, 4200150.3},
     {500031.8, 4200133.3}},
    {{{500160.5, 4200050.5}, {500161.5, 4200111.5}, {500240.7, 4200131.1}, {500230.2, 4200062.4}}}};
const Grid grid{500000, 4200300, 10, 40, 30};

TEST(Coverage, AgreesWithTerraCellByCell) {
  const Oracle expected = oracle();
  ASSERT_GT(expected.shares.size(), 300U);
  const Coverage coverage = coverage_of(grid, {outline});
  std::size_t covered = 0;
  for (int r = 0; r < coverage.window.rows; ++r) {
    for (int c = 0; c < coverage.window.columns; ++c) {
      const std::size_t k = static_cast<std::size_t>(r * coverage.window.columns + c);
      const std::size_t cell = grid.index(coverage.window.row + r, coverage.window.column + c);
      const auto at = expected.shares.find(cell);
      EXPECT_NEAR(coverage.fraction[k], at == expected.shares.end() ? 0 : at->second, 1e-6) << cell;
      if (coverage.fraction[k] > 0) ++covered;
    }
  }
  EXPECT_EQ(covered, expected.shares.size());
}

TEST(StatisticsOf, AgreeWithTheMeanThatTerraWeights) {
  Raster raster(grid);
  for (std::size_t i = 0; i < grid.cells(); ++i) {
    const auto n = static_cast<double>(i);
    raster.set(i, std::round((100 + 7 * std::sin(n * 0.37) + 0.05 * n) * 1000) / 1000);
  }
  const CoverageStatistics found = statistics_of(*reader_of(raster), coverage_of(grid, {outline}));
  // Values are kept in single precision: 1e-5 of 130.
  EXPECT_NEAR(found.mean, oracle().mean, 1e-5);
  EXPECT_NEAR(found.weight_cells * 100, area_m2(outline), 1e-6);
}

}  // namespace
}  // namespace evendrip
