// SPDX-License-Identifier: Apache-2.0
#include "evendrip/kernels/fronts.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>

#include <array>
#include <cmath>

namespace evendrip::kernels {
namespace {

using Eigen::MatrixXd;

struct Shape {
  int height;
  int width;
};
constexpr std::array<Shape, 5> shapes = {{{1, 1}, {5, 2}, {7, 7}, {40, 13}, {150, 64}}};

/// A positive definite matrix with entries that no symmetry of the code could mend.
MatrixXd matrix_of(int n) {
  MatrixXd a(n, n);
  for (int c = 0; c < n; ++c)
    for (int r = 0; r < n; ++r)
      a(r, c) = std::exp(-0.3 * std::abs(r - c)) + (r == c ? 0.1 * (r % 3 + 1) : 0);
  return a;
}

double furthest(const MatrixXd& a, const MatrixXd& b) {
  return a.size() == 0 ? 0 : (a - b).cwiseAbs().maxCoeff();
}

MatrixXd lower(const MatrixXd& a) {
  return a.triangularView<Eigen::Lower>();
}

/// A front with its first columns eliminated: those of the factor.
MatrixXd factor_of(const MatrixXd& matrix, int width) {
  MatrixXd front = matrix;
  EXPECT_TRUE(eliminate(front.data(), static_cast<int>(front.rows()), width));
  MatrixXd columns = front.leftCols(width);
  columns.topRows(width) = lower(columns.topRows(width));
  return columns;
}

TEST(Fronts, EliminatedLeaveTheSchurComplement) {
  for (const auto [height, width] : shapes) {
    const MatrixXd a = matrix_of(height);
    MatrixXd front = a;
    ASSERT_TRUE(eliminate(front.data(), height, width));
    const MatrixXd l = factor_of(a, width);
    EXPECT_LT(furthest(l * l.topRows(width).transpose(), a.leftCols(width)), 1e-13);
    const int below = height - width;
    const MatrixXd left =
        a.bottomRightCorner(below, below) - a.bottomLeftCorner(below, width) *
                                                a.topLeftCorner(width, width).inverse() *
                                                a.topRightCorner(width, below);
    EXPECT_LT(furthest(lower(front.bottomRightCorner(below, below)), lower(left)), 1e-12);
  }
}

TEST(Fronts, NotPositiveDefiniteAreRefused) {
  MatrixXd a = matrix_of(6);
  a(2, 2) = -1;
  MatrixXd front = a;
  EXPECT_TRUE(eliminate(front.data(), 6, 2));
  front = a;
  EXPECT_FALSE(eliminate(front.data(), 6, 3));
  front.setZero();
  EXPECT_FALSE(eliminate(front.data(), 6, 1));
}

TEST(Fronts, HaveTheColumnsOfTheInverse) {
  for (const auto [height, width] : shapes) {
    const MatrixXd a = matrix_of(height);
    const MatrixXd inverse = a.inverse();
    const MatrixXd l = factor_of(a, width);
    const int below = height - width;
    const MatrixXd among = inverse.bottomRows(below);  // farther apart than it has rows
    MatrixXd found(height, width);
    Eigen::VectorXd room(static_cast<Eigen::Index>(invert_room(height, width)));
    invert_front(l.data(), height, width, among.data() + width * among.outerStride(),
                 static_cast<int>(among.outerStride()), found.data(), room.data());
    EXPECT_LT(furthest(found, inverse.leftCols(width)), 1e-12) << height << " x " << width;
  }
}

TEST(Fronts, SolveForthAndBackWhatTheirFactorSays) {
  for (const auto [height, width] : shapes)
    for (const int columns : {1, 5}) {
      const MatrixXd l = factor_of(matrix_of(height), width);
      const auto own_l = l.topRows(width).triangularView<Eigen::Lower>();
      const auto below_l = l.bottomRows(height - width);
      const MatrixXd right = MatrixXd::Random(height, columns);
      MatrixXd x = right;
      MatrixXd below(height - width, columns);
      solve_front(l.data(), height, width, x.data(), height, columns, below.data());
      const MatrixXd forth = own_l.solve(right.topRows(width));
      EXPECT_LT(furthest(x.topRows(width), forth), 1e-13);
      EXPECT_LT(furthest(below, below_l * forth), 1e-13);
      EXPECT_EQ(furthest(x.bottomRows(height - width), right.bottomRows(height - width)), 0);
      x = right;
      solve_front_transposed(l.data(), height, width, x.data(), height, columns, below.data());
      const MatrixXd back =
          own_l.transpose().solve(right.topRows(width) - below_l.transpose() * below);
      EXPECT_LT(furthest(x.topRows(width), back), 1e-12);
    }
}

}  // namespace
}  // namespace evendrip::kernels
