// SPDX-License-Identifier: Apache-2.0
// A population in which a bootstrap sample is drawn: effects of laterals, of pits and of emitters.
//
// Random-effects residual bootstrap with the effects scaled back to their variance: Carpenter,
// Goldstein & Rasbash 2003, J. R. Stat. Soc. C 52:431-443 (from memory). Variances by the analysis
// of variance (Henderson's first method). Where the laterals (or pits) differ no more than their
// emitters make them differ, their effect is nothing and the emitters are drawn as they stand.
#pragma once

#include <cstdint>
#include <random>
#include <span>
#include <vector>

#include "shapes_of_runners.hpp"

namespace evendrip {

struct LevelledEmitter {
  double discharge = 0;
  double weight = 1;
  int lateral = 0;  ///< dense numbers
  int pit = 0;
};

class LateralResampling {
 public:
  explicit LateralResampling(std::span<const LevelledEmitter> emitters);
  int laterals() const { return static_cast<int>(lateral_effects_.size()); }
  /// As given, laterals and pits numbered anew without gaps.
  const std::vector<LevelledEmitter>& emitters() const { return emitters_; }
  double lateral_variance() const { return lateral_variance_; }
  double pit_variance() const { return pit_variance_; }
  double emitter_variance() const { return emitter_variance_; }

  /// The whole population that is drawn from, each lateral effect with each emitter effect.
  std::vector<Runners::Emitter> population() const;
  /// One sample with the laterals, pits and weights of the original.
  void draw(std::mt19937_64& stream, std::vector<Runners::Emitter>& sample);

 private:
  void find_variances();
  void find_effects();
  std::size_t any_emitter(std::mt19937_64& stream) const;

  std::vector<LevelledEmitter> emitters_;
  std::vector<double> lateral_effects_;
  std::vector<double> pit_effects_;
  std::vector<double> emitter_effects_;
  std::vector<double> cumulated_weight_;  ///< empty where all weights are alike
  std::vector<double> drawn_lateral_;
  std::vector<double> drawn_pit_;
  double mean_ = 0;
  double lateral_variance_ = 0;
  double pit_variance_ = 0;
  double emitter_variance_ = 0;
};

/// A whole number below `end`, evenly (multiply and shift; the unevenness is below 1e-15).
inline std::size_t draw_below(std::mt19937_64& stream, std::size_t end) {
  return static_cast<std::size_t>(((stream() >> 32U) * static_cast<std::uint64_t>(end)) >> 32U);
}

}  // namespace evendrip
