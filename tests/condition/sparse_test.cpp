// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/sparse.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace evendrip {
namespace {

double element(const SparseMatrix& m, int row, int column) {
  for (std::size_t k = m.begins[static_cast<std::size_t>(row)];
       k < m.begins[static_cast<std::size_t>(row) + 1]; ++k)
    if (m.columns_of[k] == column) return m.values[k];
  return 0;
}

SparseMatrix small() {
  const SparseEntry entries[] = {{1, 2, 3}, {0, 0, 1}, {1, 0, -2}, {1, 2, 0.5}};
  return sparse_matrix(2, 3, entries);
}

TEST(SparseMatrix, AddsEntriesOfOnePlaceAndKeepsRowsAscending) {
  const SparseMatrix m = small();
  EXPECT_EQ(m.begins, (std::vector<std::size_t>{0, 1, 3}));
  EXPECT_EQ(m.columns_of, (std::vector<int>{0, 0, 2}));
  EXPECT_EQ(m.values, (std::vector<double>{1, -2, 3.5}));
}

TEST(SparseMatrix, RefusesEntriesOutside) {
  const SparseEntry outside[] = {{2, 0, 1}};
  EXPECT_THROW(sparse_matrix(2, 3, outside), std::invalid_argument);
}

TEST(SparseMatrix, MultipliesFromBothSides) {
  const double x[] = {1, 10, 100};
  EXPECT_EQ(product(small(), x), (std::vector<double>{1, 348}));
  const double y[] = {1, 2};
  EXPECT_EQ(transposed_product(small(), y), (std::vector<double>{-3, 0, 7}));
  EXPECT_THROW(product(small(), y), std::invalid_argument);
}

TEST(SparseMatrix, SquaresWithWeights) {
  const double weights[] = {2, 10};
  const SparseMatrix square = weighted_square(small(), weights);
  EXPECT_DOUBLE_EQ(element(square, 0, 0), 2 * 1 + 10 * 4);
  EXPECT_DOUBLE_EQ(element(square, 0, 2), 10 * -2 * 3.5);
  EXPECT_DOUBLE_EQ(element(square, 2, 0), 10 * -2 * 3.5);
  EXPECT_DOUBLE_EQ(element(square, 1, 1), 0);
}

TEST(SparseMatrix, OfAProductHoldsEveryPairOfElements) {
  const SparseMatrix k = kronecker(small(), small());
  EXPECT_EQ(k.rows, 4);
  EXPECT_EQ(k.columns, 9);
  EXPECT_DOUBLE_EQ(element(k, 3, 8), 3.5 * 3.5);  // (1,2) of both
  EXPECT_DOUBLE_EQ(element(k, 2, 0), -2);         // (1,0) of the first, (0,0) of the second
}

TEST(SparseMatrix, StacksBlocksAndAddsSums) {
  const SparseMatrix blocks[] = {small(), small()};
  const SparseMatrix both = block_diagonal(blocks);
  EXPECT_EQ(both.rows, 4);
  EXPECT_EQ(both.columns, 6);
  EXPECT_DOUBLE_EQ(element(both, 3, 5), 3.5);
  EXPECT_DOUBLE_EQ(element(both, 3, 2), 0);
  EXPECT_DOUBLE_EQ(element(sum_of(small(), scaled(small(), 2)), 1, 2), 10.5);
}

TEST(SparseMatrix, TurnsAndMultipliesTwoWithWeights) {
  const SparseMatrix turned = transposed(small());
  EXPECT_EQ(turned.rows, 3);
  EXPECT_DOUBLE_EQ(element(turned, 2, 1), 3.5);
  EXPECT_EQ(turned.columns_of, (std::vector<int>{0, 1, 1}));
  const SparseEntry other[] = {{0, 0, 4}, {1, 1, 5}};
  const double weights[] = {2, 10};
  const SparseMatrix both = weighted_product(small(), weights, sparse_matrix(2, 2, other));
  EXPECT_EQ(both.rows, 3);
  EXPECT_EQ(both.columns, 2);
  EXPECT_DOUBLE_EQ(element(both, 0, 0), 1 * 2 * 4);
  EXPECT_DOUBLE_EQ(element(both, 2, 1), 3.5 * 10 * 5);
}

TEST(SparseSum, AddsWhatItIsGivenOnThePatternOfAll) {
  const SparseEntry diagonal[] = {{0, 0, 1}, {1, 1, 1}};
  const SparseEntry side[] = {{0, 1, 1}, {1, 0, 1}};
  const SparseMatrix terms[] = {sparse_matrix(2, 2, diagonal), sparse_matrix(2, 2, side)};
  SparseSum sum(terms);
  const double values[] = {2, 3};
  sum.add(0, values, 10);
  sum.add(1, terms[1].values, -1);
  EXPECT_EQ(sum.total().values, (std::vector<double>{20, -1, -1, 30}));
  sum.clear();
  sum.add(1, terms[1].values, 2);
  EXPECT_EQ(sum.total().values, (std::vector<double>{0, 2, 2, 0}));
  EXPECT_THROW(sum.add(0, std::span(values, 1), 1), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
