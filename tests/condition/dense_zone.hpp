// SPDX-License-Identifier: Apache-2.0
// The model of a zone written out as its definition says, densely: covariances of every datum with
// every other and with r of every segment. Soil parts are dense inverses of their precisions.
#pragma once

#include <Eigen/Dense>

#include <cmath>
#include <numbers>
#include <span>
#include <vector>

#include "drawn_zone.hpp"
#include "evendrip/condition/latent_parts.hpp"
#include "evendrip/condition/zone_model.hpp"

namespace evendrip::test {

inline double square(double v) {
  return v * v;
}

/// Covariance of r at two segments.
inline double covariance_of_r(const SegmentGrid& grid, const ConditionParameters& p,
                              const ConditionRanges& ranges, int a, int b) {
  const auto row_a = static_cast<std::size_t>(a / grid.stations());
  const auto row_b = static_cast<std::size_t>(b / grid.stations());
  const double across_m = std::abs(grid.across_m[row_a] - grid.across_m[row_b]);
  const double along_m = std::abs(grid.stations_m[static_cast<std::size_t>(a % grid.stations())] -
                                  grid.stations_m[static_cast<std::size_t>(b % grid.stations())]);
  return square(p.level) + square(p.along) * std::exp(-along_m / ranges.along_m) +
         (row_a == row_b ? square(p.own) : 0) +
         square(p.group) * std::exp(-across_m / ranges.group_m) +
         square(p.local) * std::exp(-across_m / ranges.local_across_m) *
             std::exp(-along_m / ranges.local_along_m);
}

inline Eigen::MatrixXd dense(const SparseMatrix& matrix) {
  Eigen::MatrixXd out = Eigen::MatrixXd::Zero(matrix.rows, matrix.columns);
  for (int row = 0; row < matrix.rows; ++row)
    for (std::size_t k = matrix.begins[static_cast<std::size_t>(row)];
         k < matrix.begins[static_cast<std::size_t>(row) + 1]; ++k)
      out(row, matrix.columns_of[k]) = matrix.values[k];
  return out;
}

inline Eigen::MatrixXd soil_covariance(const std::vector<CropDatum>& crop, double range_m) {
  std::vector<Point> places;
  for (const CropDatum& datum : crop) places.push_back(datum.place);
  const SoilMesh mesh = soil_mesh(places, range_m);
  const Eigen::MatrixXd rows = dense(interpolation(mesh, places));
  return rows * dense(matern_precision(mesh, range_m).matrix).llt().solve(rows.transpose());
}

/// Holes first, then crop data.
struct DenseZone {
  Eigen::VectorXd data;                ///< less their means and the known change
  Eigen::MatrixXd rows;                ///< data x segments: what each datum sees of r
  Eigen::MatrixXd covariance;          ///< of the data, errors included
  Eigen::MatrixXd segments_with_data;  ///< covariances
  Eigen::MatrixXd segments;            ///< covariances of r

  double log_likelihood() const {
    const Eigen::LLT<Eigen::MatrixXd> factor(covariance);
    const Eigen::MatrixXd lower = factor.matrixL();
    return -0.5 * (2 * lower.diagonal().array().log().sum() + data.dot(factor.solve(data)) +
                   static_cast<double>(data.size()) * std::log(2 * std::numbers::pi));
  }
};

inline DenseZone dense_zone(const SegmentGrid& grid, const std::vector<HoleDatum>& holes,
                            const std::vector<CropDatum>& crop, const ConditionRanges& ranges,
                            const ConditionParameters& p, std::span<const double> hole_weights = {},
                            std::span<const double> known_change = {}) {
  const auto n_holes = static_cast<Eigen::Index>(holes.size());
  const auto n_crop = static_cast<Eigen::Index>(crop.size());
  DenseZone zone;
  zone.segments.resize(grid.segments(), grid.segments());
  for (int a = 0; a < grid.segments(); ++a)
    for (int b = 0; b < grid.segments(); ++b)
      zone.segments(a, b) = covariance_of_r(grid, p, ranges, a, b);
  zone.data.resize(n_holes + n_crop);
  zone.rows = Eigen::MatrixXd::Zero(n_holes + n_crop, grid.segments());
  Eigen::VectorXd errors(n_holes + n_crop);
  for (Eigen::Index i = 0; i < n_holes; ++i) {
    const HoleDatum& hole = holes[static_cast<std::size_t>(i)];
    zone.rows(i, grid.segment(hole.row, hole.station)) = 1;
    zone.data(i) = hole.value - 1;
    errors(i) = (square(p.emitter) + hole.noise_variance) /
                (hole_weights.empty() ? 1 : hole_weights[static_cast<std::size_t>(i)]);
  }
  for (Eigen::Index i = 0; i < n_crop; ++i) {
    const CropDatum& datum = crop[static_cast<std::size_t>(i)];
    for (std::size_t k = 0; k < datum.segments.size(); ++k)
      zone.rows(n_holes + i, datum.segments[k]) += p.response * datum.weights[k];
    zone.data(n_holes + i) = datum.value - 1;
    errors(n_holes + i) = square(p.crop_error);
  }
  zone.segments_with_data = zone.segments * zone.rows.transpose();
  zone.covariance = zone.rows * zone.segments_with_data;
  zone.covariance.diagonal() += errors;
  if (n_crop > 0)
    zone.covariance.bottomRightCorner(n_crop, n_crop) +=
        square(p.soil_short) * soil_covariance(crop, ranges.soil_short_m) +
        square(p.soil_long) * soil_covariance(crop, ranges.soil_long_m) +
        Eigen::MatrixXd::Constant(n_crop, n_crop, square(crop_level_sd));
  if (ranges.aged_sd > 0 && n_crop > 0) {
    Eigen::MatrixXd by_lateral = Eigen::MatrixXd::Zero(n_crop, grid.rows());
    for (Eigen::Index i = 0; i < n_crop; ++i)
      for (int segment = 0; segment < grid.segments(); ++segment)
        by_lateral(i, segment / grid.stations()) += zone.rows(n_holes + i, segment);
    zone.covariance.bottomRightCorner(n_crop, n_crop) +=
        square(ranges.aged_sd) * by_lateral * by_lateral.transpose();
  }
  if (!known_change.empty())
    zone.data -=
        zone.rows * Eigen::Map<const Eigen::VectorXd>(known_change.data(), grid.segments());
  return zone;
}

/// A zone drawn from the model itself: r and soil from their dense covariances. Holes and places of
/// the crop are those of a drawn zone.
inline DrawnZone zone_of_model(const ConditionParameters& p, std::uint64_t seed) {
  DrawnZone zone = drawn_zone(p, seed);
  std::mt19937_64 stream(seed + 1000);
  std::normal_distribution<double> normal;
  const auto noise = [&](Eigen::Index n) {
    Eigen::VectorXd z(n);
    for (double& v : z) v = normal(stream);
    return z;
  };
  const auto draw = [&](Eigen::MatrixXd covariance) -> Eigen::VectorXd {
    covariance.diagonal().array() += 1e-12;
    const Eigen::MatrixXd lower = covariance.llt().matrixL();
    return lower * noise(covariance.rows());
  };
  const DenseZone dense = dense_zone(zone.grid, {}, {}, zone.ranges, p);
  const Eigen::VectorXd r = draw(dense.segments);
  const Eigen::VectorXd soil =
      draw(square(p.soil_short) * soil_covariance(zone.crop, zone.ranges.soil_short_m) +
           square(p.soil_long) * soil_covariance(zone.crop, zone.ranges.soil_long_m));
  for (Eigen::Index i = 0; i < r.size(); ++i) {
    zone.r[static_cast<std::size_t>(i)] = 1 + r(i);
    zone.soil[static_cast<std::size_t>(i)] = soil(i);
  }
  for (HoleDatum& hole : zone.holes)
    hole.value = zone.r[static_cast<std::size_t>(zone.grid.segment(hole.row, hole.station))] +
                 std::sqrt(square(p.emitter) + hole.noise_variance) * normal(stream);
  const double level = crop_level_sd * normal(stream);
  for (std::size_t i = 0; i < zone.crop.size(); ++i)
    zone.crop[i].value = 1 + level + p.response * r(zone.crop[i].segments.front()) + zone.soil[i] +
                         p.crop_error * normal(stream);
  return zone;
}

}  // namespace evendrip::test
