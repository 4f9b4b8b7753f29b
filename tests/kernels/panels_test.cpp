// SPDX-License-Identifier: Apache-2.0
#include "evendrip/kernels/panels.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <vector>

#include "evendrip/kernels/dense.hpp"

namespace evendrip::kernels {
namespace {

std::size_t at(int row, int column, int stride) {
  return static_cast<std::size_t>(column) * static_cast<std::size_t>(stride) +
         static_cast<std::size_t>(row);
}

/// A lower triangle without symmetry; what stands above it must never be read.
std::vector<double> triangle_of(int n, int stride) {
  std::vector<double> l(static_cast<std::size_t>(n) * static_cast<std::size_t>(stride),
                        std::nan(""));
  for (int c = 0; c < n; ++c)
    for (int r = c; r < n; ++r)
      l[at(r, c, stride)] = r == c ? 1.5 + 0.1 * (r % 7) : std::sin(1.0 + 3 * r + 7 * c) / n;
  return l;
}

PanelVector packed_of(const std::vector<double>& l, int n, int stride) {
  PanelVector packed(packed_size(n));
  pack_lower(l.data(), n, stride, packed.data());
  return packed;
}

double right_side(int row, int place) {
  return std::cos(0.7 * row + 1.3 * place);
}

/// Panels of right_side(); rows beyond n are 0.
PanelVector panels_of(int n, int count) {
  PanelVector b(panel_size(n) * static_cast<std::size_t>(count), 0.0);
  for (int p = 0; p < count; ++p)
    for (int row = 0; row < n; ++row)
      for (int lane = 0; lane < panel_lanes; ++lane)
        b[static_cast<std::size_t>(p) * panel_size(n) + at(lane, row, panel_lanes)] =
            right_side(row, p * panel_lanes + lane);
  return b;
}

TEST(Panels, SolveWhatTheSolverOfColumnsSolves) {
  for (const int n : {1, 5, 6, 7, 34, 65, 251, 252, 253, 700}) {
    const int stride = n + 3;
    const int count = 3;
    const std::vector<double> l = triangle_of(n, stride);
    const PanelVector packed = packed_of(l, n, stride);
    PanelVector b = panels_of(n, count);
    solve_panels(packed.data(), n, b.data(), count);
    for (int place = 0; place < count * panel_lanes; ++place) {
      std::vector<double> column;
      for (int row = 0; row < n; ++row) column.push_back(right_side(row, place));
      solve_lower(l.data(), n, stride, column.data(), 1, n);
      const double* panel =
          b.data() + static_cast<std::size_t>(place / panel_lanes) * panel_size(n);
      for (int row = 0; row < n; ++row)
        ASSERT_NEAR(panel[at(place % panel_lanes, row, panel_lanes)],
                    column[static_cast<std::size_t>(row)], 1e-13)
            << n << ' ' << place << ' ' << row;
    }
  }
}

TEST(Panels, GiveALaneTheSameBitsWhereverItStands) {
  const int n = 300;
  const std::vector<double> l = triangle_of(n, n);
  const PanelVector packed = packed_of(l, n, n);
  PanelVector many = panels_of(n, 4);
  solve_panels(packed.data(), n, many.data(), 4);
  PanelVector one(panel_size(n), 0.0);  // place 13 in every lane
  for (int row = 0; row < n; ++row)
    for (int lane = 0; lane < panel_lanes; ++lane)
      one[at(lane, row, panel_lanes)] = right_side(row, 13);
  solve_panels(packed.data(), n, one.data(), 1);
  for (int row = 0; row < n; ++row)
    for (int lane = 0; lane < panel_lanes; ++lane)
      ASSERT_EQ(one[at(lane, row, panel_lanes)], many[panel_size(n) + at(5, row, panel_lanes)]);
}

TEST(Panels, LeaveRowsBeyondTheEquationsAsTheyAre) {
  const int n = 7;
  const PanelVector packed = packed_of(triangle_of(n, n), n, n);
  PanelVector b = panels_of(n, 1);
  solve_panels(packed.data(), n, b.data(), 1);
  for (std::size_t i = static_cast<std::size_t>(n) * panel_lanes; i < b.size(); ++i)
    EXPECT_EQ(b[i], 0);
}

TEST(Panels, SumSquaresOfRowsLaneByLane) {
  const PanelVector b = panels_of(11, 1);
  std::vector<double> sums(panel_lanes);
  sums_of_squares(b.data(), 2, 9, sums.data());
  for (int lane = 0; lane < panel_lanes; ++lane) {
    double expected = 0;
    for (int row = 2; row < 9; ++row) expected += std::pow(right_side(row, lane), 2);
    EXPECT_NEAR(sums[static_cast<std::size_t>(lane)], expected, 1e-14);
  }
}

}  // namespace
}  // namespace evendrip::kernels
