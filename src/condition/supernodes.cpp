// SPDX-License-Identifier: Apache-2.0
#include "supernodes.hpp"

#include <Eigen/OrderingMethods>
#include <Eigen/SparseCore>

#include <algorithm>
#include <numeric>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

/// Groups of up to so many columns may be joined at up to that share of zeros.
struct Join {
  int columns;
  double zeros;
};
constexpr Join joins[] = {{4, 1.0}, {16, 0.5}, {48, 0.15}};
constexpr double zeros_in_wide = 0.05;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Rows above the diagonal of each column, in a given order of the unknowns: ascending lists.
std::vector<std::vector<int>> above_diagonal(const SparseMatrix& matrix,
                                             const std::vector<int>& place) {
  std::vector<std::vector<int>> above(at(matrix.rows));
  for (int row = 0; row < matrix.rows; ++row)
    for (std::size_t k = matrix.begins[at(row)]; k < matrix.begins[at(row) + 1]; ++k) {
      const int a = place[at(row)];
      const int b = place[at(matrix.columns_of[k])];
      if (a < b) above[at(b)].push_back(a);
    }
  for (std::vector<int>& rows : above) std::sort(rows.begin(), rows.end());
  return above;
}

std::vector<int> minimum_degree(const SparseMatrix& matrix) {
  using Matrix = Eigen::SparseMatrix<double, Eigen::ColMajor, int>;
  std::vector<Eigen::Triplet<double>> entries;
  entries.reserve(matrix.values.size());
  for (int row = 0; row < matrix.rows; ++row)
    for (std::size_t k = matrix.begins[at(row)]; k < matrix.begins[at(row) + 1]; ++k)
      entries.emplace_back(row, matrix.columns_of[k], 1);
  Matrix pattern(matrix.rows, matrix.columns);
  pattern.setFromTriplets(entries.begin(), entries.end());
  Eigen::PermutationMatrix<Eigen::Dynamic, Eigen::Dynamic, int> order;
  Eigen::AMDOrdering<int>()(pattern, order);
  std::vector<int> place(at(matrix.rows));
  for (int i = 0; i < matrix.rows; ++i) place[at(order.indices()[i])] = i;
  return place;
}

/// Parent of each column in the elimination tree; -1: a root.
std::vector<int> elimination_tree(const std::vector<std::vector<int>>& above) {
  std::vector<int> parent(above.size(), -1);
  std::vector<int> ancestor(above.size(), -1);
  for (int column = 0; column < static_cast<int>(above.size()); ++column)
    for (int row : above[at(column)])
      while (row != -1 && row < column) {
        const int next = ancestor[at(row)];
        ancestor[at(row)] = column;
        if (next == -1) parent[at(row)] = column;
        row = next;
      }
  return parent;
}

/// Number of each column when children come before their parents, subtree by subtree.
std::vector<int> postorder(const std::vector<int>& parent) {
  const int n = static_cast<int>(parent.size());
  std::vector<std::vector<int>> children(parent.size());
  for (int i = 0; i < n; ++i)
    if (parent[at(i)] >= 0) children[at(parent[at(i)])].push_back(i);
  std::vector<int> number(parent.size());
  int next = 0;
  std::vector<std::pair<int, std::size_t>> stack;
  for (int root = 0; root < n; ++root) {
    if (parent[at(root)] >= 0) continue;
    stack.emplace_back(root, 0);
    while (!stack.empty()) {
      const int node = stack.back().first;
      const std::size_t child = stack.back().second++;
      if (child < children[at(node)].size()) {
        stack.emplace_back(children[at(node)][child], 0);
      } else {
        number[at(node)] = next++;
        stack.pop_back();
      }
    }
  }
  return number;
}

/// Elements of each column of the factor, the diagonal included: row subtrees, walked.
std::vector<int> column_counts(const std::vector<std::vector<int>>& above,
                               const std::vector<int>& parent) {
  std::vector<int> count(above.size(), 1);
  std::vector<int> seen(above.size(), -1);
  for (int column = 0; column < static_cast<int>(above.size()); ++column) {
    seen[at(column)] = column;
    for (int row : above[at(column)])
      for (; row != -1 && seen[at(row)] != column; row = parent[at(row)]) {
        seen[at(row)] = column;
        ++count[at(row)];
      }
  }
  return count;
}

bool worth_joining(int columns, double zeros, double values) {
  for (const Join& join : joins)
    if (columns <= join.columns) return zeros <= join.zeros * values;
  return zeros <= zeros_in_wide * values;
}

/// First columns of the groups: columns of one pattern, then neighbours joined from the last on.
std::vector<int> first_columns(const std::vector<int>& parent, const std::vector<int>& count) {
  struct Group {
    int first;
    int last;
    double zeros;
    int rows;
  };
  const int n = static_cast<int>(parent.size());
  std::vector<Group> groups;
  for (int j = 0; j < n; ++j) {
    const bool goes_on = j > 0 && parent[at(j - 1)] == j && count[at(j - 1)] == count[at(j)] + 1;
    if (goes_on) {
      groups.back().last = j;
    } else {
      groups.push_back({j, j, 0, count[at(j)]});
    }
  }
  std::vector<Group> joined;  // from the last group to the first
  for (auto group = groups.rbegin(); group != groups.rend(); ++group) {
    if (!joined.empty()) {
      Group& next = joined.back();
      const int own = group->last - group->first + 1;
      const int parent_of = parent[at(group->last)];
      if (parent_of >= next.first && parent_of <= next.last) {
        const int rows = own + next.rows;
        const double zeros =
            next.zeros + group->zeros + static_cast<double>(own) * (rows - group->rows);
        const int columns = next.last - group->first + 1;
        const double values = static_cast<double>(columns) * (rows - 0.5 * (columns - 1));
        if (worth_joining(columns, zeros, values)) {
          next = {group->first, next.last, zeros, rows};
          continue;
        }
      }
    }
    joined.push_back(*group);
  }
  std::vector<int> firsts;
  for (auto group = joined.rbegin(); group != joined.rend(); ++group)
    firsts.push_back(group->first);
  return firsts;
}

/// Rows of each group from the matrix and from its children, which are linked on the way.
void fill_rows(const std::vector<std::vector<int>>& below, Elimination& e) {
  std::vector<int> seen(at(e.size), -1);
  for (int s = 0; s < static_cast<int>(e.supernodes.size()); ++s) {
    Supernode& node = e.supernodes[at(s)];
    std::vector<int> rows;
    const int end = node.first + node.width;
    const auto add = [&](int row) {
      if (row < end || seen[at(row)] == s) return;
      seen[at(row)] = s;
      rows.push_back(row);
    };
    for (int column = node.first; column < end; ++column)
      for (const int row : below[at(column)]) add(row);
    for (const int child : node.children) {
      const Supernode& c = e.supernodes[at(child)];
      for (int k = c.width; k < c.height(); ++k) add(c.rows[at(k)]);
    }
    std::sort(rows.begin(), rows.end());
    node.rows.resize(at(node.width));
    std::iota(node.rows.begin(), node.rows.end(), node.first);
    node.rows.insert(node.rows.end(), rows.begin(), rows.end());
    node.panel = e.panel_values;
    e.panel_values += node.rows.size() * at(node.width);
    if (rows.empty()) continue;
    node.parent = e.supernode_of[at(rows.front())];
    e.supernodes[at(node.parent)].children.push_back(s);
  }
}

void link_to_parents(Elimination& e) {
  for (Supernode& node : e.supernodes) {
    if (node.parent < 0) continue;
    const std::vector<int>& rows = e.supernodes[at(node.parent)].rows;
    auto from = rows.begin();
    for (int k = node.width; k < node.height(); ++k) {
      from = std::lower_bound(from, rows.end(), node.rows[at(k)]);
      node.in_parent.push_back(static_cast<int>(from - rows.begin()));
    }
  }
}

}  // namespace

std::size_t Elimination::slot(int row, int column) const {
  const int low = std::min(place[at(row)], place[at(column)]);
  const int high = std::max(place[at(row)], place[at(column)]);
  const Supernode& node = supernodes[at(supernode_of[at(low)])];
  int in_rows = high - node.first;
  if (in_rows >= node.width) {
    const auto found = std::lower_bound(node.rows.begin() + node.width, node.rows.end(), high);
    if (found == node.rows.end() || *found != high) return panel_values;
    in_rows = static_cast<int>(found - node.rows.begin());
  }
  return node.panel + at(low - node.first) * node.rows.size() + at(in_rows);
}

Elimination elimination_of(const SparseMatrix& matrix) {
  if (matrix.rows != matrix.columns || matrix.rows == 0)
    throw std::invalid_argument("a Cholesky factor needs a square matrix");
  Elimination e;
  e.size = matrix.rows;
  e.place = minimum_degree(matrix);
  const std::vector<int> number = postorder(elimination_tree(above_diagonal(matrix, e.place)));
  for (int& place : e.place) place = number[at(place)];
  const auto above = above_diagonal(matrix, e.place);
  const std::vector<int> parent = elimination_tree(above);
  const std::vector<int> firsts = first_columns(parent, column_counts(above, parent));
  e.supernode_of.resize(at(e.size));
  for (std::size_t s = 0; s < firsts.size(); ++s) {
    const int end = s + 1 < firsts.size() ? firsts[s + 1] : e.size;
    Supernode node;
    node.first = firsts[s];
    node.width = end - firsts[s];
    e.supernodes.push_back(std::move(node));
    for (int j = firsts[s]; j < end; ++j) e.supernode_of[at(j)] = static_cast<int>(s);
  }
  std::vector<std::vector<int>> below(at(e.size));
  for (int column = 0; column < e.size; ++column)
    for (const int row : above[at(column)]) below[at(row)].push_back(column);
  fill_rows(below, e);
  link_to_parents(e);
  e.slots.reserve(matrix.values.size());
  for (int row = 0; row < matrix.rows; ++row)
    for (std::size_t k = matrix.begins[at(row)]; k < matrix.begins[at(row) + 1]; ++k) {
      e.slots.push_back(e.slot(row, matrix.columns_of[k]));
      if (e.slots.back() == e.panel_values)
        throw std::invalid_argument("the pattern of the matrix is not symmetric");
    }
  return e;
}

}  // namespace evendrip
