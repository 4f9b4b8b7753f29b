// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/sparse.hpp"

#include "evendrip/kernels/fronts.hpp"
#include "supernodes.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

/// On cache lines: the last bits of what kernels make of numbers hang on where they lie.
using Values = kernels::PanelVector;

constexpr std::size_t columns_at_once = 16;  ///< of right sides

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Zeros at first.
struct Dense {
  int rows = 0;
  int columns = 0;
  Values values;

  Dense() = default;
  Dense(int row_count, int column_count)
      : rows(row_count), columns(column_count), values(at(row_count) * at(column_count)) {}
  double& operator()(int row, int column) { return values[at(column) * at(rows) + at(row)]; }
  double operator()(int row, int column) const { return values[at(column) * at(rows) + at(row)]; }
};

/// Adds what is left of a child's front to that of its parent, lower triangles.
void extend_add(const Supernode& child, const Dense& left, Dense& front) {
  const std::vector<int>& to = child.in_parent;
  for (int column = 0; column < child.below(); ++column) {
    const double* source =
        left.values.data() + at(child.width + column) * at(left.rows) + at(child.width);
    double* target = &front(0, to[at(column)]);
    for (int row = column; row < child.below(); ++row) target[to[at(row)]] += source[row];
  }
}

/// Those elements of the inverse that a child needs of its parent's, whole, behind its own columns.
void gather(const Supernode& child, const Dense& parent, Dense& front) {
  for (int column = 0; column < child.below(); ++column) {
    const double* source = parent.values.data() + at(child.in_parent[at(column)]) * at(parent.rows);
    double* target = &front(child.width, child.width + column);
    for (int row = 0; row < child.below(); ++row) target[row] = source[child.in_parent[at(row)]];
  }
}

/// Right sides in the order of elimination, a column each.
Dense in_order(const Elimination& e, std::span<const std::vector<double>> right_sides) {
  Dense x(e.size, static_cast<int>(right_sides.size()));
  for (std::size_t k = 0; k < right_sides.size(); ++k) {
    if (right_sides[k].size() != at(e.size))
      throw std::invalid_argument("a right side needs one number for each unknown");
    for (std::size_t i = 0; i < right_sides[k].size(); ++i)
      x(e.place[i], static_cast<int>(k)) = right_sides[k][i];
  }
  return x;
}

std::vector<double> as_given(const Elimination& e, const Dense& x, int column) {
  std::vector<double> out(e.place.size());
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = x(e.place[i], column);
  return out;
}

/// x becomes L^-1 x.
void solve_lower(const Elimination& e, const Values& panels, Dense& x) {
  const int columns = x.columns;
  Values below;
  for (const Supernode& node : e.supernodes) {
    below.resize(std::max(below.size(), at(node.below()) * at(columns)));
    kernels::solve_front(panels.data() + node.panel, node.height(), node.width, &x(node.first, 0),
                         e.size, columns, below.data());
    const double* next = below.data();
    for (int column = 0; column < columns; ++column)
      for (int k = 0; k < node.below(); ++k) x(node.rows[at(node.width + k)], column) -= *next++;
  }
}

/// x becomes L'^-1 x.
void solve_transposed(const Elimination& e, const Values& panels, Dense& x) {
  const int columns = x.columns;
  Values below;
  for (std::size_t s = e.supernodes.size(); s-- > 0;) {
    const Supernode& node = e.supernodes[s];
    below.clear();
    for (int column = 0; column < columns; ++column)
      for (int k = 0; k < node.below(); ++k)
        below.push_back(x(node.rows[at(node.width + k)], column));
    kernels::solve_front_transposed(panels.data() + node.panel, node.height(), node.width,
                                    &x(node.first, 0), e.size, columns, below.data());
  }
}

}  // namespace

struct SparseCholesky::State {
  std::shared_ptr<const Elimination> elimination;
  Values panels;
  double log_determinant = 0;

  bool factor(const SparseMatrix& matrix);
};

/// Front by front: what is eliminated of a group's rows is handed on to its parent's.
bool SparseCholesky::State::factor(const SparseMatrix& matrix) {
  const Elimination& e = *elimination;
  panels.assign(e.panel_values, 0);
  // Both triangles are stored, one is taken: the value at the later place comes last and stays.
  for (std::size_t k = 0; k < e.slots.size(); ++k) panels[e.slots[k]] = matrix.values[k];
  std::vector<Dense> left(e.supernodes.size());
  log_determinant = 0;
  for (std::size_t s = 0; s < e.supernodes.size(); ++s) {
    const Supernode& node = e.supernodes[s];
    const int width = node.width;
    Dense front(node.height(), node.height());
    const auto panel = panels.begin() + static_cast<std::ptrdiff_t>(node.panel);
    const auto panel_size = static_cast<std::ptrdiff_t>(node.height()) * width;
    std::copy(panel, panel + panel_size, front.values.begin());
    for (const int child : node.children) {
      extend_add(e.supernodes[at(child)], left[at(child)], front);
      left[at(child)] = {};
    }
    if (!kernels::eliminate(front.values.data(), node.height(), width)) return false;
    for (int k = 0; k < width; ++k) log_determinant += 2 * std::log(front(k, k));
    std::copy_n(front.values.begin(), panel_size, panel);
    if (node.below() > 0) left[s] = std::move(front);
  }
  return std::isfinite(log_determinant);
}

SparseCholesky::SparseCholesky(const SparseMatrix& matrix) : state_(std::make_unique<State>()) {
  state_->elimination = std::make_shared<const Elimination>(elimination_of(matrix));
  if (!state_->factor(matrix)) throw std::invalid_argument("the matrix is not positive definite");
}
SparseCholesky::~SparseCholesky() = default;
SparseCholesky::SparseCholesky(const SparseCholesky& other)
    : state_(std::make_unique<State>(*other.state_)) {}
SparseCholesky::SparseCholesky(SparseCholesky&&) noexcept = default;
SparseCholesky& SparseCholesky::operator=(SparseCholesky&&) noexcept = default;

bool SparseCholesky::refactor(const SparseMatrix& matrix) {
  const Elimination& e = *state_->elimination;
  if (matrix.rows != e.size || matrix.columns != e.size || matrix.values.size() != e.slots.size())
    throw std::invalid_argument("another matrix of the same pattern has the same size");
  return state_->factor(matrix);
}

double SparseCholesky::log_determinant() const {
  return state_->log_determinant;
}

std::size_t SparseCholesky::stored_values() const {
  return state_->panels.size();
}

std::vector<double> SparseCholesky::solve(std::span<const double> right_side) const {
  const std::vector<double> one(right_side.begin(), right_side.end());
  return solve(std::span(&one, 1)).front();
}

std::vector<std::vector<double>> SparseCholesky::solve(
    std::span<const std::vector<double>> right_sides) const {
  const Elimination& e = *state_->elimination;
  std::vector<std::vector<double>> out;
  out.reserve(right_sides.size());
  for (std::size_t begin = 0; begin < right_sides.size(); begin += columns_at_once) {
    Dense x = in_order(
        e, right_sides.subspan(begin, std::min(columns_at_once, right_sides.size() - begin)));
    solve_lower(e, state_->panels, x);
    solve_transposed(e, state_->panels, x);
    for (int k = 0; k < x.columns; ++k) out.push_back(as_given(e, x, k));
  }
  return out;
}

std::vector<double> SparseCholesky::correlated(std::span<const double> normals) const {
  const Elimination& e = *state_->elimination;
  if (normals.size() != at(e.size))
    throw std::invalid_argument("a draw needs one number for each unknown");
  Dense x(e.size, 1);
  std::copy(normals.begin(), normals.end(), x.values.begin());
  solve_transposed(e, state_->panels, x);
  return as_given(e, x, 0);
}

/// From the last group to the first: the inverse among the rows below one lies within its parent's.
SelectedInverse SparseCholesky::selected_inverse() const {
  SelectedInverse out;
  out.elimination_ = state_->elimination;
  const Elimination& e = *state_->elimination;
  out.panels_.resize(e.panel_values);
  std::vector<Dense> fronts(e.supernodes.size());
  Values room;
  for (std::size_t s = e.supernodes.size(); s-- > 0;) {
    const Supernode& node = e.supernodes[s];
    const int height = node.height();
    Dense front(height, height);
    if (node.below() > 0) {
      gather(node, fronts[at(node.parent)], front);
      const std::vector<int>& siblings = e.supernodes[at(node.parent)].children;
      if (siblings.front() == static_cast<int>(s)) fronts[at(node.parent)] = {};
    }
    const double* among = node.below() > 0 ? &front(node.width, node.width) : nullptr;
    double* const panel = out.panels_.data() + node.panel;
    room.resize(std::max(room.size(), kernels::invert_room(height, node.width)));
    kernels::invert_front(state_->panels.data() + node.panel, height, node.width, among, height,
                          panel, room.data());
    if (node.children.empty()) continue;
    std::copy_n(panel, at(height) * at(node.width), front.values.begin());
    for (int row = 0; row < node.width; ++row)
      for (int k = node.width; k < height; ++k) front(row, k) = front(k, row);
    fronts[s] = std::move(front);
  }
  return out;
}

double SelectedInverse::at(int row, int column) const {
  const auto rows = elimination_->place.size();
  if (row < 0 || column < 0 || static_cast<std::size_t>(row) >= rows ||
      static_cast<std::size_t>(column) >= rows)
    throw std::out_of_range("the element is outside the inverse");
  const std::size_t slot = elimination_->slot(row, column);
  if (slot == elimination_->panel_values)
    throw std::out_of_range("the element is not among those of the selected inverse");
  return panels_[slot];
}

std::vector<double> SelectedInverse::diagonal() const {
  std::vector<double> out;
  out.reserve(elimination_->place.size());
  for (int i = 0; i < elimination_->size; ++i) out.push_back(at(i, i));
  return out;
}

std::vector<double> SelectedInverse::on_pattern() const {
  std::vector<double> out;
  out.reserve(elimination_->slots.size());
  for (const std::size_t slot : elimination_->slots) out.push_back(panels_[slot]);
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
