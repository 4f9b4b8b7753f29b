// SPDX-License-Identifier: Apache-2.0
#include "evendrip/kernels/dense.hpp"

#include "cache_sizes.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Core>

#include <cmath>
#include <cstddef>

namespace evendrip::kernels {
namespace {

using Four = Eigen::Array<double, lanes, 1>;
using FourView = Eigen::Map<Four>;
using ConstFourView = Eigen::Map<const Four>;
using Matrix = Eigen::Map<Eigen::MatrixXd, Eigen::Unaligned, Eigen::OuterStride<>>;
using ConstMatrix = Eigen::Map<const Eigen::MatrixXd, Eigen::Unaligned, Eigen::OuterStride<>>;

std::ptrdiff_t offset(int row, int column, int stride) {
  return static_cast<std::ptrdiff_t>(column) * stride + row;
}

/// Rows i to i + 3 of the four columns from j, less what the columns before j explain.
void update_block(double* a, int i, int j, int stride) {
  FourView out0(a + offset(i, j, stride));
  FourView out1(a + offset(i, j + 1, stride));
  FourView out2(a + offset(i, j + 2, stride));
  FourView out3(a + offset(i, j + 3, stride));
  Four sum0 = out0;
  Four sum1 = out1;
  Four sum2 = out2;
  Four sum3 = out3;
  const double* left = a + i;
  const double* top = a + j;
  for (int k = 0; k < j; ++k, left += stride, top += stride) {
    const Four l = ConstFourView(left);
    sum0 -= l * top[0];
    sum1 -= l * top[1];
    sum2 -= l * top[2];
    sum3 -= l * top[3];
  }
  out0 = sum0;
  out1 = sum1;
  out2 = sum2;
  out3 = sum3;
}

/// Factor of the 4 x 4 block on the diagonal at j.
bool factor_diagonal(double* a, int j, int stride, double smallest_pivot) {
  for (int c = 0; c < lanes; ++c) {
    double* column = a + offset(j, j + c, stride);
    for (int k = 0; k < c; ++k) {
      const double* before = a + offset(j, j + k, stride);
      for (int r = c; r < lanes; ++r) column[r] -= before[r] * before[c];
    }
    if (!(column[c] > smallest_pivot)) return false;
    column[c] = std::sqrt(column[c]);
    const double inverse = 1 / column[c];
    for (int r = c + 1; r < lanes; ++r) column[r] *= inverse;
  }
  return true;
}

/// Rows i to i + 3 of the four columns from j, given the factor of their diagonal block.
void solve_panel(double* a, int i, int j, int stride) {
  for (int c = 0; c < lanes; ++c) {
    FourView column(a + offset(i, j + c, stride));
    Four sum = column;
    for (int k = 0; k < c; ++k) {
      sum -= ConstFourView(a + offset(i, j + k, stride)) * a[offset(j + c, j + k, stride)];
    }
    column = sum * (1 / a[offset(j + c, j + c, stride)]);
  }
}

}  // namespace

const char* instruction_set() noexcept {
#ifdef __AVX2__
  return "x86-64-v3";
#else
  return "baseline";
#endif
}

bool factor_small(double* a, int n, int stride, double smallest_pivot) noexcept {
  for (int j = 0; j < n; j += lanes) {
    for (int i = j; i < n; i += lanes) update_block(a, i, j, stride);
    if (!factor_diagonal(a, j, stride, smallest_pivot)) return false;
    for (int i = j + lanes; i < n; i += lanes) solve_panel(a, i, j, stride);
  }
  return true;
}

void solve_small(const double* l, int n, int stride, double* b) noexcept {
  const std::ptrdiff_t step = stride;
  for (int j = 0; j < n; j += lanes) {
    for (int c = 0; c < lanes; ++c) {
      const double* column = l + offset(j, j + c, stride);
      b[j + c] /= column[c];
      for (int r = c + 1; r < lanes; ++r) b[j + r] -= column[r] * b[j + c];
    }
    const double* left = l + offset(0, j, stride);
    for (int i = j + lanes; i < n; i += lanes) {
      FourView below(b + i);
      below -= ConstFourView(left + i) * b[j] + ConstFourView(left + step + i) * b[j + 1] +
               (ConstFourView(left + 2 * step + i) * b[j + 2] +
                ConstFourView(left + 3 * step + i) * b[j + 3]);
    }
  }
}

bool factor(double* a, int n, int stride, double smallest_pivot) noexcept {
  fix_cache_sizes();
  Matrix matrix(a, n, n, Eigen::OuterStride<>(stride));
  const Eigen::LLT<Eigen::Ref<Eigen::MatrixXd>> llt(matrix);
  if (llt.info() != Eigen::Success) return false;
  for (int j = 0; j < n; ++j) {
    const double pivot = a[offset(j, j, stride)];
    if (!(pivot * pivot > smallest_pivot)) return false;
  }
  return true;
}

void solve_lower(const double* l, int n, int stride, double* b, int columns,
                 int b_stride) noexcept {
  fix_cache_sizes();
  const ConstMatrix lower(l, n, n, Eigen::OuterStride<>(stride));
  Matrix right(b, n, columns, Eigen::OuterStride<>(b_stride));
  lower.triangularView<Eigen::Lower>().solveInPlace(right);
}

void solve_lower_transposed(const double* l, int n, int stride, double* b, int columns,
                            int b_stride) noexcept {
  fix_cache_sizes();
  const ConstMatrix lower(l, n, n, Eigen::OuterStride<>(stride));
  Matrix right(b, n, columns, Eigen::OuterStride<>(b_stride));
  lower.transpose().triangularView<Eigen::Upper>().solveInPlace(right);
}

double dot(const double* a, const double* b, int n) noexcept {
  using Vector = Eigen::Map<const Eigen::VectorXd>;
  return Vector(a, n).dot(Vector(b, n));
}

}  // namespace evendrip::kernels
