// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/sparse.hpp"

#include "supernodes.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

using Dense = Eigen::MatrixXd;
using Panel = Eigen::Map<Dense>;
using ConstPanel = Eigen::Map<const Dense>;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

ConstPanel panel_of(const Supernode& node, const std::vector<double>& values) {
  return {values.data() + node.panel, node.height(), node.width};
}

/// Adds a child's update to the front of its parent, lower triangles.
void extend_add(const Supernode& child, const Dense& update, Dense& front) {
  const std::vector<int>& to = child.in_parent;
  for (int column = 0; column < child.below(); ++column) {
    double* target = &front(0, to[at(column)]);
    for (int row = column; row < child.below(); ++row) target[to[at(row)]] += update(row, column);
  }
}

/// Those elements of the inverse that a child needs of its parent's, whole.
Dense gathered(const Supernode& child, const Dense& front) {
  Dense out(child.below(), child.below());
  for (int column = 0; column < child.below(); ++column) {
    const double* source = &front(0, child.in_parent[at(column)]);
    double* target = &out(0, column);
    for (int row = 0; row < child.below(); ++row) target[row] = source[child.in_parent[at(row)]];
  }
  return out;
}

/// x becomes L'^-1 x.
void solve_transposed(const Elimination& e, const std::vector<double>& panels, Eigen::VectorXd& x) {
  Eigen::VectorXd below;
  for (std::size_t s = e.supernodes.size(); s-- > 0;) {
    const Supernode& node = e.supernodes[s];
    const ConstPanel panel = panel_of(node, panels);
    auto own = x.segment(node.first, node.width);
    below.resize(node.below());
    for (int k = 0; k < node.below(); ++k) below[k] = x[node.rows[at(node.width + k)]];
    own.noalias() -= panel.bottomRows(node.below()).transpose() * below;
    own = panel.topRows(node.width).triangularView<Eigen::Lower>().transpose().solve(own);
  }
}

std::vector<double> as_given(const Elimination& e, const Eigen::VectorXd& x) {
  std::vector<double> out(e.place.size());
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = x[e.place[i]];
  return out;
}

}  // namespace

struct SparseCholesky::State {
  std::shared_ptr<const Elimination> elimination;
  std::vector<double> panels;
  double log_determinant = 0;

  bool factor(const SparseMatrix& matrix);
};

/// Front by front: what is eliminated of a group's rows is handed on to its parent's (Duff & Reid
/// 1983, ACM Trans. Math. Softw. 9:302-325; from memory).
bool SparseCholesky::State::factor(const SparseMatrix& matrix) {
  const Elimination& e = *elimination;
  panels.assign(e.panel_values, 0);
  // Both triangles are stored, one is taken: the value at the later place comes last and stays.
  for (std::size_t k = 0; k < e.slots.size(); ++k) panels[e.slots[k]] = matrix.values[k];
  std::vector<Dense> updates(e.supernodes.size());
  log_determinant = 0;
  for (std::size_t s = 0; s < e.supernodes.size(); ++s) {
    const Supernode& node = e.supernodes[s];
    const int width = node.width;
    Dense front = Dense::Zero(node.height(), node.height());
    Panel panel(panels.data() + node.panel, node.height(), width);
    front.leftCols(width) = panel;
    for (const int child : node.children) {
      extend_add(e.supernodes[at(child)], updates[at(child)], front);
      updates[at(child)] = Dense();
    }
    auto top = front.topLeftCorner(width, width);
    if (Eigen::LLT<Eigen::Ref<Dense>>(top).info() != Eigen::Success) return false;
    if (!(top.diagonal().minCoeff() > 0)) return false;
    log_determinant += 2 * top.diagonal().array().log().sum();
    if (node.below() > 0) {
      auto side = front.bottomLeftCorner(node.below(), width);
      top.triangularView<Eigen::Lower>().transpose().solveInPlace<Eigen::OnTheRight>(side);
      updates[s] = front.bottomRightCorner(node.below(), node.below());
      updates[s].selfadjointView<Eigen::Lower>().rankUpdate(side, -1);
    }
    panel = front.leftCols(width);
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
  const Elimination& e = *state_->elimination;
  if (right_side.size() != at(e.size))
    throw std::invalid_argument("a right side needs one number for each unknown");
  Eigen::VectorXd x(e.size);
  for (std::size_t i = 0; i < right_side.size(); ++i) x[e.place[i]] = right_side[i];
  Eigen::VectorXd below;
  for (const Supernode& node : e.supernodes) {
    const ConstPanel panel = panel_of(node, state_->panels);
    auto own = x.segment(node.first, node.width);
    own = panel.topRows(node.width).triangularView<Eigen::Lower>().solve(own);
    below.noalias() = panel.bottomRows(node.below()) * own;
    for (int k = 0; k < node.below(); ++k) x[node.rows[at(node.width + k)]] -= below[k];
  }
  solve_transposed(e, state_->panels, x);
  return as_given(e, x);
}

std::vector<double> SparseCholesky::correlated(std::span<const double> normals) const {
  const Elimination& e = *state_->elimination;
  if (normals.size() != at(e.size))
    throw std::invalid_argument("a draw needs one number for each unknown");
  Eigen::VectorXd x = Eigen::Map<const Eigen::VectorXd>(normals.data(), e.size);
  solve_transposed(e, state_->panels, x);
  return as_given(e, x);
}

/// From the last group to the first. With L the panel's own columns, Y = L_below L_own^-1 and S the
/// inverse among the rows below, which lies within the parent's:
///   S_below,own = -S Y,   S_own = (L_own L_own')^-1 + Y' S Y.
SelectedInverse SparseCholesky::selected_inverse() const {
  SelectedInverse out;
  out.elimination_ = state_->elimination;
  const Elimination& e = *state_->elimination;
  out.panels_.resize(e.panel_values);
  std::vector<Dense> fronts(e.supernodes.size());
  for (std::size_t s = e.supernodes.size(); s-- > 0;) {
    const Supernode& node = e.supernodes[s];
    const int width = node.width;
    const ConstPanel factor = panel_of(node, state_->panels);
    Panel panel(out.panels_.data() + node.panel, node.height(), width);
    Dense own_inverse = Dense::Identity(width, width);
    factor.topRows(width).triangularView<Eigen::Lower>().solveInPlace(own_inverse);
    panel.topRows(width).noalias() = own_inverse.transpose() * own_inverse;
    Dense below;
    if (node.below() > 0) {
      const Dense sides = factor.bottomRows(node.below()) * own_inverse;
      below = gathered(node, fronts[at(node.parent)]);
      panel.bottomRows(node.below()).noalias() = -(below * sides);
      panel.topRows(width).noalias() -= sides.transpose() * panel.bottomRows(node.below());
      const std::vector<int>& siblings = e.supernodes[at(node.parent)].children;
      if (siblings.front() == static_cast<int>(s)) fronts[at(node.parent)] = Dense();
    }
    if (node.children.empty()) continue;
    Dense& front = fronts[s];
    front.resize(node.height(), node.height());
    front.leftCols(width) = panel;
    if (node.below() == 0) continue;
    front.topRightCorner(width, node.below()) = panel.bottomRows(node.below()).transpose();
    front.bottomRightCorner(node.below(), node.below()) = below;
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
