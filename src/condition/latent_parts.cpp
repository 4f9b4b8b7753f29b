// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/latent_parts.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr double most_nodes = 4e6;
constexpr double soil_margin_in_ranges = 0.7;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// The four nodes of the square that holds a place, and where in it the place lies.
struct InSquare {
  int row = 0;
  int column = 0;
  double x = 0;  ///< 0 to 1 from the left
  double y = 0;  ///< 0 to 1 from below
};

InSquare square_of(const SoilMesh& mesh, Point p) {
  const double x = (p.x - mesh.left) / mesh.step_m;
  const double y = (p.y - mesh.bottom) / mesh.step_m;
  if (!(x >= 0 && y >= 0 && x <= mesh.columns - 1 && y <= mesh.rows - 1))
    throw std::invalid_argument("a place lies off the mesh");
  InSquare out;
  out.column = std::min(static_cast<int>(x), mesh.columns - 2);
  out.row = std::min(static_cast<int>(y), mesh.rows - 2);
  out.x = x - out.column;
  out.y = y - out.row;
  return out;
}

/// Stiffness of linear elements on the squares, cut from lower left to upper right: the squares'
/// sides share it, the diagonals have none. A side on the edge belongs to one triangle only.
SparseMatrix stiffness_of(const SoilMesh& mesh) {
  std::vector<SparseEntry> entries;
  const auto link = [&entries](int a, int b, double weight) {
    entries.push_back({a, a, weight});
    entries.push_back({b, b, weight});
    entries.push_back({a, b, -weight});
    entries.push_back({b, a, -weight});
  };
  for (int row = 0; row < mesh.rows; ++row)
    for (int column = 0; column < mesh.columns; ++column) {
      const int node = row * mesh.columns + column;
      const bool on_row_edge = row == 0 || row == mesh.rows - 1;
      const bool on_column_edge = column == 0 || column == mesh.columns - 1;
      if (column + 1 < mesh.columns) link(node, node + 1, on_row_edge ? 0.5 : 1);
      if (row + 1 < mesh.rows) link(node, node + mesh.columns, on_column_edge ? 0.5 : 1);
    }
  return sparse_matrix(mesh.nodes(), mesh.nodes(), entries);
}

/// Ground of each node: a third of the triangles that meet there.
std::vector<double> ground_of_nodes(const SoilMesh& mesh) {
  std::vector<double> ground(at(mesh.nodes()), 0);
  const double third = mesh.step_m * mesh.step_m / 6;
  for (int row = 0; row + 1 < mesh.rows; ++row)
    for (int column = 0; column + 1 < mesh.columns; ++column) {
      const int low = row * mesh.columns + column;
      const int high = low + mesh.columns;
      for (const int node : {low, low + 1, high + 1, low, high, high + 1})
        ground[at(node)] += third;
    }
  return ground;
}

}  // namespace

Precision exponential_precision(std::span<const double> positions_m, double range_m) {
  if (!(range_m > 0) || positions_m.empty())
    throw std::invalid_argument("an exponential part needs positions and a range above 0");
  const int n = static_cast<int>(positions_m.size());
  std::vector<SparseEntry> entries{{0, 0, 1}};
  Precision out;
  for (int i = 1; i < n; ++i) {
    const double distance_m = positions_m[at(i)] - positions_m[at(i - 1)];
    if (!(distance_m > 0)) throw std::invalid_argument("positions do not ascend");
    const double rho = std::exp(-distance_m / range_m);
    const double left_over = -std::expm1(-2 * distance_m / range_m);  // 1 - rho^2
    entries.push_back({i - 1, i - 1, rho * rho / left_over});
    entries.push_back({i, i, 1 / left_over});
    entries.push_back({i - 1, i, -rho / left_over});
    entries.push_back({i, i - 1, -rho / left_over});
    out.log_determinant -= std::log(left_over);
  }
  out.matrix = sparse_matrix(n, n, entries);
  return out;
}

Precision product_of(const Precision& a, const Precision& b) {
  return {kronecker(a.matrix, b.matrix),
          b.matrix.rows * a.log_determinant + a.matrix.rows * b.log_determinant};
}

Precision independent(int unknowns) {
  std::vector<SparseEntry> entries;
  entries.reserve(at(std::max(0, unknowns)));
  for (int i = 0; i < unknowns; ++i) entries.push_back({i, i, 1});
  return {sparse_matrix(unknowns, unknowns, entries), 0};
}

Precision with_variance(Precision precision, double variance) {
  if (!(variance > 0)) throw std::invalid_argument("a variance is not above 0");
  precision.log_determinant -= precision.matrix.rows * std::log(variance);
  precision.matrix = scaled(std::move(precision.matrix), 1 / variance);
  return precision;
}

SoilMesh mesh_over(const Extent& extent, double step_m, double margin_m) {
  if (extent.empty() || !(step_m > 0) || !(margin_m >= 0))
    throw std::invalid_argument("a mesh needs an extent, a step above 0 and a margin");
  const Extent wide = extent.grown(margin_m);
  const double columns = std::ceil(wide.width() / step_m) + 1;
  const double rows = std::ceil(wide.height() / step_m) + 1;
  if (!(columns * rows <= most_nodes)) throw std::invalid_argument("the mesh has too many nodes");
  return {wide.x_min, wide.y_min, step_m, std::max(2, static_cast<int>(columns)),
          std::max(2, static_cast<int>(rows))};
}

SoilMesh soil_mesh(std::span<const Point> places, double range_m, double steps_in_range) {
  Extent extent;
  for (const Point& place : places) extent.include(place);
  if (extent.empty()) extent.include(Point{0, 0});
  return mesh_over(extent, range_m / steps_in_range, soil_margin_in_ranges * range_m);
}

SparseMatrix interpolation(const SoilMesh& mesh, std::span<const Point> places) {
  std::vector<SparseEntry> entries;
  entries.reserve(3 * places.size());
  for (std::size_t i = 0; i < places.size(); ++i) {
    const InSquare in = square_of(mesh, places[i]);
    const int row = static_cast<int>(i);
    const int low = in.row * mesh.columns + in.column;
    const int high = low + mesh.columns;
    if (in.x >= in.y) {  // below the diagonal
      entries.push_back({row, low, 1 - in.x});
      entries.push_back({row, low + 1, in.x - in.y});
      entries.push_back({row, high + 1, in.y});
    } else {
      entries.push_back({row, low, 1 - in.y});
      entries.push_back({row, high, in.y - in.x});
      entries.push_back({row, high + 1, in.x});
    }
  }
  return sparse_matrix(static_cast<int>(places.size()), mesh.nodes(), entries);
}

/// With C the ground of the nodes and G the stiffness, K = k^2 C + G and the precision is
/// K C^-1 K / (4 pi k^2), whose variance is 1.
Precision matern_precision(const SoilMesh& mesh, double range_m) {
  if (!(range_m > 0)) throw std::invalid_argument("a soil part needs a range above 0");
  const double k2 = 8 / (range_m * range_m);
  const std::vector<double> ground = ground_of_nodes(mesh);
  std::vector<SparseEntry> diagonal;
  std::vector<double> per_ground;
  for (int i = 0; i < mesh.nodes(); ++i) {
    diagonal.push_back({i, i, k2 * ground[at(i)]});
    per_ground.push_back(1 / ground[at(i)] / (4 * std::numbers::pi * k2));
  }
  const SparseMatrix k =
      sum_of(sparse_matrix(mesh.nodes(), mesh.nodes(), diagonal), stiffness_of(mesh));
  Precision out;
  out.matrix = weighted_square(k, per_ground);
  out.log_determinant = 2 * SparseCholesky(k).log_determinant();
  for (const double weight : per_ground) out.log_determinant += std::log(weight);
  return out;
}

}  // namespace evendrip
