// SPDX-License-Identifier: Apache-2.0
// What is not seen, in precision form: the parts of emitter performance that follow stations,
// laterals and both, and soil, which ignores them.
//
// A zone's segments are a grid of laterals x stations. Station and lateral parts are first-order
// autoregressive: on sorted positions the exponential correlation exp(-d / range) has exactly a
// tridiagonal inverse (Rue & Held 2005, "Gaussian Markov Random Fields", section 1.1). The local
// part is their Kronecker product. Soil is a Matern field of smoothness 1 as a Markov field on a
// lattice of triangles: Lindgren, Rue & Lindstrom 2011, J. R. Stat. Soc. B 73:423-498 (all from
// memory).
#pragma once

#include <span>
#include <vector>

#include "evendrip/condition/sparse.hpp"
#include "evendrip/geo/shapes.hpp"

namespace evendrip {

/// A precision matrix with the logarithm of its determinant.
struct Precision {
  SparseMatrix matrix;
  double log_determinant = 0;
};

/// Inverse of the correlation exp(-|p_i - p_j| / range). Throws std::invalid_argument unless the
/// positions ascend strictly and the range is above 0.
Precision exponential_precision(std::span<const double> positions_m, double range_m);
/// Unknown a * (size of b) + b of two parts multiplied: correlation the product of both.
Precision product_of(const Precision& a, const Precision& b);
/// n unknowns that know nothing of each other, of variance 1.
Precision independent(int unknowns);
/// The same with the variance multiplied.
Precision with_variance(Precision precision, double variance);

/// A lattice of squares, each cut into two triangles: node (row, column) is row * columns + column,
/// at (left + column * step_m, bottom + row * step_m).
struct SoilMesh {
  double left = 0;
  double bottom = 0;
  double step_m = 1;
  int columns = 0;
  int rows = 0;

  int nodes() const { return rows * columns; }
};
/// Covers the extent and `margin_m` beyond it, where the edge of the lattice falsifies the field.
/// Throws std::invalid_argument for an empty extent, a step not above 0, or over four million
/// nodes.
SoilMesh mesh_over(const Extent& extent, double step_m, double margin_m);
/// The mesh of a soil part of that range seen at these places, with a margin of 0.7 of the range.
/// Without places it lies about the origin.
SoilMesh soil_mesh(std::span<const Point> places, double range_m, double steps_in_range = 5);
/// Weights of the three nodes about each place: rows of a matrix places x nodes. Throws
/// std::invalid_argument for a place off the mesh.
SparseMatrix interpolation(const SoilMesh& mesh, std::span<const Point> places);
/// Variance 1 away from the edge; the correlation at distance d is (k d) K1(k d), k = sqrt(8) /
/// range_m, so that it is about 0.14 at the range. Exact as the step goes to 0 and the margin
/// grows: with a step of a tenth of the range and a margin of one and a half ranges covariances are
/// off by less than 0.01 and variances by less than 0.05, with a fifth and one range 0.04 and 0.13.
Precision matern_precision(const SoilMesh& mesh, double range_m);

}  // namespace evendrip
