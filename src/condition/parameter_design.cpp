// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/parameter_design.hpp"

#include "climb.hpp"
#include "fitted_posterior.hpp"

#include "evendrip/base/random.hpp"

#include <Eigen/Dense>

#include <algorithm>
#include <bit>
#include <cmath>
#include <memory>
#include <numeric>
#include <utility>

namespace evendrip {
namespace {

constexpr int steps_to_mode = 12;
constexpr double corner_at = 1.1;  ///< standard deviations, on each axis
constexpr double least_stretch = 0.5;
constexpr double most_stretch = 2;
constexpr double most_log_ratio = 1.5;  ///< of the density at a corner to that of the quadratic
constexpr std::size_t most_axes = 8;

enum class Corners { all, half };

using Vector = Eigen::VectorXd;
using Matrix = Eigen::MatrixXd;

/// The parameters that the data speak of, without the best known ones where they are too many.
std::vector<std::size_t> free_parameters(const ZoneModel& model, const PosteriorSlope& mode,
                                         std::size_t most) {
  std::vector<std::size_t> free;
  for (std::size_t i = 0; i < fitted_count; ++i) {
    const auto which = fitted_parameters[i];
    const bool of_crop = is_part_of_soil(i) || which == &ConditionParameters::crop_error ||
                         which == &ConditionParameters::response;
    const bool of_holes = which == &ConditionParameters::emitter;
    if ((of_crop && model.crop_data() == 0) || (of_holes && model.holes() == 0)) continue;
    free.push_back(i);
  }
  while (free.size() > most)
    free.erase(std::max_element(free.begin(), free.end(), [&mode](std::size_t a, std::size_t b) {
      return mode.curvature[a][a] < mode.curvature[b][b];
    }));
  return free;
}

/// Steps of one standard deviation along each axis, as columns.
Matrix axes_of(const PosteriorSlope& mode, const std::vector<std::size_t>& free) {
  const auto n = static_cast<Eigen::Index>(free.size());
  Matrix curvature(n, n);
  for (Eigen::Index a = 0; a < n; ++a)
    for (Eigen::Index b = 0; b < n; ++b)
      curvature(a, b) =
          mode.curvature[free[static_cast<std::size_t>(a)]][free[static_cast<std::size_t>(b)]];
  const Eigen::SelfAdjointEigenSolver<Matrix> solver(curvature);
  // A standard deviation of a logarithm above 1 is beyond what the priors allow.
  const Vector sds = solver.eigenvalues().cwiseMax(1.0).cwiseSqrt().cwiseInverse();
  Matrix axes = solver.eigenvectors() * sds.asDiagonal();
  for (Eigen::Index k = 0; k < n; ++k) {  // a sign of their own, so that results repeat
    Eigen::Index largest = 0;
    axes.col(k).cwiseAbs().maxCoeff(&largest);
    if (axes(largest, k) < 0) axes.col(k) *= -1;
  }
  return axes;
}

FittedVector moved(const FittedVector& from, const std::vector<std::size_t>& free,
                   const Vector& by) {
  FittedVector x = from;
  for (std::size_t a = 0; a < free.size(); ++a)
    x[free[a]] = std::clamp(x[free[a]] + by(static_cast<Eigen::Index>(a)), least_fitted(free[a]),
                            most_fitted(free[a]));
  return x;
}

/// The rows of a Hadamard matrix, +1 and -1, then their negatives; or its rows alone, the constant
/// column left out.
std::vector<std::vector<double>> corners_of(std::size_t axes, Corners which) {
  const bool all = which == Corners::all;
  const std::size_t first = all ? 0 : 1;
  const std::size_t size = axes + first <= 4 ? 4 : most_axes;
  std::vector<std::vector<double>> corners;
  for (std::size_t row = 0; row < (all ? 2 * size : size); ++row) {
    std::vector<double> corner;
    for (std::size_t column = first; column < axes + first; ++column)
      corner.push_back((row < size) == (std::popcount(row % size & column) % 2 == 0) ? 1 : -1);
    corners.push_back(std::move(corner));
  }
  return corners;
}

FittedVector shifted(FittedVector x, const FittedVector& by) {
  for (std::size_t i = 0; i < fitted_count; ++i)
    x[i] = std::clamp(x[i] + by[i], least_fitted(i), most_fitted(i));
  return x;
}

/// From the top of this model to the fit, which is that of another.
FittedVector shift_of(const ZoneModel& model, const ConditionFit& fit,
                      std::span<const double> hole_weights) {
  const FittedVector there = fitted_of(fit.parameters);
  Climb climb{there};
  climb_on(FittedPosterior(model, fit.parameters, hole_weights, PosteriorOf::parameters), climb,
           steps_to_mode);
  FittedVector shift{};
  for (std::size_t i = 0; i < fitted_count; ++i) shift[i] = there[i] - climb.x[i];
  return shift;
}

std::vector<double> values_at(const ZoneModel& model, const ConditionParameters& others,
                              std::span<const double> hole_weights,
                              const std::vector<FittedVector>& places, const Work& work) {
  std::vector<double> values(places.size());
  for_each_chunk(
      without_progress(work), places.size(), 4, [&](std::size_t begin, std::size_t end, int) {
        const auto own = std::make_unique<const ZoneModel>(model);
        const FittedPosterior posterior(*own, others, hole_weights, PosteriorOf::logarithms);
        for (std::size_t i = begin; i < end; ++i) values[i] = posterior.value_at(places[i]);
      });
  return values;
}

/// How far each axis reaches up and down to where the density has fallen by half.
std::vector<std::array<double, 2>> stretches(const std::vector<double>& values, double at_mode) {
  std::vector<std::array<double, 2>> out(values.size() / 2);
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double fallen = std::max(at_mode - values[i], 1e-3);
    out[i / 2][i % 2] = std::clamp(1 / std::sqrt(2 * fallen), least_stretch, most_stretch);
  }
  return out;
}

}  // namespace

ParameterDesign parameter_design(const ZoneModel& whole, const ConditionFit& fit,
                                 std::span<const double> hole_weights, const Work& work) {
  const bool large = whole.coarser() != nullptr;
  const ZoneModel& model = large ? *whole.coarser() : whole;
  ParameterDesign design{{fit.parameters}, {1}, 0};
  // By how much the coarser model is off.
  FittedVector shift{};
  if (large) shift = shift_of(model, fit, hole_weights);
  const FittedPosterior posterior(model, fit.parameters, hole_weights, PosteriorOf::logarithms);
  Climb climb{fitted_of(fit.parameters)};
  climb_on(posterior, climb, steps_to_mode);
  const auto mode = posterior.slope_at(climb.x);
  design.evaluations = climb.evaluations;
  if (!mode) return design;
  const std::vector<std::size_t> free =
      free_parameters(model, *mode, large ? most_axes - 1 : most_axes);
  const Matrix axes = axes_of(*mode, free);
  const auto n = static_cast<std::size_t>(axes.cols());
  std::vector<FittedVector> places;
  for (std::size_t k = 0; k < n; ++k)
    for (const double sign : {1.0, -1.0})
      places.push_back(moved(climb.x, free, sign * axes.col(static_cast<Eigen::Index>(k))));
  const auto reach =
      stretches(values_at(model, fit.parameters, hole_weights, places, work), mode->value);
  design.evaluations += static_cast<int>(places.size());
  places.clear();
  for (const std::vector<double>& corner : corners_of(n, large ? Corners::half : Corners::all)) {
    Vector by = Vector::Zero(static_cast<Eigen::Index>(n));
    for (std::size_t k = 0; k < n; ++k)
      by += corner[k] * corner_at * reach[k][corner[k] > 0 ? 0 : 1] *
            axes.col(static_cast<Eigen::Index>(k));
    places.push_back(moved(climb.x, free, by));
  }
  const std::vector<double> values = values_at(model, fit.parameters, hole_weights, places, work);
  design.evaluations += static_cast<int>(places.size());
  design.points = {parameters_at(shifted(climb.x, shift), fit.parameters)};
  design.weights = {1 - 1 / (corner_at * corner_at)};
  const double fall = 0.5 * static_cast<double>(n) * corner_at * corner_at;
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (!(values[i] > impossible_posterior)) continue;
    const double ratio =
        std::clamp(values[i] - mode->value + fall, -most_log_ratio, most_log_ratio);
    design.points.push_back(parameters_at(shifted(places[i], shift), fit.parameters));
    design.weights.push_back((1 - design.weights[0]) / static_cast<double>(places.size()) *
                             std::exp(ratio));
  }
  const double sum = std::accumulate(design.weights.begin(), design.weights.end(), 0.0);
  for (double& weight : design.weights) weight /= sum;
  return design;
}

namespace {

void add_scaled(std::vector<double>& to, const std::vector<double>& what, double by) {
  to.resize(what.size(), 0);
  for (std::size_t i = 0; i < what.size(); ++i) to[i] += by * what[i];
}

}  // namespace

std::optional<ConditionEstimate> mixed_estimate(const ZoneModel& model,
                                                std::span<const ConditionParameters> points,
                                                std::span<const double> weights,
                                                std::span<const double> hole_weights,
                                                const Work& work) {
  std::vector<std::optional<ConditionEstimate>> found(points.size());
  for_each_chunk(without_progress(work), points.size(), 3,
                 [&](std::size_t begin, std::size_t end, int) {
                   const auto own = std::make_unique<const ZoneModel>(model);
                   for (std::size_t i = begin; i < end; ++i)
                     found[i] = own->estimate(points[i], hole_weights);
                 });
  std::vector<ConditionEstimate> estimates;
  estimates.reserve(found.size());
  for (std::optional<ConditionEstimate>& one : found) {
    if (!one) return {};
    estimates.push_back(*std::move(one));
  }
  if (estimates.empty()) return {};
  const ConditionEstimate& first = estimates.front();
  ConditionEstimate mixed;
  std::vector<double> squares;
  for (std::size_t k = 0; k < points.size(); ++k) {
    const ConditionEstimate& one = estimates[k];
    const double share = weights[k];
    add_scaled(mixed.r, one.r, share);
    add_scaled(mixed.r_variance, one.r_variance, share);
    std::vector<double> off(one.r.size());  // from the first, so that squares stay small
    for (std::size_t i = 0; i < off.size(); ++i)
      off[i] = (one.r[i] - first.r[i]) * (one.r[i] - first.r[i]);
    add_scaled(squares, off, share);
    add_scaled(mixed.along, one.along, share);
    add_scaled(mixed.own, one.own, share);
    add_scaled(mixed.group, one.group, share);
    add_scaled(mixed.local, one.local, share);
    add_scaled(mixed.soil, one.soil, share);
    add_scaled(mixed.edge, one.edge, share);
    add_scaled(mixed.ground, one.ground, share);
    mixed.level += share * one.level;
    mixed.crop_level += share * one.crop_level;
  }
  for (std::size_t i = 0; i < mixed.r.size(); ++i) {
    const double shift = mixed.r[i] - first.r[i];
    mixed.r_variance[i] += std::max(0.0, squares[i] - shift * shift);
  }
  mixed.log_likelihood = first.log_likelihood;
  return mixed;
}

std::vector<std::vector<double>> mixed_draws(const ZoneModel& model,
                                             std::span<const ConditionParameters> points,
                                             std::span<const double> weights, int count,
                                             std::uint64_t seed) {
  std::vector<std::vector<double>> draws;
  draws.reserve(static_cast<std::size_t>(count));
  double reached = 0;
  int before = 0;
  for (std::size_t k = 0; k < points.size(); ++k) {
    reached += weights[k];
    const int until =
        k + 1 < points.size() ? static_cast<int>(std::lround(reached * count)) : count;
    for (std::vector<double>& draw : model.draws(points[k], until - before, item_seed(seed, {k})))
      draws.push_back(std::move(draw));
    before = until;
  }
  return draws;
}

}  // namespace evendrip
