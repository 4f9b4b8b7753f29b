// SPDX-License-Identifier: Apache-2.0
#include "kriging_system.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <stdexcept>

namespace evendrip::kriging {
namespace {

struct Node {
  double at = 0;  ///< in -1 to 1
  double weight = 0;
};

/// Gauss-Legendre nodes: roots of the Legendre polynomial by Newton's method; weights sum to 1.
std::vector<Node> gauss_nodes(int count) {
  std::vector<Node> nodes(size(count));
  for (int i = 0; i < count; ++i) {
    double x = std::cos(std::numbers::pi * (i + 0.75) / (count + 0.5));
    double slope = 0;
    for (int round = 0; round < 16; ++round) {
      double value = 1;
      double before = 0;
      for (int k = 1; k <= count; ++k) {
        const double earlier = before;
        before = value;
        value = ((2 * k - 1) * x * before - (k - 1) * earlier) / k;
      }
      slope = count * (x * value - before) / (x * x - 1);
      x -= value / slope;
    }
    nodes[size(i)] = {x, 1 / ((1 - x * x) * slope * slope)};
  }
  return nodes;
}

}  // namespace

BlockPoints gauss_points(double side_m, int per_side) {
  if (per_side < 1) throw std::invalid_argument("a block has at least one point each way");
  const std::vector<Node> nodes = gauss_nodes(per_side);
  BlockPoints out;
  for (const Node& north : nodes) {
    for (const Node& east : nodes) {
      out.offsets.push_back({east.at * side_m / 2, north.at * side_m / 2});
      out.weights.push_back(east.weight * north.weight);
    }
  }
  return out;
}

kernels::Covariance OrdinaryProblem::without_nugget() const {
  kernels::Covariance out = covariance_;
  out.at_zero = out.structured;
  return out;
}

void OrdinaryProblem::fill_means(const BlockPoints& block, std::span<const Site> middles,
                                 std::span<const int> observations, MatrixView out) const {
  const kernels::Covariance covariance = without_nugget();
  const std::size_t points = block.offsets.size();
  const std::size_t step = size(padded_for_covariances(static_cast<int>(points)));
  std::vector<Point> at(points);
  std::vector<double> row(observations.size() * step, 0.0);
  for (std::size_t i = 0; i < middles.size(); ++i) {
    const Point middle{middles[i].place.x - origin.x, middles[i].place.y - origin.y};
    for (std::size_t k = 0; k < points; ++k)
      at[k] = stretch({middle.x + block.offsets[k].x, middle.y + block.offsets[k].y});
    for (std::size_t j = 0; j < observations.size(); ++j) {
      const Point& there = stretched_[size(observations[j])];
      for (std::size_t k = 0; k < points; ++k) row[j * step + k] = distance2(at[k], there);
    }
    kernels::covariances(covariance, row.data(), row.data(), static_cast<int>(row.size()));
    for (std::size_t j = 0; j < observations.size(); ++j)
      out(static_cast<int>(i), static_cast<int>(j)) =
          kernels::dot(block.weights.data(), row.data() + j * step, static_cast<int>(points));
  }
}

double OrdinaryProblem::variance_of_mean(const BlockPoints& block) const {
  const kernels::Covariance covariance = without_nugget();
  const std::size_t points = block.offsets.size();
  std::vector<double> row(size(padded_for_covariances(static_cast<int>(points))), 0.0);
  double sum = 0;
  for (std::size_t j = 0; j < points; ++j) {
    const Point here = stretch(block.offsets[j]);
    for (std::size_t k = 0; k < points; ++k) row[k] = distance2(here, stretch(block.offsets[k]));
    kernels::covariances(covariance, row.data(), row.data(), static_cast<int>(row.size()));
    sum +=
        block.weights[j] * kernels::dot(block.weights.data(), row.data(), static_cast<int>(points));
  }
  return sum;
}

MeanTargets::MeanTargets(const OrdinaryProblem& problem, const BlockPoints& block, double variance,
                         std::span<const Site> middles)
    : problem_(problem), block_(block), variance_(variance), middles_(middles) {
  local.reserve(middles.size());
  for (const Site& middle : middles)
    local.push_back({middle.place.x - problem.origin.x, middle.place.y - problem.origin.y});
}

void MeanTargets::fill(std::span<const int> observations, MatrixView out) const {
  problem_.fill_means(block_, middles_, observations, out);
}

void MeanTargets::fill_trend(MatrixView out) const {
  problem_.fill_trend(middles_, out);
}

}  // namespace evendrip::kriging
