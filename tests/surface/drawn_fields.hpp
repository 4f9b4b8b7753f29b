// SPDX-License-Identifier: Apache-2.0
// Values drawn from a surface model by the exact factor of their covariance.
#pragma once

#include "surface_sites.hpp"

#include <Eigen/Cholesky>
#include <Eigen/Core>

#include <cmath>
#include <cstddef>
#include <random>
#include <vector>

#include "evendrip/surface/sample.hpp"
#include "evendrip/surface/surface_model.hpp"

namespace evendrip {

/// Draws many fields at the same sites; `mean` is added by the caller where it wants one.
class FieldDraws {
 public:
  FieldDraws(std::vector<Site> sites, const CovarianceModel& model, double nugget, unsigned seed)
      : sites_(std::move(sites)), random_(seed) {
    Matrix matrix = covariances_of(model, sites_, sites_);
    const auto n = static_cast<Eigen::Index>(sites_.size());
    Eigen::MatrixXd v = Eigen::Map<Eigen::MatrixXd>(matrix.elements.data(), n, n);
    v.diagonal().array() += nugget;
    factor_ = v.llt().matrixL();
  }
  Samples next() {
    std::normal_distribution<double> normal;
    Eigen::VectorXd z(factor_.rows());
    for (double& value : z) value = normal(random_);
    const Eigen::VectorXd drawn = factor_ * z;
    Samples samples;
    for (std::size_t i = 0; i < sites_.size(); ++i)
      samples.push_back({sites_[i], drawn[static_cast<Eigen::Index>(i)], 0});
    return samples;
  }

 private:
  std::vector<Site> sites_;
  std::mt19937_64 random_;
  Eigen::MatrixXd factor_;
};

inline SurfaceTrend plane_trend() {
  return {constant_term(),
          function_term("east", [](const Site& site) { return site.place.x - 500000; }),
          function_term("north", [](const Site& site) { return site.place.y - 4100000; })};
}

}  // namespace evendrip
