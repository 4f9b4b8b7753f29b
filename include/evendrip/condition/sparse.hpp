// SPDX-License-Identifier: Apache-2.0
// Sparse matrices by rows, and the factor of a symmetric positive definite one: solutions, its
// determinant, and those elements of its inverse that lie on the factor's pattern.
//
// Selected inverse: Takahashi, Fagan & Chin 1973, Proc. 8th PICA Conf. 63-69; Rue & Martino 2007,
// J. Stat. Plan. Inference 137:3177-3192 (both from memory).
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "evendrip/kernels/panels.hpp"

namespace evendrip {

struct SparseEntry {
  int row = 0;
  int column = 0;
  double value = 0;
};

/// Row i is [begins[i], begins[i + 1]) of `columns_of` (ascending) and `values`.
struct SparseMatrix {
  int rows = 0;
  int columns = 0;
  std::vector<std::size_t> begins{0};
  std::vector<int> columns_of;
  std::vector<double> values;
};

/// Entries at one place are added. Throws std::invalid_argument for an entry outside.
SparseMatrix sparse_matrix(int rows, int columns, std::span<const SparseEntry> entries);
/// Element (ia * b.rows + ib, ja * b.columns + jb) is a(ia, ja) b(ib, jb).
SparseMatrix kronecker(const SparseMatrix& a, const SparseMatrix& b);
SparseMatrix scaled(SparseMatrix matrix, double factor);
/// One below the other on the diagonal.
SparseMatrix block_diagonal(std::span<const SparseMatrix> blocks);
/// a + b of one size.
SparseMatrix sum_of(const SparseMatrix& a, const SparseMatrix& b);
SparseMatrix transposed(const SparseMatrix& a);
/// A' W B, W diagonal with `weights` (one for each row of both).
SparseMatrix weighted_product(const SparseMatrix& a, std::span<const double> weights,
                              const SparseMatrix& b);
/// A' W A, W diagonal with `weights` (one for each row of A).
SparseMatrix weighted_square(const SparseMatrix& a, std::span<const double> weights);
std::vector<double> product(const SparseMatrix& a, std::span<const double> x);
std::vector<double> transposed_product(const SparseMatrix& a, std::span<const double> x);

/// Matrices of one size added again and again with other values: the pattern of the sum is worked
/// out once.
class SparseSum {
 public:
  /// Throws std::invalid_argument without terms or if their sizes differ.
  explicit SparseSum(std::span<const SparseMatrix> terms);
  void clear();
  /// Adds factor times the values of a term, in the order of its stored elements.
  void add(std::size_t term, std::span<const double> values, double factor);
  /// Sum over the elements of a term of its values times numbers at the elements of the total.
  double inner(std::size_t term, std::span<const double> values,
               std::span<const double> at_total) const;
  const SparseMatrix& total() const { return total_; }

 private:
  SparseMatrix total_;
  std::vector<std::vector<std::size_t>> slots_;  ///< of each element of each term
};

struct Elimination;

/// Some elements of an inverse: all on the pattern of the factor, so at least where the matrix
/// itself has entries.
class SelectedInverse {
 public:
  double at(int row, int column) const;  ///< throws std::out_of_range off the pattern
  std::vector<double> diagonal() const;
  /// At each stored element of the matrix that the factor was made for, in its order.
  std::vector<double> on_pattern() const;
  /// a' S a for a sparse row: its columns must be together on the pattern.
  double quadratic_form(std::span<const int> columns, std::span<const double> values) const;

 private:
  friend class SparseCholesky;
  std::shared_ptr<const Elimination> elimination_;
  kernels::PanelVector panels_;
};

/// The pattern is worked out once and shared by copies.
class SparseCholesky {
 public:
  /// Both triangles of `matrix` are given and alike. Throws std::invalid_argument if it is not
  /// square, of symmetric pattern and positive definite.
  explicit SparseCholesky(const SparseMatrix& matrix);
  ~SparseCholesky();
  SparseCholesky(const SparseCholesky& other);
  SparseCholesky(SparseCholesky&&) noexcept;
  SparseCholesky& operator=(SparseCholesky&&) noexcept;

  /// Factors another matrix of the same pattern; false, and no factor, if it is not positive
  /// definite.
  bool refactor(const SparseMatrix& matrix);

  double log_determinant() const;
  std::size_t stored_values() const;  ///< of the factor, a measure of its cost
  std::vector<double> solve(std::span<const double> right_side) const;
  /// Several right sides at once, which costs little more than one. Throws std::invalid_argument
  /// unless each has one number for each unknown.
  std::vector<std::vector<double>> solve(std::span<const std::vector<double>> right_sides) const;
  /// Unknowns whose covariance is the inverse of the matrix, from as many independent standard
  /// normal numbers (Rue & Held 2005, "Gaussian Markov Random Fields", section 2.3; from memory).
  std::vector<double> correlated(std::span<const double> normals) const;
  SelectedInverse selected_inverse() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace evendrip
