// SPDX-License-Identifier: Apache-2.0
#include "influence.hpp"

#include <boost/math/distributions/normal.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace evendrip {
namespace {

// Trapezoids over the normal density: exact to rounding for smooth functions; the corners of the
// low quarter and of the mean deviation cost about 1e-4 of a variance.
constexpr double farthest_sd = 8;
constexpr int steps = 512;

struct Node {
  double z = 0;
  double weight = 0;
};

std::vector<Node> normal_nodes() {
  const boost::math::normal_distribution<double> normal;
  const double step = 2 * farthest_sd / steps;
  std::vector<Node> nodes;
  for (int i = 0; i <= steps; ++i) {
    const double z = -farthest_sd + i * step;
    nodes.push_back({z, step * pdf(normal, z)});
  }
  return nodes;
}

/// Central moments of the influence within a lateral, second to fourth, and its mean.
struct Moments {
  double mean = 0;
  double second = 0;
  double third = 0;
  double fourth = 0;
};

template <typename F>
Moments moments_of(const std::vector<Node>& nodes, const F& f) {
  double weight = 0;
  Moments moments;
  for (const Node& node : nodes) {
    weight += node.weight;
    moments.mean += node.weight * f(node.z);
  }
  moments.mean /= weight;
  for (const Node& node : nodes) {
    const double d = f(node.z) - moments.mean;
    moments.second += node.weight * d * d;
    moments.third += node.weight * d * d * d;
    moments.fourth += node.weight * d * d * d * d;
  }
  return moments;
}

}  // namespace

Whole whole_of_normal(double cv) {
  const boost::math::normal_distribution<double> normal;
  const double z = quantile(normal, 0.25);
  Whole whole;
  whole.sd = cv;
  whole.quartile = 1 + cv * z;
  whole.low_quarter = 1 - cv * pdf(normal, z) / 0.25;
  whole.mean_deviation = cv * std::sqrt(2 / std::numbers::pi);
  return whole;
}

double influence(const Whole& whole, double relative, PlannedMeasure measure) {
  const double d = relative - 1;
  switch (measure) {
    case PlannedMeasure::statistical_uniformity:
      if (whole.sd <= 0) return 0;
      return -(d * d - whole.sd * whole.sd) / (2 * whole.sd) + whole.sd * d;
    case PlannedMeasure::low_quarter_uniformity:
      return std::min(relative - whole.quartile, 0.0) / 0.25 + whole.quartile - whole.low_quarter -
             whole.low_quarter * d;
    case PlannedMeasure::christiansen:
      return whole.mean_deviation - std::abs(d) - whole.below_less_above_mean * d +
             whole.mean_deviation * d;
    case PlannedMeasure::mean:
      break;
  }
  return d;
}

LateralShape normal_shape(double cv, double lateral_share_frac, PlannedMeasure measure) {
  const Whole whole = whole_of_normal(cv);
  const std::vector<Node> nodes = normal_nodes();
  const double of_lateral = cv * std::sqrt(lateral_share_frac);
  const double of_emitter = cv * std::sqrt(1 - lateral_share_frac);
  LateralShape shape;
  for (const Node& lateral : nodes) {
    const double middle = 1 + of_lateral * lateral.z;
    const Moments inside = moments_of(
        nodes, [&](double z) { return influence(whole, middle + of_emitter * z, measure); });
    const double square = inside.mean * inside.mean;
    shape.between += lateral.weight * square;
    shape.within += lateral.weight * inside.second;
    shape.m4 += lateral.weight * square * square;
    shape.m2v += lateral.weight * square * inside.second;
    shape.mt += lateral.weight * inside.mean * inside.third;
    shape.f += lateral.weight * inside.fourth;
    shape.v2 += lateral.weight * inside.second * inside.second;
  }
  return shape;
}

}  // namespace evendrip
