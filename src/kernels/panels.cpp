// SPDX-License-Identifier: Apache-2.0
#include "evendrip/kernels/panels.hpp"

#include <algorithm>

namespace evendrip::kernels {
namespace {

#ifdef __AVX__
constexpr int width = 4;
#else
constexpr int width = 2;
#endif
/// As wide as the instruction set; may stand anywhere in memory.
using Vector [[gnu::vector_size(width * sizeof(double)), gnu::may_alias]] = double;
using LooseVector
    [[gnu::vector_size(width * sizeof(double)), gnu::aligned(sizeof(double)), gnu::may_alias]] =
        double;

constexpr int tile_lanes = 2 * width;
constexpr int block_strips = 42;  ///< rows of a block: 252, 16 kB of a panel
constexpr int block_rows = block_strips * strip_rows;

Vector load(const double* from) {
  return *reinterpret_cast<const LooseVector*>(from);
}
void store(double* to, Vector v) {
  *reinterpret_cast<LooseVector*>(to) = v;
}
Vector broadcast(double v) {
  return v - Vector{};
}

std::ptrdiff_t offset(int count, int size) {
  return static_cast<std::ptrdiff_t>(count) * size;
}

/// Where a strip starts in the packed triangle.
std::size_t strip_offset(int strip) {
  const auto s = static_cast<std::size_t>(strip);
  constexpr std::size_t square = std::size_t{strip_rows} * strip_rows;
  return square * (s * (s + 1) / 2);
}

/// Six rows of two vectors, kept in registers.
struct Tile {
  Vector row[strip_rows][2];

  void read(const double* b) {
    for (int r = 0; r < strip_rows; ++r, b += panel_lanes) {
      row[r][0] = load(b);
      row[r][1] = load(b + width);
    }
  }
  void write(double* b) const {
    for (int r = 0; r < strip_rows; ++r, b += panel_lanes) {
      store(b, row[r][0]);
      store(b + width, row[r][1]);
    }
  }
  /// Less strip x rows: `count` columns of the strip against as many rows of the panel.
  void subtract(const double* strip, const double* b, int count) {
    for (int k = 0; k < count; ++k, strip += strip_rows, b += panel_lanes) {
      const Vector b0 = load(b);
      const Vector b1 = load(b + width);
      for (int r = 0; r < strip_rows; ++r) {
        const Vector l = broadcast(strip[r]);
        row[r][0] -= l * b0;
        row[r][1] -= l * b1;
      }
    }
  }
  /// The triangle on the diagonal, which holds reciprocals where it divides.
  void solve(const double* triangle) {
    for (int c = 0; c < strip_rows; ++c, triangle += strip_rows) {
      const Vector inverse = broadcast(triangle[c]);
      row[c][0] *= inverse;
      row[c][1] *= inverse;
      for (int r = c + 1; r < strip_rows; ++r) {
        const Vector l = broadcast(triangle[r]);
        row[r][0] -= l * row[c][0];
        row[r][1] -= l * row[c][1];
      }
    }
  }
};

/// Strips first to last - 1 of one panel, less the rows of an earlier block.
void subtract_block(const double* packed, double* b, int first, int last, int from_row) {
  for (int strip = first; strip < last; ++strip) {
    const double* l = packed + strip_offset(strip) + offset(from_row, strip_rows);
    for (int lane = 0; lane < panel_lanes; lane += tile_lanes) {
      double* own = b + offset(strip * strip_rows, panel_lanes) + lane;
      Tile tile;
      tile.read(own);
      tile.subtract(l, b + offset(from_row, panel_lanes) + lane, block_rows);
      tile.write(own);
    }
  }
}

/// The same strips against each other.
void solve_block(const double* packed, double* b, int first, int last) {
  const int from_row = first * strip_rows;
  for (int strip = first; strip < last; ++strip) {
    const double* l = packed + strip_offset(strip) + offset(from_row, strip_rows);
    const int before = (strip - first) * strip_rows;
    for (int lane = 0; lane < panel_lanes; lane += tile_lanes) {
      double* own = b + offset(strip * strip_rows, panel_lanes) + lane;
      Tile tile;
      tile.read(own);
      tile.subtract(l, b + offset(from_row, panel_lanes) + lane, before);
      tile.solve(l + offset(before, strip_rows));
      tile.write(own);
    }
  }
}

}  // namespace

void pack_lower(const double* l, int n, int stride, double* packed) noexcept {
  for (int row = 0; row < packed_rows(n); row += strip_rows) {
    const bool full = row + strip_rows <= n;
    for (int column = 0; column < row + strip_rows; ++column, packed += strip_rows) {
      const double* from = l + static_cast<std::ptrdiff_t>(column) * stride + row;
      if (full && column < row) {
        for (int r = 0; r < strip_rows; ++r) packed[r] = from[r];
        continue;
      }
      for (int r = 0; r < strip_rows; ++r) {
        const bool inside = row + r < n && column < row + r;
        packed[r] = inside ? from[r] : 0;
        if (column == row + r) packed[r] = column < n ? 1 / from[r] : 1;
      }
    }
  }
}

void solve_panels(const double* packed, int n, double* b, int panels) noexcept {
  const int strips = packed_rows(n) / strip_rows;
  for (int first = 0; first < strips; first += block_strips) {
    const int last = std::min(first + block_strips, strips);
    for (int before = 0; before < first; before += block_strips) {
      for (int p = 0; p < panels; ++p)
        subtract_block(packed, b + static_cast<std::size_t>(p) * panel_size(n), first, last,
                       before * strip_rows);
    }
    for (int p = 0; p < panels; ++p)
      solve_block(packed, b + static_cast<std::size_t>(p) * panel_size(n), first, last);
  }
}

void sums_of_squares(const double* panel, int first, int last, double* out) noexcept {
  Vector sum[panel_lanes / width] = {};
  for (int row = first; row < last; ++row) {
    for (int i = 0; i < panel_lanes / width; ++i) {
      const Vector v = load(panel + offset(row, panel_lanes) + offset(i, width));
      sum[i] += v * v;
    }
  }
  for (int i = 0; i < panel_lanes / width; ++i) store(out + offset(i, width), sum[i]);
}

}  // namespace evendrip::kernels
