// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/gaussian_estimate.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

#include "evendrip/surface/prediction.hpp"
#include "evendrip/surface/surface_model.hpp"

namespace evendrip {
namespace {

const std::vector<double> across_m{0, 1.5, 3, 4.5};
const std::vector<double> stations_m{5, 15, 25, 35, 60};
constexpr double noise = 0.003;

Site site_of(int lateral, int station) {
  const double u = stations_m[static_cast<std::size_t>(station)];
  return {{across_m[static_cast<std::size_t>(lateral)], u}, lateral, u, 0};
}

/// The same few holes for the surface room and in precision form.
struct Case {
  SurfaceObservations dense;
  SparseObservations sparse;
  SurfaceModel model;
  std::vector<Precision> parts;
};

Case holes() {
  Case c;
  const CorrelationFactor across{Metric::across, VariogramShape::exponential, 6, 0, 1};
  const CorrelationFactor station{Metric::station, VariogramShape::exponential, 40, 0, 1};
  c.model.covariance.terms = {{"local", 0.02, {across, station}}, {"stations", 0.01, {station}}};
  c.parts = {with_variance(product_of(exponential_precision(across_m, 6),
                                      exponential_precision(stations_m, 40)),
                           0.02),
             with_variance(exponential_precision(stations_m, 40), 0.01)};
  std::vector<SparseEntry> entries;
  const int holes[][2] = {{0, 0}, {0, 4}, {1, 2}, {3, 1}, {3, 4}, {2, 2}};
  int row = 0;
  for (const auto& [lateral, at] : holes) {
    const double value = 0.1 * std::sin(3.0 * row);
    c.dense.push_back({{site_of(lateral, at)}, {1}, value, noise});
    entries.push_back({row, lateral * 5 + at, 1});
    entries.push_back({row, 20 + at, 1});
    c.sparse.values.push_back(value);
    c.sparse.noise_variances.push_back(noise);
    ++row;
  }
  // The mean of one whole lateral, as a datum of its own.
  SurfaceObservation mean{{}, {}, -0.05, noise / 5};
  for (int at = 0; at < 5; ++at) {
    mean.sites.push_back(site_of(1, at));
    mean.weights.push_back(0.2);
    entries.push_back({row, 5 + at, 0.2});
    entries.push_back({row, 20 + at, 0.2});
  }
  c.dense.push_back(mean);
  c.sparse.values.push_back(mean.value);
  c.sparse.noise_variances.push_back(mean.noise_variance);
  c.sparse.rows = sparse_matrix(row + 1, 25, entries);
  return c;
}

TEST(GaussianEstimate, HasTheLikelihoodOfTheSurfaceRoom) {
  const Case c = holes();
  const auto sparse = estimate(c.parts, c.sparse);
  const auto dense = restricted_likelihood(c.dense, c.model, false);
  ASSERT_TRUE(sparse && dense);
  EXPECT_NEAR(sparse->log_likelihood, dense->log_likelihood, 1e-8);
}

TEST(GaussianEstimate, PredictsAsTheSurfaceRoomDoes) {
  const Case c = holes();
  const auto sparse = estimate(c.parts, c.sparse);
  ASSERT_TRUE(sparse);
  const SurfacePredictor dense(c.dense, c.model, {DataUse::all});
  std::vector<SparseEntry> entries;
  std::vector<Site> sites;
  for (int lateral = 0; lateral < 4; ++lateral)
    for (int at = 0; at < 5; ++at) {
      const int row = static_cast<int>(sites.size());
      entries.push_back({row, lateral * 5 + at, 1});
      entries.push_back({row, 20 + at, 1});
      sites.push_back(site_of(lateral, at));
    }
  const SparseMatrix rows = sparse_matrix(20, 25, entries);
  const std::vector<double> mean = product(rows, sparse->mean);
  const std::vector<double> variance = variances_of(*sparse, rows);
  const std::vector<Prediction> wanted = dense.at(sites, {});
  for (std::size_t i = 0; i < sites.size(); ++i) {
    EXPECT_NEAR(mean[i], wanted[i].value, 1e-8);
    EXPECT_NEAR(variance[i], wanted[i].variance, 1e-8);
  }
}

TEST(GaussianEstimate, RefusesWhatDoesNotFit) {
  Case c = holes();
  c.sparse.noise_variances[2] = 0;
  EXPECT_THROW(estimate(c.parts, c.sparse), std::invalid_argument);
  c = holes();
  c.parts.pop_back();
  EXPECT_THROW(estimate(c.parts, c.sparse), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
