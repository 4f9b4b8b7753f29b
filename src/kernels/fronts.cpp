// SPDX-License-Identifier: Apache-2.0
#include "evendrip/kernels/fronts.hpp"

#include "cache_sizes.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Core>

namespace evendrip::kernels {
namespace {

using Matrix = Eigen::Map<Eigen::MatrixXd>;
using ConstMatrix = Eigen::Map<const Eigen::MatrixXd>;
using Strided = Eigen::Map<Eigen::MatrixXd, Eigen::Unaligned, Eigen::OuterStride<>>;
using ConstStrided = Eigen::Map<const Eigen::MatrixXd, Eigen::Unaligned, Eigen::OuterStride<>>;

}  // namespace

bool eliminate(double* front, int height, int width) noexcept {
  fix_cache_sizes();
  Matrix all(front, height, height);
  auto own = all.topLeftCorner(width, width);
  if (Eigen::LLT<Eigen::Ref<Eigen::MatrixXd>>(own).info() != Eigen::Success) return false;
  if (!(own.diagonal().minCoeff() > 0)) return false;
  const int below = height - width;
  if (below == 0) return true;
  auto side = all.bottomLeftCorner(below, width);
  own.triangularView<Eigen::Lower>().transpose().solveInPlace<Eigen::OnTheRight>(side);
  all.bottomRightCorner(below, below).selfadjointView<Eigen::Lower>().rankUpdate(side, -1);
  return true;
}

void invert_front(const double* factor, int height, int width, const double* below, int stride,
                  double* inverse, double* room) noexcept {
  fix_cache_sizes();
  const int rows_below = height - width;
  const ConstMatrix given(factor, height, width);
  Matrix out(inverse, height, width);
  Matrix own_inverse(room, width, width);
  own_inverse.setIdentity();
  given.topRows(width).triangularView<Eigen::Lower>().solveInPlace(own_inverse);
  out.topRows(width).noalias() = own_inverse.transpose() * own_inverse;
  if (rows_below == 0) return;
  Matrix sides(room + own_inverse.size(), rows_below, width);
  sides.noalias() = given.bottomRows(rows_below) * own_inverse;
  const ConstStrided among(below, rows_below, rows_below, Eigen::OuterStride<>(stride));
  out.bottomRows(rows_below).noalias() = -(among * sides);
  out.topRows(width).noalias() -= sides.transpose() * out.bottomRows(rows_below);
}

void solve_front(const double* factor, int height, int width, double* own, int stride, int columns,
                 double* below) noexcept {
  fix_cache_sizes();
  const ConstMatrix given(factor, height, width);
  Strided solved(own, width, columns, Eigen::OuterStride<>(stride));
  given.topRows(width).triangularView<Eigen::Lower>().solveInPlace(solved);
  if (height == width) return;
  Matrix(below, height - width, columns).noalias() = given.bottomRows(height - width) * solved;
}

void solve_front_transposed(const double* factor, int height, int width, double* own, int stride,
                            int columns, const double* below) noexcept {
  fix_cache_sizes();
  const ConstMatrix given(factor, height, width);
  Strided solved(own, width, columns, Eigen::OuterStride<>(stride));
  if (height > width)
    solved.noalias() -=
        given.bottomRows(height - width).transpose() * ConstMatrix(below, height - width, columns);
  given.topRows(width).triangularView<Eigen::Lower>().transpose().solveInPlace(solved);
}

}  // namespace evendrip::kernels
