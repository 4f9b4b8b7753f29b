// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/latent_parts.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

#include "evendrip/surface/covariance.hpp"

namespace evendrip {
namespace {

std::vector<double> column_of_inverse(const SparseMatrix& matrix, int column) {
  std::vector<double> unit(static_cast<std::size_t>(matrix.rows), 0);
  unit[static_cast<std::size_t>(column)] = 1;
  return SparseCholesky(matrix).solve(unit);
}

/// Sites of a grid of laterals that run north, lateral by lateral.
std::vector<Site> grid_of_sites(std::span<const double> across_m,
                                std::span<const double> stations_m) {
  std::vector<Site> sites;
  for (std::size_t l = 0; l < across_m.size(); ++l)
    for (const double u : stations_m)
      sites.push_back({{across_m[l], u}, static_cast<int>(l), u, 0});
  return sites;
}

const std::vector<double> across_m{0, 1.5, 3, 4.5, 9};
const std::vector<double> stations_m{5, 15, 25, 35, 60, 65};

TEST(LatentParts, AreTheSurfaceRoomsCovarianceInAnotherForm) {
  const std::vector<Site> sites = grid_of_sites(across_m, stations_m);
  const int n = static_cast<int>(sites.size());
  const CorrelationFactor across{Metric::across, VariogramShape::exponential, 6, 0, 1};
  const CorrelationFactor station{Metric::station, VariogramShape::exponential, 40, 0, 1};
  const CovarianceModel model{{{"local", 0.02, {across, station}}}};
  const Precision local = with_variance(
      product_of(exponential_precision(across_m, 6), exponential_precision(stations_m, 40)), 0.02);
  for (int column = 0; column < n; ++column) {
    const std::vector<double> inverse = column_of_inverse(local.matrix, column);
    for (int row = 0; row < n; ++row)
      EXPECT_NEAR(inverse[static_cast<std::size_t>(row)],
                  covariance(model, sites[static_cast<std::size_t>(row)],
                             sites[static_cast<std::size_t>(column)]),
                  0.02 * 1e-8);
  }
  EXPECT_NEAR(SparseCholesky(local.matrix).log_determinant(), local.log_determinant, 1e-9);
}

TEST(LatentParts, StayExactFromShortToLongRanges) {
  for (const double range_m : {0.1, 1.0, 1e3, 1e6}) {
    const Precision chain = exponential_precision(stations_m, range_m);
    const std::vector<double> inverse = column_of_inverse(chain.matrix, 2);
    for (std::size_t i = 0; i < stations_m.size(); ++i)
      EXPECT_NEAR(inverse[i], std::exp(-std::abs(stations_m[i] - stations_m[2]) / range_m), 1e-8)
          << range_m;
  }
}

TEST(LatentParts, RefusePositionsThatDoNotAscendAndRangesOfNothing) {
  const double twice[] = {0, 1, 1};
  EXPECT_THROW(exponential_precision(twice, 5), std::invalid_argument);
  EXPECT_THROW(exponential_precision(stations_m, 0), std::invalid_argument);
  EXPECT_THROW(with_variance(independent(2), 0), std::invalid_argument);
}

TEST(SoilMesh, GivesWeightsThatSumToOneAndHitThePlace) {
  Extent extent;
  extent.include(Point{100, 200});
  extent.include(Point{130, 215});
  const SoilMesh mesh = mesh_over(extent, 4, 6);
  const std::vector<Point> places{{100, 200}, {111.3, 207.9}, {129, 214.9}, {117, 203}};
  const SparseMatrix rows = interpolation(mesh, places);
  std::vector<double> ones(static_cast<std::size_t>(mesh.nodes()), 1);
  std::vector<double> x;
  std::vector<double> y;
  for (int row = 0; row < mesh.rows; ++row)
    for (int column = 0; column < mesh.columns; ++column) {
      x.push_back(mesh.left + column * mesh.step_m);
      y.push_back(mesh.bottom + row * mesh.step_m);
    }
  for (std::size_t i = 0; i < places.size(); ++i) {
    EXPECT_NEAR(product(rows, ones)[i], 1, 1e-14);
    EXPECT_NEAR(product(rows, x)[i], places[i].x, 1e-10);
    EXPECT_NEAR(product(rows, y)[i], places[i].y, 1e-10);
  }
  const Point off{0, 0};
  EXPECT_THROW(interpolation(mesh, std::span(&off, 1)), std::invalid_argument);
  EXPECT_THROW(mesh_over(extent, 0.001, 0), std::invalid_argument);
}

/// Largest distance of the mesh's correlation from (k d) K1(k d) inside the extent, and of its
/// variance from 1. K1 comes from the standard library.
struct MeshError {
  double correlation = 0;
  double variance = 0;
};
MeshError error_of(double step_share, double margin_share) {
  constexpr double range_m = 50;
  Extent extent;
  extent.include(Point{0, 0});
  extent.include(Point{100, 80});
  const SoilMesh mesh = mesh_over(extent, step_share * range_m, margin_share * range_m);
  const SparseCholesky factor(matern_precision(mesh, range_m).matrix);
  std::vector<Point> places;
  for (const double x : {0.0, 33.0, 50.0, 100.0})
    for (const double y : {0.0, 40.0, 61.0, 80.0}) places.push_back({x, y});
  const SparseMatrix rows = interpolation(mesh, places);
  MeshError error;
  for (std::size_t i = 0; i < places.size(); ++i) {
    std::vector<double> unit(places.size(), 0);
    unit[i] = 1;
    const std::vector<double> seen = product(rows, factor.solve(transposed_product(rows, unit)));
    for (std::size_t j = 0; j < places.size(); ++j) {
      const double d = std::sqrt(8.0) / range_m * distance_m(places[i], places[j]);
      const double wanted = d == 0 ? 1 : d * std::cyl_bessel_k(1, d);
      double& largest = i == j ? error.variance : error.correlation;
      largest = std::max(largest, std::abs(seen[j] - wanted));
    }
  }
  return error;
}

TEST(SoilMesh, ApproachesTheMaternField) {
  const MeshError coarse = error_of(0.2, 1);
  EXPECT_LT(coarse.correlation, 0.04);
  EXPECT_LT(coarse.variance, 0.13);
  const MeshError fine = error_of(0.1, 1.5);
  EXPECT_LT(fine.correlation, 0.01);
  EXPECT_LT(fine.variance, 0.05);
  const MeshError finer = error_of(0.05, 2);
  EXPECT_LT(finer.correlation, fine.correlation / 2);
  EXPECT_LT(finer.variance, fine.variance / 2);
}

TEST(SoilMesh, KnowsItsDeterminant) {
  Extent extent;
  extent.include(Point{0, 0});
  extent.include(Point{20, 15});
  const Precision soil = matern_precision(mesh_over(extent, 2, 4), 12);
  EXPECT_NEAR(SparseCholesky(soil.matrix).log_determinant(), soil.log_determinant, 1e-8);
}

}  // namespace
}  // namespace evendrip
