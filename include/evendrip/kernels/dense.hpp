// SPDX-License-Identifier: Apache-2.0
// Dense linear algebra that decides how fast maps are made: plain pointers across the boundary of a
// shared library that is built for two instruction sets. Column-major throughout, doubles.
//
// Cholesky factors: Golub & Van Loan, "Matrix Computations", 4th ed., section 4.2. Every function
// gives the same bits for the same arguments on one instruction set, whatever thread calls it.
#pragma once

namespace evendrip::kernels {

/// Name of the build the loader chose: "x86-64-v3" or "baseline".
[[gnu::visibility("default")]] const char* instruction_set() noexcept;

/// Sizes and strides of the functions for small matrices are multiples of this.
constexpr int lanes = 4;
constexpr int padded(int count) {
  return (count + lanes - 1) / lanes * lanes;
}

/// Factor of a small matrix in place, lower triangle: a = L L'. `n` is a multiple of `lanes`: a
/// smaller matrix is filled up with rows of the identity. What stands above the diagonal is lost.
/// False when a pivot is not above `smallest_pivot`; the contents are then of no use.
[[gnu::visibility("default")]] bool factor_small(double* a, int n, int stride,
                                                 double smallest_pivot) noexcept;

/// b becomes L^-1 b for one right-hand side of a factor_small.
[[gnu::visibility("default")]] void solve_small(const double* l, int n, int stride,
                                                double* b) noexcept;

/// Factor of any size in place, lower triangle; false when the matrix is not positive definite or a
/// pivot is not above `smallest_pivot`.
[[gnu::visibility("default")]] bool factor(double* a, int n, int stride,
                                           double smallest_pivot) noexcept;

/// b becomes L^-1 b, `columns` right-hand sides at once.
[[gnu::visibility("default")]] void solve_lower(const double* l, int n, int stride, double* b,
                                                int columns, int b_stride) noexcept;

/// b becomes L'^-1 b.
[[gnu::visibility("default")]] void solve_lower_transposed(const double* l, int n, int stride,
                                                           double* b, int columns,
                                                           int b_stride) noexcept;

[[gnu::visibility("default")]] double dot(const double* a, const double* b, int n) noexcept;

/// Covariance as a function of distance: at_zero at distance 0, else structured * rho(h / range),
/// or structured - slope * h for `linear`.
struct Covariance {
  enum class Shape { none, exponential, spherical, gaussian, matern32, matern52, linear };
  Shape shape = Shape::none;
  double at_zero = 1;
  double structured = 1;
  double range = 1;
  double slope = 0;
};

/// out[i] for squared distance2[i]; `count` is a multiple of 8 (fill up with any value at or above
/// 0), so that a value does not depend on its place in the row. out may be distance2.
[[gnu::visibility("default")]] void covariances(const Covariance& model, const double* distance2,
                                                double* out, int count) noexcept;
constexpr int covariance_lanes = 8;

}  // namespace evendrip::kernels
