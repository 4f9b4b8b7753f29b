// SPDX-License-Identifier: Apache-2.0
// Dense steps of a sparse Cholesky factor and of the inverse on its pattern, one front at a time:
// where nearly all arithmetic of both is. Column-major, columns one behind the other.
//
// Fronts: Duff & Reid 1983, ACM Trans. Math. Softw. 9:302-325; the inverse on the pattern:
// Takahashi, Fagan & Chin 1973, Proc. 8th PICA Conf., pp. 63-69 (both from memory). Every function
// gives the same bits for the same arguments at the same places of a cache line (PanelVector) on
// one instruction set, whatever thread calls it.
#pragma once

#include <cstddef>

namespace evendrip::kernels {

/// Eliminates the first `width` unknowns of a front of height x height numbers, lower triangle, in
/// place: its first columns become those of the factor, the lower triangle of the rest what the
/// elimination leaves of it. What stands above the diagonal is lost. False when a pivot is not
/// above 0; the contents are then of no use.
[[gnu::visibility("default")]] bool eliminate(double* front, int height, int width) noexcept;

/// Numbers that invert_front works in.
constexpr std::size_t invert_room(int height, int width) {
  return static_cast<std::size_t>(height) * static_cast<std::size_t>(width);
}

/// The first `width` columns of the inverse on the rows of a front, height x width numbers, from
/// those of the factor and the inverse among the rows below, (height - width) squared, both
/// triangles, its columns `stride` apart; not read where there are none. With Y = L_below L_own^-1
/// and S the inverse below:
///   own = (L_own L_own')^-1 + Y' S Y, both triangles;   below = -S Y.
/// `room`: invert_room(height, width) numbers.
[[gnu::visibility("default")]] void invert_front(const double* factor, int height, int width,
                                                 const double* below, int stride, double* inverse,
                                                 double* room) noexcept;

/// Right sides of the unknowns of a front become L_own^-1 of themselves, and `below`, of
/// height - width rows one column behind the other, what they take from the rows below: L_below
/// times that.
[[gnu::visibility("default")]] void solve_front(const double* factor, int height, int width,
                                                double* own, int stride, int columns,
                                                double* below) noexcept;

/// The way back: L_own'^-1 (own - L_below' below), `below` solved before.
[[gnu::visibility("default")]] void solve_front_transposed(const double* factor, int height,
                                                           int width, double* own, int stride,
                                                           int columns,
                                                           const double* below) noexcept;

}  // namespace evendrip::kernels
