// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/sparse.hpp"

#include <algorithm>
#include <stdexcept>
#include <utility>

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

SparseMatrix transposed(const SparseMatrix& a) {
  SparseMatrix out{a.columns, a.rows, std::vector<std::size_t>(at(a.columns) + 1, 0), {}, {}};
  for (const int column : a.columns_of) ++out.begins[at(column) + 1];
  for (std::size_t i = 0; i < at(a.columns); ++i) out.begins[i + 1] += out.begins[i];
  std::vector<std::size_t> next(out.begins.begin(), out.begins.end() - 1);
  out.columns_of.resize(a.values.size());
  out.values.resize(a.values.size());
  for_each_element(a, [&](int row, int column, double value) {
    const std::size_t slot = next[at(column)]++;
    out.columns_of[slot] = row;
    out.values[slot] = value;
  });
  return out;
}

/// Row by row of the result (Gustavson 1978, ACM Trans. Math. Softw. 4:250-269; from memory).
SparseMatrix weighted_product(const SparseMatrix& a, std::span<const double> weights,
                              const SparseMatrix& b) {
  require(a.rows == b.rows && weights.size() == at(a.rows),
          "a weighted product needs one weight for each row of both");
  const SparseMatrix turned = transposed(a);
  SparseMatrix out{a.columns, b.columns, {0}, {}, {}};
  std::vector<double> sums(at(b.columns), 0);
  std::vector<int> last_row(at(b.columns), -1);
  std::vector<int> touched;
  for (int row = 0; row < a.columns; ++row) {
    touched.clear();
    for (std::size_t k = turned.begins[at(row)]; k < turned.begins[at(row) + 1]; ++k) {
      const auto common = at(turned.columns_of[k]);
      const double factor = turned.values[k] * weights[common];
      for (std::size_t j = b.begins[common]; j < b.begins[common + 1]; ++j) {
        const auto column = at(b.columns_of[j]);
        if (last_row[column] != row) {
          last_row[column] = row;
          sums[column] = 0;
          touched.push_back(b.columns_of[j]);
        }
        sums[column] += factor * b.values[j];
      }
    }
    std::sort(touched.begin(), touched.end());
    for (const int column : touched) {
      out.columns_of.push_back(column);
      out.values.push_back(sums[at(column)]);
    }
    out.begins.push_back(out.values.size());
  }
  return out;
}

SparseMatrix weighted_square(const SparseMatrix& a, std::span<const double> weights) {
  return weighted_product(a, weights, a);
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

SparseSum::SparseSum(std::span<const SparseMatrix> terms) {
  require(!terms.empty(), "a sum needs terms");
  std::vector<SparseEntry> entries;
  for (const SparseMatrix& term : terms) {
    require(term.rows == terms.front().rows && term.columns == terms.front().columns,
            "a sum needs matrices of one size");
    for_each_element(term, [&](int row, int column, double) {
      entries.push_back({row, column, 0});
    });
  }
  total_ = sparse_matrix(terms.front().rows, terms.front().columns, entries);
  for (const SparseMatrix& term : terms) {
    std::vector<std::size_t> slots;
    slots.reserve(term.values.size());
    for_each_element(term, [&](int row, int column, double) {
      const auto begin = total_.columns_of.begin();
      const auto from = begin + static_cast<std::ptrdiff_t>(total_.begins[at(row)]);
      const auto to = begin + static_cast<std::ptrdiff_t>(total_.begins[at(row) + 1]);
      slots.push_back(static_cast<std::size_t>(std::lower_bound(from, to, column) - begin));
    });
    slots_.push_back(std::move(slots));
  }
}

void SparseSum::clear() {
  std::fill(total_.values.begin(), total_.values.end(), 0.0);
}

void SparseSum::add(std::size_t term, std::span<const double> values, double factor) {
  const std::vector<std::size_t>& slots = slots_.at(term);
  require(values.size() == slots.size(), "there is not one value for each element of the term");
  for (std::size_t i = 0; i < slots.size(); ++i) total_.values[slots[i]] += factor * values[i];
}

double SparseSum::inner(std::size_t term, std::span<const double> values,
                        std::span<const double> at_total) const {
  const std::vector<std::size_t>& slots = slots_.at(term);
  require(values.size() == slots.size() && at_total.size() == total_.values.size(),
          "there is not one number for each element");
  double sum = 0;
  for (std::size_t i = 0; i < slots.size(); ++i) sum += values[i] * at_total[slots[i]];
  return sum;
}

}  // namespace evendrip
