// SPDX-License-Identifier: Apache-2.0
// Many equally likely surfaces: for questions about areas, which no map of means can answer.
#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/surface/surface_model.hpp"

namespace evendrip {

/// Draws from the Gaussian part of a model, unconditioned: a function of the site, so that windows
/// of one draw fit together. Sums of cosines with frequencies drawn from the spectral density of
/// each factor (Shinozuka & Jan 1972, J. Sound Vib. 25:111-128; from memory), `waves` for each
/// term. Sizes are normal too, so each draw is exactly normal, with a covariance that differs from
/// the model's by chance of the frequencies and is the model's over many draws. What is independent
/// from lateral to lateral, or zone to zone, has its own numbers there. Spectral densities: Matern
/// 1960; of the spherical model that of a ball's indicator (Chiles & Delfiner 2012, section 7.5;
/// from memory).
class RandomField {
 public:
  /// Throws std::invalid_argument for a shape that has no correlation, or a range or a variance not
  /// above 0.
  RandomField(const CovarianceModel& model, int waves, std::uint64_t seed, int draw);
  ~RandomField();
  RandomField(RandomField&&) noexcept;
  /// Safe from many threads.
  std::vector<double> at(std::span<const Site> sites) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Surfaces that agree with the observations: an unconditioned draw plus the kriged difference
/// between what was observed (with noise drawn) and the draw there (Journel 1974, Econ. Geol.
/// 69:673-687; from memory). The uncertainty of the trend is carried along.
class ConditionalSurfaces {
 public:
  /// Throws std::invalid_argument without observations, with fewer than trend terms, where a trend
  /// term has no value at one, or if their covariance is not positive definite.
  ConditionalSurfaces(const SurfaceObservations& observations, const SurfaceModel& model,
                      std::uint64_t seed);
  ~ConditionalSurfaces();
  ConditionalSurfaces(ConditionalSurfaces&&) noexcept;
  /// Draw number `draw` at sites; the same for the same seed, whatever the sites asked besides. Of
  /// the surface, without nugget; NaN where a trend term has no value. Safe from many threads.
  std::vector<double> draw(int draw, std::span<const Site> sites) const;
  /// Draws `first` to `first + count - 1`, one after the other.
  std::vector<std::vector<double>> draws(int first, int count, std::span<const Site> sites) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// An answer about an area: over the draws, the share (weighted) of the sites below a threshold.
/// Sites without a value do not count.
struct ShareBelow {
  double threshold = 0;
  double mean = 0;   ///< of the share, 0 to 1
  double lower = 0;  ///< 5 % point over the draws
  double upper = 0;  ///< 95 % point
  int draws = 0;
};
std::vector<ShareBelow> share_below(const ConditionalSurfaces& surfaces,
                                    std::span<const Site> sites, std::span<const double> weights,
                                    std::span<const double> thresholds, int draws,
                                    const Work& work);

}  // namespace evendrip
