// SPDX-License-Identifier: Apache-2.0
#include "evendrip/kernels/dense.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <string>
#include <vector>

namespace evendrip::kernels {
namespace {

std::size_t at(int row, int column, int stride) {
  return static_cast<std::size_t>(column) * static_cast<std::size_t>(stride) +
         static_cast<std::size_t>(row);
}

/// A positive definite matrix with entries that no symmetry of the code could mend.
std::vector<double> matrix_of(int n, int stride) {
  std::vector<double> a(static_cast<std::size_t>(n) * static_cast<std::size_t>(stride), 0.0);
  for (int c = 0; c < n; ++c)
    for (int r = 0; r < n; ++r)
      a[at(r, c, stride)] = std::exp(-0.3 * std::abs(r - c)) + (r == c ? 0.1 * (r % 3 + 1) : 0);
  return a;
}

double product_of_factor(const std::vector<double>& l, int r, int c, int stride) {
  double sum = 0;
  for (int k = 0; k <= std::min(r, c); ++k) sum += l[at(r, k, stride)] * l[at(c, k, stride)];
  return sum;
}

TEST(DenseKernels, NameTheInstructionSetTheyWereBuiltFor) {
  const std::string name = instruction_set();
  EXPECT_TRUE(name == "x86-64-v3" || name == "baseline") << name;
}

TEST(DenseKernels, SmallFactorTimesItsTransposeIsTheMatrix) {
  for (const int n : {4, 8, 12, 32, 36}) {
    const std::vector<double> a = matrix_of(n, n);
    std::vector<double> l = a;
    ASSERT_TRUE(factor_small(l.data(), n, n, 0));
    for (int r = 0; r < n; ++r)
      for (int c = 0; c <= r; ++c)
        EXPECT_NEAR(product_of_factor(l, r, c, n), a[at(r, c, n)], 1e-14) << n << ' ' << r;
  }
}

TEST(DenseKernels, LargeFactorTimesItsTransposeIsTheMatrix) {
  const int n = 203;
  const int stride = 208;
  const std::vector<double> a = matrix_of(n, stride);
  std::vector<double> l = a;
  ASSERT_TRUE(factor(l.data(), n, stride, 0));
  for (int r = 0; r < n; r += 7)
    for (int c = 0; c <= r; ++c)
      EXPECT_NEAR(product_of_factor(l, r, c, stride), a[at(r, c, stride)], 1e-13);
}

TEST(DenseKernels, RefuseAMatrixThatIsNotPositiveDefinite) {
  std::vector<double> a = matrix_of(8, 8);
  a[at(6, 6, 8)] = -1;
  std::vector<double> small = a;
  EXPECT_FALSE(factor_small(small.data(), 8, 8, 0));
  EXPECT_FALSE(factor(a.data(), 8, 8, 0));
}

TEST(DenseKernels, RefuseAPivotAtOrBelowTheSmallestAllowed) {
  std::vector<double> a = matrix_of(8, 8);
  std::vector<double> b = a;
  EXPECT_FALSE(factor_small(a.data(), 8, 8, 10));
  EXPECT_FALSE(factor(b.data(), 8, 8, 10));
}

TEST(DenseKernels, SolvesSatisfyTheirEquations) {
  const int n = 32;
  std::vector<double> l = matrix_of(n, n);
  ASSERT_TRUE(factor_small(l.data(), n, n, 0));
  const int columns = 5;
  std::vector<double> b(static_cast<std::size_t>(n * columns));
  for (std::size_t i = 0; i < b.size(); ++i) b[i] = std::sin(static_cast<double>(i));
  std::vector<double> single(b.begin(), b.begin() + n);
  std::vector<double> lower = b;
  std::vector<double> upper = b;
  solve_small(l.data(), n, n, single.data());
  solve_lower(l.data(), n, n, lower.data(), columns, n);
  solve_lower_transposed(l.data(), n, n, upper.data(), columns, n);
  for (int r = 0; r < n; ++r) {
    double from_single = 0;
    double from_lower = 0;
    double from_upper = 0;
    for (int k = 0; k <= r; ++k) {
      from_single += l[at(r, k, n)] * single[static_cast<std::size_t>(k)];
      from_lower += l[at(r, k, n)] * lower[at(k, 3, n)];
    }
    for (int k = r; k < n; ++k) from_upper += l[at(k, r, n)] * upper[at(k, 3, n)];
    EXPECT_NEAR(from_single, b[static_cast<std::size_t>(r)], 1e-13);
    EXPECT_NEAR(from_lower, b[at(r, 3, n)], 1e-13);
    EXPECT_NEAR(from_upper, b[at(r, 3, n)], 1e-13);
  }
}

TEST(DenseKernels, DotIsTheSumOfProducts) {
  const std::vector<double> a{1, 2, 3, 4, 5};
  const std::vector<double> b{2, 3, 5, 7, 11};
  EXPECT_DOUBLE_EQ(dot(a.data(), b.data(), 5), 106);
}

}  // namespace
}  // namespace evendrip::kernels
