// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/sparse.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>
#include <vector>

#include "evendrip/condition/latent_parts.hpp"

namespace evendrip {
namespace {

/// A lattice of rows x columns, linked to its neighbours, with a diagonal that differs.
SparseMatrix lattice(int rows, int columns) {
  std::vector<SparseEntry> entries;
  const auto link = [&](int a, int b) {
    entries.push_back({a, b, -1});
    entries.push_back({b, a, -1});
  };
  for (int r = 0; r < rows; ++r)
    for (int c = 0; c < columns; ++c) {
      const int node = r * columns + c;
      entries.push_back({node, node, 4.1 + 0.01 * node});
      if (c + 1 < columns) link(node, node + 1);
      if (r + 1 < rows) link(node, node + columns);
    }
  return sparse_matrix(rows * columns, rows * columns, entries);
}

std::vector<double> unit(int size, int at) {
  std::vector<double> out(static_cast<std::size_t>(size), 0);
  out[static_cast<std::size_t>(at)] = 1;
  return out;
}

TEST(SparseCholesky, SolvesWhatItFactors) {
  const SparseMatrix m = lattice(7, 9);
  const SparseCholesky factor(m);
  std::vector<double> wanted(63);
  for (std::size_t i = 0; i < wanted.size(); ++i) wanted[i] = std::sin(static_cast<double>(i));
  const std::vector<double> solved = factor.solve(product(m, wanted));
  for (std::size_t i = 0; i < wanted.size(); ++i) EXPECT_NEAR(solved[i], wanted[i], 1e-12);
  EXPECT_THROW(factor.solve(unit(3, 0)), std::invalid_argument);
}

TEST(SparseCholesky, SolvesSeveralRightSidesAsEachAlone) {
  const SparseMatrix m = lattice(7, 5);
  const SparseCholesky factor(m);
  std::vector<std::vector<double>> right_sides;
  for (int k = 0; k < 35; ++k) right_sides.push_back(unit(m.rows, k));
  const auto together = factor.solve(right_sides);
  ASSERT_EQ(together.size(), right_sides.size());
  for (std::size_t k = 0; k < together.size(); ++k) {
    const std::vector<double> alone = factor.solve(right_sides[k]);
    for (std::size_t i = 0; i < alone.size(); ++i) EXPECT_NEAR(together[k][i], alone[i], 1e-14);
  }
  EXPECT_TRUE(factor.solve(std::vector<std::vector<double>>{}).empty());
  right_sides.back().pop_back();
  EXPECT_THROW(factor.solve(right_sides), std::invalid_argument);
}

TEST(SparseCholesky, KnowsTheDeterminantOfAChain) {
  // Of an autoregressive chain the determinant is known: latent_parts.hpp.
  const double positions_m[] = {0, 1, 2.5, 7, 7.5, 20};
  const Precision chain = exponential_precision(positions_m, 4);
  EXPECT_NEAR(SparseCholesky(chain.matrix).log_determinant(), chain.log_determinant, 1e-12);
}

TEST(SparseCholesky, RefusesWhatIsNotPositiveDefinite) {
  const SparseEntry indefinite[] = {{0, 0, 1}, {1, 1, 1}, {0, 1, 2}, {1, 0, 2}};
  EXPECT_THROW(SparseCholesky(sparse_matrix(2, 2, indefinite)), std::invalid_argument);
  EXPECT_THROW(SparseCholesky(sparse_matrix(2, 3, {})), std::invalid_argument);
}

TEST(SparseCholesky, FactorsAnotherMatrixOfThePattern) {
  SparseMatrix m = lattice(4, 5);
  SparseCholesky factor(m);
  m = scaled(m, 2);
  ASSERT_TRUE(factor.refactor(m));
  EXPECT_NEAR(factor.log_determinant(), SparseCholesky(m).log_determinant(), 1e-12);
  EXPECT_FALSE(factor.refactor(scaled(m, -1)));
  EXPECT_THROW(factor.refactor(lattice(2, 2)), std::invalid_argument);
}

TEST(SelectedInverse, AgreesWithSolvingForEachColumn) {
  const SparseMatrix m = lattice(8, 11);
  const SparseCholesky factor(m);
  const SelectedInverse inverse = factor.selected_inverse();
  const std::vector<double> diagonal = inverse.diagonal();
  for (int column = 0; column < m.rows; ++column) {
    const std::vector<double> whole = factor.solve(unit(m.rows, column));
    EXPECT_NEAR(diagonal[static_cast<std::size_t>(column)], whole[static_cast<std::size_t>(column)],
                1e-13);
    for (std::size_t k = m.begins[static_cast<std::size_t>(column)];
         k < m.begins[static_cast<std::size_t>(column) + 1]; ++k) {
      const int row = m.columns_of[k];
      EXPECT_NEAR(inverse.at(row, column), whole[static_cast<std::size_t>(row)], 1e-13);
    }
  }
}

TEST(SelectedInverse, GivesTheVarianceOfASumOfNeighbours) {
  const SparseMatrix m = lattice(5, 6);
  const SparseCholesky factor(m);
  const int columns[] = {8, 9};
  const double values[] = {0.3, 0.7};
  std::vector<double> row(30, 0);
  row[8] = 0.3;
  row[9] = 0.7;
  const std::vector<double> solved = factor.solve(row);
  EXPECT_NEAR(factor.selected_inverse().quadratic_form(columns, values),
              0.3 * solved[8] + 0.7 * solved[9], 1e-14);
}

TEST(SelectedInverse, DoesNotAnswerOffThePattern) {
  const SparseEntry apart[] = {{0, 0, 1}, {1, 1, 2}};
  const SelectedInverse inverse = SparseCholesky(sparse_matrix(2, 2, apart)).selected_inverse();
  EXPECT_DOUBLE_EQ(inverse.at(1, 1), 0.5);
  EXPECT_THROW(inverse.at(0, 1), std::out_of_range);
}

}  // namespace
}  // namespace evendrip
