// SPDX-License-Identifier: Apache-2.0
// Which unknowns of a sparse symmetric matrix are eliminated together, in which order, and which
// rows each group fills: worked out once for a pattern.
//
// Minimum degree order (Amestoy, Davis & Duff 1996, SIAM J. Matrix Anal. Appl. 17:886-905, as Eigen
// has it), elimination tree (Liu 1990, SIAM J. Matrix Anal. Appl. 11:134-172), groups of columns of
// one pattern, joined with a few zeros where that makes them wider (Ashcraft & Grimes 1989, ACM
// Trans. Math. Softw. 15:291-309; all from memory).
#pragma once

#include <cstddef>
#include <vector>

#include "evendrip/condition/sparse.hpp"

namespace evendrip {

/// Columns [first, first + width) of the reordered matrix, and the rows that they fill.
struct Supernode {
  int first = 0;
  int width = 0;
  int parent = -1;             ///< index of the supernode of the first row below; -1: none
  std::vector<int> rows;       ///< the own columns, then those below, ascending
  std::vector<int> in_parent;  ///< place among the parent's rows of each row below the own ones
  std::vector<int> children;   ///< ascending
  std::size_t panel = 0;       ///< where its rows x width values begin, by columns

  int height() const { return static_cast<int>(rows.size()); }
  int below() const { return height() - width; }
};

struct Elimination {
  int size = 0;
  std::vector<int> place;         ///< of each unknown in the order of elimination
  std::vector<int> supernode_of;  ///< of each place
  std::vector<Supernode> supernodes;
  std::size_t panel_values = 0;
  /// Of each stored element of the matrix: its value among those of the panels.
  std::vector<std::size_t> slots;

  /// Slot of an element of the pattern; panel_values if it is off it.
  std::size_t slot(int row, int column) const;
};

/// Throws std::invalid_argument unless the matrix is square, not empty and of symmetric pattern.
Elimination elimination_of(const SparseMatrix& matrix);

}  // namespace evendrip
