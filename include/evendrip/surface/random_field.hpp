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
/// each factor (Shinozuka & Jan 1972, J. Sound Vib. 25:111-128; from memory); approximately normal,
/// `waves` for each term.
class RandomField {
 public:
  RandomField(const CovarianceModel& model, int waves, std::uint64_t seed, int draw);
  ~RandomField();
  RandomField(RandomField&&) noexcept;
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
  ConditionalSurfaces(const SurfaceObservations& observations, const SurfaceModel& model,
                      std::uint64_t seed);
  ~ConditionalSurfaces();
  ConditionalSurfaces(ConditionalSurfaces&&) noexcept;
  /// Draw number `draw` at sites; the same for the same seed, whatever the sites asked besides.
  std::vector<double> draw(int draw, std::span<const Site> sites) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// An answer about an area: over the draws, the share (weighted) of the sites below a threshold.
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
