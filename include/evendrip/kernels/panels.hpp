// SPDX-License-Identifier: Apache-2.0
// One lower triangle against many right-hand sides, at the speed of the vector unit.
//
// Right-hand sides stand in panels of `panel_lanes`: element (row, lane) of a panel is at
// row * panel_lanes + lane, so that a row is a vector and the triangle's numbers are broadcast. The
// triangle is packed once in strips of `strip_rows` rows. Tiles of strip_rows x (two vectors) stay
// in registers while a strip is swept, rows before it in blocks that fit the nearest cache: Goto &
// van de Geijn 2008, ACM Trans. Math. Softw. 34(3):12; triangular solves after Van Zee & van de
// Geijn 2015, ACM Trans. Math. Softw. 41(3):14 (both from memory). A lane's result depends on
// its own numbers alone, never on its neighbours or its place.
#pragma once

#include <cstddef>
#include <new>
#include <vector>

namespace evendrip::kernels {

constexpr int panel_lanes = 8;
constexpr int strip_rows = 6;

/// Rows of a panel and of a packed triangle for n equations: filled up to whole strips.
constexpr int packed_rows(int n) {
  return (n + strip_rows - 1) / strip_rows * strip_rows;
}
/// Numbers in a packed triangle.
constexpr std::size_t packed_size(int n) {
  const auto rows = static_cast<std::size_t>(packed_rows(n));
  return rows * (rows + strip_rows) / 2;
}
constexpr std::size_t panel_size(int n) {
  return static_cast<std::size_t>(packed_rows(n)) * panel_lanes;
}

/// Packs the lower triangle of a column-major matrix; rows beyond n are those of the identity.
[[gnu::visibility("default")]] void pack_lower(const double* l, int n, int stride,
                                               double* packed) noexcept;

/// b becomes L^-1 b in each of `panels` panels, one behind the other, panel_size(n) apart. Rows
/// beyond n must be numbers (0) and stay as they are.
[[gnu::visibility("default")]] void solve_panels(const double* packed, int n, double* b,
                                                 int panels) noexcept;

/// out[lane] = sum of squares of rows first to last - 1 of one panel.
[[gnu::visibility("default")]] void sums_of_squares(const double* panel, int first, int last,
                                                    double* out) noexcept;

/// Memory that starts on a cache line, as fast kernels like it.
template <typename T>
struct OnCacheLines {
  using value_type = T;
  OnCacheLines() = default;
  template <typename Other>
  explicit OnCacheLines(const OnCacheLines<Other>&) {}
  T* allocate(std::size_t count) {
    return static_cast<T*>(::operator new (count * sizeof(T), std::align_val_t{64}));
  }
  void deallocate(T* memory, std::size_t) { ::operator delete (memory, std::align_val_t{64}); }
  bool operator==(const OnCacheLines&) const = default;
};
using PanelVector = std::vector<double, OnCacheLines<double>>;

}  // namespace evendrip::kernels
