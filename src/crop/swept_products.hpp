// SPDX-License-Identifier: Apache-2.0
// Sums of squares and products of a few columns, and least squares on them by the sweep operator:
// Goodnight 1979, Am. Stat. 33:149-158 (from memory).
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace evendrip {

class Products {
 public:
  Products() = default;
  explicit Products(std::size_t columns) : columns_(columns), sums_(columns * columns) {}

  std::size_t columns() const { return columns_; }
  double& at(std::size_t i, std::size_t j) { return sums_[i * columns_ + j]; }
  double at(std::size_t i, std::size_t j) const { return sums_[i * columns_ + j]; }

  /// One row of the table. Only one half is kept until `complete`.
  void add(std::span<const double> row) {
    for (std::size_t i = 0; i < columns_; ++i) {
      if (row[i] == 0) continue;
      for (std::size_t j = i; j < columns_; ++j) at(i, j) += row[i] * row[j];
    }
  }
  void add(const Products& other);
  void complete();

  /// Regresses all columns on column k beside those swept before: then at(k, j) is the coefficient
  /// of k for column j, at(i, j) of columns not swept the products of what is left of them.
  /// False, and nothing done, where no more is left of k than `least`.
  bool sweep(std::size_t k, double least);

  /// Sum of squares of a combination of the columns.
  double squares(std::span<const double> weights) const;
  /// Sum of the products of column k with a combination.
  double product(std::size_t k, std::span<const double> weights) const;

 private:
  std::size_t columns_ = 0;
  std::vector<double> sums_;
};

}  // namespace evendrip
