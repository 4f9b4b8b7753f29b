// SPDX-License-Identifier: Apache-2.0
// A surface model with its observations, as the equations of kriging need them.
#pragma once

#include "kriging_system.hpp"

#include <array>
#include <span>
#include <vector>

#include "evendrip/surface/prediction.hpp"

namespace evendrip::kriging {

class SurfaceProblem final : public Problem {
 public:
  /// Throws std::invalid_argument if there are not more observations than trend terms, weights do
  /// not match sites, or a trend term has no value at an observation.
  SurfaceProblem(const SurfaceObservations& observations, const SurfaceModel& model, Target target);

  void fill_pairs(std::span<const int> observations, MatrixView out) const override;
  void fill_targets(std::span<const Site> targets, std::span<const int> observations,
                    MatrixView out) const override;
  void fill_trend(std::span<const Site> targets, MatrixView out) const override;
  double variance(const Site& target) const override;
  int at_place(Point) const override { return -1; }

  /// Variance of a weighted sum over sites, as of variance().
  double variance(const Block& block) const;

 private:
  void place_observations();
  void set_trend();

  SurfaceObservations observations_;
  std::vector<Site> sites_;  ///< of the observations where each is one site of weight 1
  SurfaceModel model_;
  double emitter_variance_ = 0;           ///< of one emitter besides the surface
  std::array<double, 4> site_variances_;  ///< without and with a lateral, without and with a zone
};

/// Means over blocks.
class BlockTargets final : public Targets {
 public:
  BlockTargets(const SurfaceProblem& problem, std::span<const Block> blocks);
  void fill(std::span<const int> observations, MatrixView out) const override;
  void fill_trend(MatrixView out) const override;
  double variance(std::size_t target) const override;

 private:
  const SurfaceProblem& problem_;
  std::span<const Block> blocks_;
};

}  // namespace evendrip::kriging
