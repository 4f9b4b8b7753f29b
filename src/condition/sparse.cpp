// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/sparse.hpp"

#include <algorithm>
#include <stdexcept>

namespace evendrip {
namespace {

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Calls visit(row, column, value) for each stored element, row by row.
template <typename Visit>
void for_each_element(const SparseMatrix& matrix, const Visit& visit) {
  for (int row = 0; row < matrix.rows; ++row)
    for (std::size_t k = matrix.begins[at(row)]; k < matrix.begins[at(row) + 1]; ++k)
      visit(row, matrix.columns_of[k], matrix.values[k]);
}

void require(bool fits, const char* what) {
  if (!fits) throw std::invalid_argument(what);
}

}  // namespace

SparseMatrix sparse_matrix(int rows, int columns, std::span<const SparseEntry> entries) {
  require(rows >= 0 && columns >= 0, "a matrix has a negative side");
  std::vector<SparseEntry> sorted(entries.begin(), entries.end());
  for (const SparseEntry& e : sorted)
    require(e.row >= 0 && e.row < rows && e.column >= 0 && e.column < columns,
            "an entry lies outside the matrix");
  std::stable_sort(sorted.begin(), sorted.end(), [](const SparseEntry& a, const SparseEntry& b) {
    return a.row != b.row ? a.row < b.row : a.column < b.column;
  });
  SparseMatrix out{rows, columns, std::vector<std::size_t>(at(rows) + 1, 0), {}, {}};
  int last_row = -1;
  for (const SparseEntry& e : sorted) {
    if (e.row == last_row && out.columns_of.back() == e.column) {
      out.values.back() += e.value;
      continue;
    }
    last_row = e.row;
    out.columns_of.push_back(e.column);
    out.values.push_back(e.value);
    ++out.begins[at(e.row) + 1];
  }
  for (std::size_t i = 0; i < at(rows); ++i) out.begins[i + 1] += out.begins[i];
  return out;
}

SparseMatrix kronecker(const SparseMatrix& a, const SparseMatrix& b) {
  std::vector<SparseEntry> entries;
  entries.reserve(a.values.size() * b.values.size());
  for_each_element(a, [&](int ia, int ja, double va) {
    for_each_element(b, [&](int ib, int jb, double vb) {
      entries.push_back({ia * b.rows + ib, ja * b.columns + jb, va * vb});
    });
  });
  return sparse_matrix(a.rows * b.rows, a.columns * b.columns, entries);
}

SparseMatrix scaled(SparseMatrix matrix, double factor) {
  for (double& value : matrix.values) value *= factor;
  return matrix;
}

SparseMatrix block_diagonal(std::span<const SparseMatrix> blocks) {
  SparseMatrix out;
  for (const SparseMatrix& block : blocks) {
    for (int row = 0; row < block.rows; ++row) {
      for (std::size_t k = block.begins[at(row)]; k < block.begins[at(row) + 1]; ++k) {
        out.columns_of.push_back(out.columns + block.columns_of[k]);
        out.values.push_back(block.values[k]);
      }
      out.begins.push_back(out.values.size());
    }
    out.rows += block.rows;
    out.columns += block.columns;
  }
  return out;
}

SparseMatrix sum_of(const SparseMatrix& a, const SparseMatrix& b) {
  require(a.rows == b.rows && a.columns == b.columns, "a sum needs matrices of one size");
  std::vector<SparseEntry> entries;
  entries.reserve(a.values.size() + b.values.size());
  const auto add = [&](int row, int column, double value) {
    entries.push_back({row, column, value});
  };
  for_each_element(a, add);
  for_each_element(b, add);
  return sparse_matrix(a.rows, a.columns, entries);
}

SparseMatrix weighted_square(const SparseMatrix& a, std::span<const double> weights) {
  require(weights.size() == at(a.rows), "there is not one weight for each row");
  std::vector<SparseEntry> entries;
  for (int row = 0; row < a.rows; ++row) {
    const std::size_t begin = a.begins[at(row)];
    const std::size_t end = a.begins[at(row) + 1];
    for (std::size_t i = begin; i < end; ++i)
      for (std::size_t j = begin; j < end; ++j)
        entries.push_back(
            {a.columns_of[i], a.columns_of[j], weights[at(row)] * a.values[i] * a.values[j]});
  }
  return sparse_matrix(a.columns, a.columns, entries);
}

std::vector<double> product(const SparseMatrix& a, std::span<const double> x) {
  require(x.size() == at(a.columns), "a product needs one number for each column");
  std::vector<double> out(at(a.rows), 0);
  for_each_element(a, [&](int row, int column, double v) { out[at(row)] += v * x[at(column)]; });
  return out;
}

std::vector<double> transposed_product(const SparseMatrix& a, std::span<const double> x) {
  require(x.size() == at(a.rows), "a transposed product needs one number for each row");
  std::vector<double> out(at(a.columns), 0);
  for_each_element(a, [&](int row, int column, double v) { out[at(column)] += v * x[at(row)]; });
  return out;
}

}  // namespace evendrip
