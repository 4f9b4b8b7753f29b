// SPDX-License-Identifier: Apache-2.0
#include "surface_problem.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include <fmt/format.h>

namespace evendrip::kriging {
namespace {

double squares_of(std::span<const double> weights) {
  return std::inner_product(weights.begin(), weights.end(), weights.begin(), 0.0);
}

/// Middle of the sites by the size of their weights.
Point middle_of(std::span<const Site> sites, std::span<const double> weights) {
  Point sum;
  double total = 0;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    const double weight = std::abs(weights[i]);
    sum.x += weight * (sites[i].place.x - sites[0].place.x);
    sum.y += weight * (sites[i].place.y - sites[0].place.y);
    total += weight;
  }
  if (!(total > 0)) return sites[0].place;
  return {sites[0].place.x + sum.x / total, sites[0].place.y + sum.y / total};
}

void check(std::span<const Site> sites, std::span<const double> weights, const char* what) {
  if (sites.empty() || sites.size() != weights.size())
    throw std::invalid_argument(fmt::format("{} needs sites and as many weights", what));
}

}  // namespace

SurfaceProblem::SurfaceProblem(const SurfaceObservations& observations, const SurfaceModel& model,
                               Target target)
    : observations_(observations), model_(model) {
  terms = static_cast<int>(model.trend.size());
  if (observations.size() <= model.trend.size())
    throw std::invalid_argument(
        fmt::format("{} observations are too few for {} trend terms", observations.size(), terms));
  if (terms == 0) offset = model.known_mean;
  if (target == Target::emitter) emitter_variance_ = model.nugget;
  place_observations();
  set_trend();
  for (std::size_t k = 0; k < site_variances_.size(); ++k) {
    Site site = observations[0].sites[0];
    site.lateral = k % 2 == 0 ? -1 : 0;
    site.zone = k < 2 ? -1 : 0;
    site_variances_[k] = variance_at(model_.covariance, site);
  }
  double largest = 0;
  for (const SurfaceObservation& observation : observations_)
    largest = std::max(largest, variance(Block{observation.sites, observation.weights}) +
                                    model_.nugget * squares_of(observation.weights) +
                                    observation.noise_variance);
  smallest_pivot = 1e-14 * largest;
}

void SurfaceProblem::place_observations() {
  bool plain = true;
  Extent extent;
  for (const SurfaceObservation& observation : observations_) {
    check(observation.sites, observation.weights, "an observation");
    if (!std::isfinite(observation.value) || !(observation.noise_variance >= 0))
      throw std::invalid_argument("an observation needs a value and a noise variance of 0 or more");
    places.push_back(middle_of(observation.sites, observation.weights));
    extent.include(places.back());
    plain = plain && observation.sites.size() == 1 && observation.weights[0] == 1;
    if (plain) sites_.push_back(observation.sites[0]);
    const double total =
        std::accumulate(observation.weights.begin(), observation.weights.end(), 0.0);
    values.push_back(observation.value - offset * total);
  }
  if (!plain) sites_.clear();
  origin = {std::floor(extent.x_min), std::floor(extent.y_min)};
  for (Point& place : places) place = {place.x - origin.x, place.y - origin.y};
}

void SurfaceProblem::set_trend() {
  trend.resize(places.size() * model_.trend.size());
  evendrip::fill(model_.trend, observations_, {trend.data(), count(), terms, count()});
}

void SurfaceProblem::fill_pairs(std::span<const int> observations, MatrixView out) const {
  if (!sites_.empty()) {
    std::vector<Site> chosen;
    for (const int i : observations) chosen.push_back(sites_[size(i)]);
    evendrip::fill(model_.covariance, chosen, chosen, out);
  } else {
    SurfaceObservations chosen;
    for (const int i : observations) chosen.push_back(observations_[size(i)]);
    evendrip::fill(model_.covariance, chosen, chosen, out);
  }
  for (int k = 0; k < out.columns; ++k) {
    const SurfaceObservation& observation = observations_[size(observations[size(k)])];
    out(k, k) += model_.nugget * squares_of(observation.weights) + observation.noise_variance;
  }
}

void SurfaceProblem::fill_targets(std::span<const Site> targets, std::span<const int> observations,
                                  MatrixView out) const {
  if (!sites_.empty()) {
    std::vector<Site> chosen;
    for (const int i : observations) chosen.push_back(sites_[size(i)]);
    evendrip::fill(model_.covariance, targets, chosen, out);
    return;
  }
  std::vector<double> part;
  for (int j = 0; j < out.columns; ++j) {
    const SurfaceObservation& observation = observations_[size(observations[size(j)])];
    const int sites = static_cast<int>(observation.sites.size());
    part.resize(size(sites) * size(out.stride));
    const MatrixView view{part.data(), out.rows, sites, out.stride};
    evendrip::fill(model_.covariance, targets, observation.sites, view);
    for (int i = 0; i < out.rows; ++i) {
      double sum = 0;
      for (int k = 0; k < sites; ++k) sum += observation.weights[size(k)] * view(i, k);
      out(i, j) = sum;
    }
  }
}

void SurfaceProblem::fill_trend(std::span<const Site> targets, MatrixView out) const {
  evendrip::fill(model_.trend, targets, out);
}

double SurfaceProblem::variance(const Site& target) const {
  const std::size_t kind = (target.lateral >= 0 ? 1U : 0U) + (target.zone >= 0 ? 2U : 0U);
  return site_variances_[kind] + emitter_variance_;
}

double SurfaceProblem::variance(const Block& block) const {
  const int n = static_cast<int>(block.sites.size());
  std::vector<double> covariances(size(n) * size(n));
  const MatrixView view{covariances.data(), n, n, n};
  evendrip::fill(model_.covariance, block.sites, block.sites, view);
  double sum = 0;
  for (int j = 0; j < n; ++j) {
    double column = 0;
    for (int i = 0; i < n; ++i) column += block.weights[size(i)] * view(i, j);
    sum += block.weights[size(j)] * column;
  }
  return sum + emitter_variance_ * squares_of(block.weights);
}

BlockTargets::BlockTargets(const SurfaceProblem& problem, std::span<const Block> blocks)
    : problem_(problem), blocks_(blocks) {
  for (const Block& block : blocks) {
    check(block.sites, block.weights, "a block");
    const Point middle = middle_of(block.sites, block.weights);
    local.push_back({middle.x - problem.origin.x, middle.y - problem.origin.y});
  }
}

void BlockTargets::fill(std::span<const int> observations, MatrixView out) const {
  std::vector<double> part;
  for (int i = 0; i < out.rows; ++i) {
    const Block& block = blocks_[size(i)];
    const int sites = static_cast<int>(block.sites.size());
    const int stride = padded_for_covariances(sites);
    part.resize(size(stride) * size(out.columns));
    const MatrixView view{part.data(), sites, out.columns, stride};
    problem_.fill_targets(block.sites, observations, view);
    for (int j = 0; j < out.columns; ++j)
      out(i, j) = kernels::dot(block.weights.data(), &view(0, j), sites);
  }
}

void BlockTargets::fill_trend(MatrixView out) const {
  std::vector<double> part;
  for (int i = 0; i < out.rows; ++i) {
    const Block& block = blocks_[size(i)];
    const int sites = static_cast<int>(block.sites.size());
    part.resize(size(sites) * size(out.columns));
    const MatrixView view{part.data(), sites, out.columns, sites};
    problem_.fill_trend(block.sites, view);
    for (int j = 0; j < out.columns; ++j)
      out(i, j) = kernels::dot(block.weights.data(), &view(0, j), sites);
  }
}

double BlockTargets::variance(std::size_t target) const {
  return problem_.variance(blocks_[target]);
}

}  // namespace evendrip::kriging
