// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/sparse.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <Eigen/SparseCholesky>
#include <Eigen/SparseCore>

namespace evendrip {
namespace {

using Matrix = Eigen::SparseMatrix<double, Eigen::ColMajor, int>;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// The lower triangle; a symmetric matrix by rows is one by columns.
Matrix lower_triangle(const SparseMatrix& matrix) {
  std::vector<Eigen::Triplet<double>> entries;
  entries.reserve(matrix.values.size());
  for (int row = 0; row < matrix.rows; ++row)
    for (std::size_t k = matrix.begins[at(row)]; k < matrix.begins[at(row) + 1]; ++k)
      if (matrix.columns_of[k] <= row)
        entries.emplace_back(row, matrix.columns_of[k], matrix.values[k]);
  Matrix out(matrix.rows, matrix.columns);
  out.setFromTriplets(entries.begin(), entries.end());
  return out;
}

}  // namespace

struct SparseCholesky::State {
  Eigen::SimplicialLDLT<Matrix, Eigen::Lower, Eigen::AMDOrdering<int>> factor;
  int size = 0;
};

SparseCholesky::SparseCholesky(const SparseMatrix& matrix) : state_(std::make_unique<State>()) {
  if (matrix.rows != matrix.columns || matrix.rows == 0)
    throw std::invalid_argument("a Cholesky factor needs a square matrix");
  state_->size = matrix.rows;
  state_->factor.compute(lower_triangle(matrix));
  if (state_->factor.info() != Eigen::Success || !(state_->factor.vectorD().minCoeff() > 0))
    throw std::invalid_argument("the matrix is not positive definite");
}
SparseCholesky::~SparseCholesky() = default;
SparseCholesky::SparseCholesky(SparseCholesky&&) noexcept = default;
SparseCholesky& SparseCholesky::operator=(SparseCholesky&&) noexcept = default;

bool SparseCholesky::refactor(const SparseMatrix& matrix) {
  if (matrix.rows != state_->size || matrix.columns != state_->size)
    throw std::invalid_argument("another matrix of the same pattern has the same size");
  state_->factor.factorize(lower_triangle(matrix));
  return state_->factor.info() == Eigen::Success && state_->factor.vectorD().minCoeff() > 0;
}

double SparseCholesky::log_determinant() const {
  return state_->factor.vectorD().array().log().sum();
}

std::vector<double> SparseCholesky::solve(std::span<const double> right_side) const {
  if (right_side.size() != at(state_->size))
    throw std::invalid_argument("a right side needs one number for each unknown");
  const Eigen::Map<const Eigen::VectorXd> b(right_side.data(), state_->size);
  std::vector<double> out(right_side.size());
  Eigen::Map<Eigen::VectorXd>(out.data(), state_->size) = state_->factor.solve(b);
  return out;
}

std::vector<double> SparseCholesky::correlated(std::span<const double> normals) const {
  if (normals.size() != at(state_->size))
    throw std::invalid_argument("a draw needs one number for each unknown");
  const Eigen::Map<const Eigen::VectorXd> z(normals.data(), state_->size);
  const Eigen::VectorXd scaled = z.array() / state_->factor.vectorD().array().sqrt();
  std::vector<double> out(normals.size());
  Eigen::Map<Eigen::VectorXd>(out.data(), state_->size) =
      state_->factor.permutationPinv() * state_->factor.matrixU().solve(scaled);
  return out;
}

/// From the last unknown to the first: with L D L' the factor,
///   S_ij = [i = j] / D_j - sum over k > j of L_kj S_ki,
/// where every S_ki needed lies on the pattern of L.
SelectedInverse SparseCholesky::selected_inverse() const {
  const Matrix lower = state_->factor.matrixL().nestedExpression();
  const auto& pivots = state_->factor.vectorD();
  SelectedInverse out;
  const int n = state_->size;
  out.place_.resize(at(n));
  for (int i = 0; i < n; ++i) out.place_[at(i)] = state_->factor.permutationP().indices()[i];
  out.begins_.assign(at(n) + 1, 0);
  std::vector<double> factors;
  for (int j = 0; j < n; ++j) {
    for (Matrix::InnerIterator k(lower, j); k; ++k) {
      if (k.row() <= j) continue;
      out.rows_.push_back(static_cast<int>(k.row()));
      factors.push_back(k.value());
    }
    out.begins_[at(j) + 1] = out.rows_.size();
  }
  out.values_.assign(out.rows_.size(), 0);
  out.diagonal_.assign(at(n), 0);
  std::vector<double> sums(at(n), 0);      // of each row of the pattern of column j
  std::vector<std::uint8_t> on(at(n), 0);  // whether a row is on it
  for (int j = n - 1; j >= 0; --j) {
    const std::size_t begin = out.begins_[at(j)];
    const std::size_t end = out.begins_[at(j) + 1];
    for (std::size_t k = begin; k < end; ++k) on[at(out.rows_[k])] = 1;
    for (std::size_t k = begin; k < end; ++k) {
      const int row = out.rows_[k];
      sums[at(row)] += factors[k] * out.diagonal_[at(row)];
    }
    std::vector<double> own(end - begin, 0);
    for (std::size_t k = begin; k < end; ++k) own[k - begin] = factors[k];
    for (std::size_t k = begin; k < end; ++k) {
      const int row = out.rows_[k];
      std::size_t m = k + 1;  // rows of column `row` that are on the pattern come in order
      for (std::size_t i = out.begins_[at(row)]; i < out.begins_[at(row) + 1] && m < end; ++i) {
        const int other = out.rows_[i];
        if (on[at(other)] == 0) continue;
        while (out.rows_[m] < other) ++m;
        sums[at(other)] += own[k - begin] * out.values_[i];
        sums[at(row)] += own[m - begin] * out.values_[i];
      }
    }
    double diagonal = 1 / pivots[j];
    for (std::size_t k = begin; k < end; ++k) {
      const auto row = at(out.rows_[k]);
      out.values_[k] = -sums[row];
      diagonal += factors[k] * sums[row];
      sums[row] = 0;
      on[row] = 0;
    }
    out.diagonal_[at(j)] = diagonal;
  }
  return out;
}

double SelectedInverse::at(int row, int column) const {
  const int a = place_.at(static_cast<std::size_t>(row));
  const int b = place_.at(static_cast<std::size_t>(column));
  if (a == b) return diagonal_[static_cast<std::size_t>(a)];
  const auto low = static_cast<std::size_t>(std::min(a, b));
  const auto begin = rows_.begin() + static_cast<std::ptrdiff_t>(begins_[low]);
  const auto end = rows_.begin() + static_cast<std::ptrdiff_t>(begins_[low + 1]);
  const auto found = std::lower_bound(begin, end, std::max(a, b));
  if (found == end || *found != std::max(a, b))
    throw std::out_of_range("the element is not among those of the selected inverse");
  return values_[static_cast<std::size_t>(found - rows_.begin())];
}

std::vector<double> SelectedInverse::diagonal() const {
  std::vector<double> out(place_.size());
  for (std::size_t i = 0; i < out.size(); ++i)
    out[i] = diagonal_[static_cast<std::size_t>(place_[i])];
  return out;
}

double SelectedInverse::quadratic_form(std::span<const int> columns,
                                       std::span<const double> values) const {
  double sum = 0;
  for (std::size_t i = 0; i < columns.size(); ++i) {
    sum += values[i] * values[i] * at(columns[i], columns[i]);
    for (std::size_t j = 0; j < i; ++j)
      sum += 2 * values[i] * values[j] * at(columns[i], columns[j]);
  }
  return sum;
}

}  // namespace evendrip
