// SPDX-License-Identifier: Apache-2.0
// The two ways to solve the equations of ordinary kriging: a few neighbours with a factor of their
// own, or all samples with one factor and many right-hand sides. Matrices hold covariances; a model
// without a sill takes a constant beyond every distance less its semivariance, which ordinary
// kriging cannot tell from a covariance (weights sum to 1).
//
// With C = L L', u = L^-1 1, t = L^-1 z, v = L^-1 c: mean m = u't / u'u, value m + (t - m u)'v,
// variance C(0) - v'v + (1 - u'v)^2 / u'u.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "evendrip/geo/raster.hpp"
#include "evendrip/kernels/dense.hpp"
#include "evendrip/surface/neighbours.hpp"

namespace evendrip::kriging {

inline std::size_t size(int n) {
  return static_cast<std::size_t>(n);
}
inline double distance2(Point a, Point b) {
  return (a.x - b.x) * (a.x - b.x) + (a.y - b.y) * (a.y - b.y);
}
inline int padded_for_covariances(int count) {
  constexpr int lanes = kernels::covariance_lanes;
  return (count + lanes - 1) / lanes * lanes;
}

/// A prediction, or why there is none.
struct Outcome {
  Prediction prediction;
  Reason reason = Reason::failed;
};

/// Samples and model as the equations need them; shared by all threads, never changed.
struct Problem {
  Problem(const Samples& given, const VariogramModel& model);

  PlacedSamples samples;
  std::vector<Point> stretched;  ///< places with anisotropy taken out
  std::vector<double> residual;  ///< values less their mean
  double mean = 0;
  bool isotropic = true;
  kernels::Covariance covariance;
  double smallest_pivot = 0;

  Point stretch(Point local) const;
  int count() const { return samples.count(); }

 private:
  double along_x_ = 0, along_y_ = 1;  ///< unit vector of the major axis
  double across_ = 1;                 ///< factor of distances across it
};

/// Neighbours at a place, one thread's. Keeps the last factor: the next place often has the same
/// neighbours.
class LocalSystem {
 public:
  LocalSystem(const Problem& problem, const NeighbourSearch& search)
      : problem_(problem), search_(search) {}

  /// Makes ready for places within a circle; `spare` as in find_candidates.
  void move_to(const Circle& circle, int spare);
  /// Prediction at a place of that circle, from all but one sample if asked (-1: none left out).
  Outcome predict(Point local, int left_out);

 private:
  bool same_neighbours() const;
  void remember_neighbours();
  void fill_pairs();
  bool refactor();
  Outcome solve(Point local);

  const Problem& problem_;
  const NeighbourSearch& search_;
  Candidates candidates_;
  Chosen chosen_;
  std::vector<Point> stretched_;  ///< of the candidates
  bool pairs_ready_ = false;
  int pair_stride_ = 0;
  std::vector<double> pairs_;  ///< covariances between candidates, row by row up to the diagonal

  std::vector<int> neighbours_;  ///< samples of the factor
  bool factored_ = false;
  int size_ = 0;   ///< neighbours filled up to whole lanes
  double uu_ = 0;  ///< u'u
  double mean_ = 0;
  std::vector<double> factor_, u_, t_, v_;
};

/// All samples, one factor; safe from many threads.
class GlobalSystem {
 public:
  explicit GlobalSystem(const Problem& problem);
  bool solvable() const { return solvable_; }
  static constexpr int block = 64;  ///< right-hand sides at once

  /// Scratch of one thread.
  struct Workspace {
    std::vector<double> right;
    std::vector<int> at_sample;
  };
  /// At most `block` places at once.
  void predict(std::span<const Point> local, Workspace& workspace, std::span<Outcome> out) const;
  /// Every sample from the others, by the inverse: error = (Q z)_i / Q_ii, variance = 1 / Q_ii with
  /// Q = C^-1 - C^-1 1 1' C^-1 / u'u. Dubrule 1983, Math. Geol. 15:687-699.
  std::vector<Outcome> leave_one_out() const;

 private:
  const Problem& problem_;
  bool solvable_ = false;
  int stride_ = 0;
  double uu_ = 0;
  double mean_ = 0;
  std::vector<double> factor_;
  std::vector<double> dual_value_;  ///< C^-1 (z - mean)
  std::vector<double> dual_one_;    ///< C^-1 1
};

}  // namespace evendrip::kriging
