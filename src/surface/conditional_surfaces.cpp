// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/random_field.hpp"

#include "evendrip/base/random.hpp"
#include "evendrip/kernels/dense.hpp"

#include <boost/random/normal_distribution.hpp>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr int waves = 256;
constexpr std::uint64_t field_stream = 1;
constexpr std::uint64_t noise_stream = 2;
constexpr std::size_t chunk = 4096;  ///< of sites that are answered at once

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// A matrix of its own, by columns.
struct Matrix {
  Matrix(std::size_t row_count, std::size_t column_count)
      : rows(static_cast<int>(row_count)),
        columns(static_cast<int>(column_count)),
        data(row_count * column_count) {}
  MatrixView view() { return {data.data(), rows, columns, std::max(1, rows)}; }
  const double* column(int j) const { return data.data() + at(j) * at(rows); }
  int rows;
  int columns;
  std::vector<double> data;
};

/// Columns of the trend for each observation.
Matrix trend_of(const SurfaceTrend& trend, const SurfaceObservations& observations) {
  Matrix x(observations.size(), trend.size());
  fill(trend, observations, x.view());
  return x;
}

/// Nugget and known noise of an observation.
double own_variance(const SurfaceModel& model, const SurfaceObservation& observation) {
  double squares = 0;
  for (const double weight : observation.weights) squares += weight * weight;
  return model.nugget * squares + observation.noise_variance;
}

void factor_or_refuse(Matrix& matrix, const char* what) {
  double largest = 0;
  for (int i = 0; i < matrix.rows; ++i) largest = std::max(largest, matrix.view()(i, i));
  if (!kernels::factor(matrix.data.data(), matrix.rows, matrix.rows, 1e-13 * largest))
    throw std::invalid_argument(what);
}

void solve(const Matrix& factor, double* b) {
  kernels::solve_lower(factor.data.data(), factor.rows, factor.rows, b, 1, factor.rows);
  kernels::solve_lower_transposed(factor.data.data(), factor.rows, factor.rows, b, 1, factor.rows);
}

/// Value below which a share of the sorted numbers lies, linear between them.
double quantile(const std::vector<double>& sorted, double share) {
  const double place = share * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return sorted[below] + (place - std::floor(place)) * (sorted[above] - sorted[below]);
}

}  // namespace

struct ConditionalSurfaces::State {
  State(const SurfaceObservations& given, const SurfaceModel& form, std::uint64_t stream_seed);
  SurfaceObservations observations;
  SurfaceModel model;
  std::uint64_t seed;
  std::vector<Site> sites;  ///< of all observations, one after the other
  Matrix trend;
  Matrix factor;            ///< lower, of the covariance of the observations
  Matrix whitened;          ///< factor^-1 trend
  Matrix precision_factor;  ///< lower, of whitened' whitened

  struct Answer {
    RandomField field;
    std::vector<double> weights;       ///< of the covariances with the observations
    std::vector<double> coefficients;  ///< of the trend
  };
  Answer answer(int draw) const;
  std::vector<double> differences(const RandomField& field, int draw) const;
};

ConditionalSurfaces::State::State(const SurfaceObservations& given, const SurfaceModel& form,
                                  std::uint64_t stream_seed)
    : observations(given),
      model(form),
      seed(stream_seed),
      trend(trend_of(form.trend, given)),
      factor(given.size(), given.size()),
      whitened(trend),
      precision_factor(form.trend.size(), form.trend.size()) {
  if (given.empty() || given.size() < form.trend.size())
    throw std::invalid_argument("fewer observations than trend terms");
  for (const SurfaceObservation& observation : given)
    sites.insert(sites.end(), observation.sites.begin(), observation.sites.end());
  fill(model.covariance, observations, observations, factor.view());
  for (std::size_t i = 0; i < given.size(); ++i)
    factor.data[i * (given.size() + 1)] += own_variance(model, given[i]);
  factor_or_refuse(factor, "the covariance of the observations is not positive definite");
  if (whitened.columns == 0) return;
  kernels::solve_lower(factor.data.data(), factor.rows, factor.rows, whitened.data.data(),
                       whitened.columns, whitened.rows);
  for (int i = 0; i < whitened.columns; ++i) {
    for (int j = 0; j < whitened.columns; ++j) {
      precision_factor.view()(i, j) =
          kernels::dot(whitened.column(i), whitened.column(j), whitened.rows);
    }
  }
  factor_or_refuse(precision_factor, "the columns of the trend are dependent");
}

/// What was observed less what the draw gives there with noise of its own.
std::vector<double> ConditionalSurfaces::State::differences(const RandomField& field,
                                                            int draw) const {
  const std::vector<double> drawn = field.at(sites);
  boost::random::normal_distribution<double> normal;
  auto stream = item_stream(seed, {noise_stream, static_cast<std::uint64_t>(draw)});
  std::vector<double> result;
  std::size_t next = 0;
  for (const SurfaceObservation& observation : observations) {
    double value = std::sqrt(own_variance(model, observation)) * normal(stream);
    double mean = 0;
    for (const double weight : observation.weights) {
      value += weight * drawn[next++];
      if (model.trend.empty()) mean += weight * model.known_mean;
    }
    result.push_back(observation.value - mean - value);
  }
  return result;
}

ConditionalSurfaces::State::Answer ConditionalSurfaces::State::answer(int draw) const {
  Answer result{
      RandomField(model.covariance, waves, item_seed(seed, {field_stream}), draw), {}, {}};
  const int n = factor.rows;
  std::vector<double> y = differences(result.field, draw);
  kernels::solve_lower(factor.data.data(), n, n, y.data(), 1, n);
  for (int j = 0; j < whitened.columns; ++j)
    result.coefficients.push_back(kernels::dot(whitened.column(j), y.data(), n));
  if (!result.coefficients.empty()) solve(precision_factor, result.coefficients.data());
  for (int j = 0; j < whitened.columns; ++j) {
    for (int i = 0; i < n; ++i) y[at(i)] -= result.coefficients[at(j)] * whitened.column(j)[i];
  }
  kernels::solve_lower_transposed(factor.data.data(), n, n, y.data(), 1, n);
  result.weights = std::move(y);
  return result;
}

ConditionalSurfaces::ConditionalSurfaces(const SurfaceObservations& observations,
                                         const SurfaceModel& model, std::uint64_t seed)
    : state_(std::make_unique<State>(observations, model, seed)) {}
ConditionalSurfaces::~ConditionalSurfaces() = default;
ConditionalSurfaces::ConditionalSurfaces(ConditionalSurfaces&&) noexcept = default;

std::vector<double> ConditionalSurfaces::draw(int draw, std::span<const Site> sites) const {
  return std::move(draws(draw, 1, sites).front());
}

std::vector<std::vector<double>> ConditionalSurfaces::draws(int first, int count,
                                                            std::span<const Site> sites) const {
  const State& state = *state_;
  Matrix cross(state.observations.size(), sites.size());
  fill(state.model.covariance, state.observations, sites, cross.view());
  Matrix trend(sites.size(), state.model.trend.size());
  fill(state.model.trend, sites, trend.view());
  std::vector<std::vector<double>> values;
  for (int draw = first; draw < first + count; ++draw) {
    const State::Answer answer = state.answer(draw);
    std::vector<double> surface = answer.field.at(sites);
    for (std::size_t i = 0; i < sites.size(); ++i) {
      double mean = state.model.trend.empty() ? state.model.known_mean : 0;
      for (int j = 0; j < trend.columns; ++j)
        mean += answer.coefficients[at(j)] * trend.column(j)[i];
      surface[i] +=
          mean + kernels::dot(cross.column(static_cast<int>(i)), answer.weights.data(), cross.rows);
    }
    values.push_back(std::move(surface));
  }
  return values;
}

namespace {

/// Weights below each threshold, draw by draw, over one chunk of sites; behind those of each draw
/// the weight of all sites with a value.
std::vector<double> sums_below(const std::vector<std::vector<double>>& values,
                               std::span<const double> weights,
                               std::span<const double> thresholds) {
  const std::size_t columns = thresholds.size() + 1;
  std::vector<double> sums(values.size() * columns);
  for (std::size_t d = 0; d < values.size(); ++d) {
    double* mine = sums.data() + d * columns;
    for (std::size_t i = 0; i < weights.size(); ++i) {
      if (std::isnan(values[d][i])) continue;
      mine[thresholds.size()] += weights[i];
      for (std::size_t t = 0; t < thresholds.size(); ++t)
        mine[t] += values[d][i] < thresholds[t] ? weights[i] : 0;
    }
  }
  return sums;
}

ShareBelow summary(double threshold, std::vector<double> shares) {
  ShareBelow answer;
  answer.threshold = threshold;
  answer.draws = static_cast<int>(shares.size());
  for (const double share : shares) answer.mean += share / static_cast<double>(shares.size());
  std::sort(shares.begin(), shares.end());
  answer.lower = quantile(shares, 0.05);
  answer.upper = quantile(shares, 0.95);
  return answer;
}

}  // namespace

std::vector<ShareBelow> share_below(const ConditionalSurfaces& surfaces,
                                    std::span<const Site> sites, std::span<const double> weights,
                                    std::span<const double> thresholds, int draws,
                                    const Work& work) {
  if (draws < 1 || weights.size() != sites.size())
    throw std::invalid_argument("shares need a draw or more and a weight for each site");
  const std::size_t chunks = (sites.size() + chunk - 1) / chunk;
  std::vector<std::vector<double>> parts(chunks);
  for_each_chunk(work, chunks, 1, [&](std::size_t number, std::size_t, int) {
    const std::size_t first = number * chunk;
    const std::size_t size = std::min(chunk, sites.size() - first);
    parts[number] = sums_below(surfaces.draws(0, draws, sites.subspan(first, size)),
                               weights.subspan(first, size), thresholds);
  });
  const std::size_t columns = thresholds.size() + 1;
  std::vector<double> sums(at(draws) * columns);
  for (const std::vector<double>& part : parts) {
    for (std::size_t i = 0; i < sums.size(); ++i) sums[i] += part[i];
  }
  std::vector<ShareBelow> answers;
  for (std::size_t t = 0; t < thresholds.size(); ++t) {
    std::vector<double> shares;
    for (std::size_t d = 0; d < at(draws); ++d) {
      const double whole = sums[d * columns + thresholds.size()];
      shares.push_back(whole > 0 ? sums[d * columns + t] / whole
                                 : std::numeric_limits<double>::quiet_NaN());
    }
    answers.push_back(summary(thresholds[t], std::move(shares)));
  }
  return answers;
}

}  // namespace evendrip
