// SPDX-License-Identifier: Apache-2.0
#include "joint_samples.hpp"

#include <Eigen/Cholesky>
#include <Eigen/QR>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace evendrip {
namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

/// Of what the samples say by themselves, the share that must be left when the trend is estimated
/// from the others: below it the trend rests on this group alone.
constexpr double least_share = 1e-8;

MatrixView view_of(MatrixXd& matrix) {
  return {matrix.data(), static_cast<int>(matrix.rows()), static_cast<int>(matrix.cols()),
          static_cast<int>(matrix.rows())};
}

}  // namespace

struct JointSamples::State {
  SurfaceModel model;
  std::vector<Site> sites;
  VectorXd y;
  MatrixXd x;
  MatrixXd inverse;   ///< V^-1
  MatrixXd q;         ///< empty when not solvable
  MatrixXd to_trend;  ///< (X' V^-1 X)^-1 X' V^-1: coefficients from values
  VectorXd qy;

  bool read(const Samples& samples);
  void solve(const Samples& samples);
};

/// False where a trend term has no value.
bool JointSamples::State::read(const Samples& samples) {
  const auto n = static_cast<Index>(samples.size());
  y.resize(n);
  for (Index i = 0; i < n; ++i) {
    const Sample& sample = samples[static_cast<std::size_t>(i)];
    sites.push_back(sample.site);
    y[i] = sample.value - (model.trend.empty() ? model.known_mean : 0);
  }
  x.resize(n, static_cast<Index>(model.trend.size()));
  fill(model.trend, sites, view_of(x));
  return x.allFinite() && y.allFinite();
}

void JointSamples::State::solve(const Samples& samples) {
  const auto n = static_cast<Index>(samples.size());
  MatrixXd v(n, n);
  fill(model.covariance, sites, sites, view_of(v));
  for (Index i = 0; i < n; ++i)
    v(i, i) += model.nugget + samples[static_cast<std::size_t>(i)].noise_variance;
  const Eigen::LLT<MatrixXd> factor(v);
  if (factor.info() != Eigen::Success) return;
  const MatrixXd half = factor.matrixL().solve(MatrixXd::Identity(n, n));
  inverse = half.transpose() * half;
  if (!inverse.allFinite()) return;
  if (x.cols() == 0) {
    q = inverse;
    to_trend.resize(0, n);
  } else {
    if (x.cols() >= n) return;
    const MatrixXd whitened = half * x;
    const Eigen::ColPivHouseholderQR<MatrixXd> qr(whitened);
    if (qr.rank() < x.cols()) return;
    to_trend = qr.solve(half);
    q = inverse - inverse * x * to_trend;
    q = (q + q.transpose().eval()) / 2;
  }
  qy = q * y;
}

JointSamples::JointSamples(const Samples& samples, const SurfaceModel& model)
    : state_(std::make_unique<State>()) {
  state_->model = model;
  if (!samples.empty() && state_->read(samples)) state_->solve(samples);
}
JointSamples::~JointSamples() = default;

bool JointSamples::solvable() const {
  return state_->q.size() > 0;
}

SeenFromOthers JointSamples::from_others(std::span<const int> group) const {
  const State& s = *state_;
  const auto m = static_cast<Index>(group.size());
  if (!solvable() || m == 0 || m >= s.y.size()) return {};
  MatrixXd scaled(m, m);
  VectorXd scale(m);
  VectorXd right(m);
  for (Index i = 0; i < m; ++i) {
    scale[i] = 1 / std::sqrt(s.inverse(group[static_cast<std::size_t>(i)],
                                       group[static_cast<std::size_t>(i)]));
    right[i] = scale[i] * s.qy[group[static_cast<std::size_t>(i)]];
  }
  for (Index j = 0; j < m; ++j) {
    for (Index i = 0; i < m; ++i)
      scaled(i, j) = scale[i] * scale[j] *
                     s.q(group[static_cast<std::size_t>(i)], group[static_cast<std::size_t>(j)]);
  }
  const Eigen::LLT<MatrixXd> factor(scaled);
  if (factor.info() != Eigen::Success) return {};
  const VectorXd pivots = factor.matrixLLT().diagonal();
  if (!(pivots.minCoeff() > std::sqrt(least_share))) return {};
  const VectorXd errors = factor.solve(right);
  const MatrixXd covariance = factor.solve(MatrixXd::Identity(m, m));
  SeenFromOthers seen;
  for (Index i = 0; i < m; ++i) {
    seen.errors.push_back(scale[i] * errors[i]);
    seen.variances.push_back(scale[i] * scale[i] * covariance(i, i));
  }
  const double log_scale = (scale.array().log()).sum();
  seen.log_density =
      -0.5 * (static_cast<double>(m) * std::log(2 * std::numbers::pi) + errors.dot(right)) +
      pivots.array().log().sum() - log_scale;
  return seen;
}

std::vector<double> JointSamples::weights_of_mean(std::span<const Site> sites,
                                                  const Work& work) const {
  const State& s = *state_;
  if (!solvable() || sites.empty()) return {};
  const Index n = s.y.size();
  constexpr std::size_t chunk = 256;
  const std::size_t chunks = (sites.size() + chunk - 1) / chunk;
  std::vector<VectorXd> covariances(chunks);
  std::vector<VectorXd> trends(chunks);
  for_each_chunk(work, sites.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    const std::span<const Site> part = sites.subspan(begin, end - begin);
    MatrixXd c(n, static_cast<Index>(part.size()));
    fill(s.model.covariance, s.sites, part, view_of(c));
    MatrixXd x(static_cast<Index>(part.size()), s.x.cols());
    fill(s.model.trend, part, view_of(x));
    covariances[begin / chunk] = c.rowwise().sum();
    trends[begin / chunk] = x.colwise().sum().transpose();
  });
  VectorXd covariance = VectorXd::Zero(n);
  VectorXd trend = VectorXd::Zero(s.x.cols());
  for (std::size_t i = 0; i < chunks; ++i) {
    covariance += covariances[i];
    trend += trends[i];
  }
  if (!trend.allFinite()) return {};
  const VectorXd weights =
      (s.q * covariance + s.to_trend.transpose() * trend) / static_cast<double>(sites.size());
  return {weights.begin(), weights.end()};
}

}  // namespace evendrip
