// SPDX-License-Identifier: Apache-2.0
#include "swept_products.hpp"

#include <algorithm>

namespace evendrip {

void Products::add(const Products& other) {
  if (columns_ == 0) *this = Products(other.columns_);
  for (std::size_t i = 0; i < sums_.size(); ++i) sums_[i] += other.sums_[i];
}

void Products::complete() {
  for (std::size_t i = 0; i < columns_; ++i) {
    for (std::size_t j = 0; j < i; ++j) at(i, j) = at(j, i);
  }
}

bool Products::sweep(std::size_t k, double least) {
  const double pivot = at(k, k);
  if (!(pivot > least) || !(pivot > 0)) return false;
  for (std::size_t j = 0; j < columns_; ++j) at(k, j) /= pivot;
  for (std::size_t i = 0; i < columns_; ++i) {
    if (i == k) continue;
    const double own = at(i, k);
    if (own == 0) continue;
    for (std::size_t j = 0; j < columns_; ++j) {
      if (j != k) at(i, j) -= own * at(k, j);
    }
    at(i, k) = -own / pivot;
  }
  at(k, k) = 1 / pivot;
  return true;
}

double Products::product(std::size_t k, std::span<const double> weights) const {
  double sum = 0;
  for (std::size_t j = 0; j < columns_; ++j) sum += weights[j] * at(k, j);
  return sum;
}

double Products::squares(std::span<const double> weights) const {
  double sum = 0;
  for (std::size_t i = 0; i < columns_; ++i) sum += weights[i] * product(i, weights);
  return std::max(0.0, sum);
}

}  // namespace evendrip
