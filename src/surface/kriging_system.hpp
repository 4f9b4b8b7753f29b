// SPDX-License-Identifier: Apache-2.0
// The equations of kriging, one piece for every model: ordinary, simple and universal kriging, all
// observations with one factor, or a few neighbours with a factor of their own.
//
// With C = L L' the covariance of the observations y, X their trend columns, c and x0 those of the
// target: U = L^-1 X, z = L^-1 y, U'U = R R', g = R^-1 U'z. One triangle does it all:
//
//   [ L        ] [ v ]   [ c  ]     v = L^-1 c
//   [ U'  R    ] [ w ] = [ x0 ]     w = R^-1 (x0 - U'v)
//   [ z'  g' 1 ] [-r ]   [ 0  ]     r = z'v + g'w, the prediction
//
// and the variance is C(0) - v'v + w'w (Cressie 1993, section 3.4, in factored form).
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "evendrip/geo/raster.hpp"
#include "evendrip/kernels/dense.hpp"
#include "evendrip/kernels/panels.hpp"
#include "evendrip/surface/covariance.hpp"
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

/// Observations and model as the equations need them; shared by all threads, never changed.
class Problem {
 public:
  virtual ~Problem() = default;

  Point origin;               ///< subtracted from targets for the search of neighbours
  std::vector<Point> places;  ///< of the observations, less the origin
  std::vector<double> values;
  double offset = 0;          ///< added to every prediction
  std::vector<double> trend;  ///< places.size() x terms, column by column
  int terms = 0;
  double smallest_pivot = 0;
  std::vector<double> kept;  ///< what is predicted at the very place of an observation, or empty

  int count() const { return static_cast<int>(places.size()); }
  /// Lower triangle of the covariances between observations, noise included. The stride of `out`
  /// is a multiple of 8, and columns may be written down to the stride.
  virtual void fill_pairs(std::span<const int> observations, MatrixView out) const = 0;
  /// Covariance of sites (rows) with observations (columns); the same about the stride.
  virtual void fill_targets(std::span<const Site> targets, std::span<const int> observations,
                            MatrixView out) const = 0;
  /// Trend of sites (rows).
  virtual void fill_trend(std::span<const Site> targets, MatrixView out) const = 0;
  /// Variance at a site, before anything was observed.
  virtual double variance(const Site& target) const = 0;
  /// The observation within same_place_m2 of a place, -1 if none; asked if some are kept.
  virtual int at_place(Point local) const = 0;
};

/// Places, or parts of the field, to be predicted at once.
class Targets {
 public:
  virtual ~Targets() = default;
  std::vector<Point> local;  ///< where each stands, less the problem's origin
  int count() const { return static_cast<int>(local.size()); }
  /// Covariance of targets (rows) with observations (columns); about the stride as in Problem.
  virtual void fill(std::span<const int> observations, MatrixView out) const = 0;
  virtual void fill_trend(MatrixView out) const = 0;
  /// Before anything was observed.
  virtual double variance(std::size_t target) const = 0;
  /// Whether a target at the very place of an observation is what was observed.
  virtual bool single_places() const { return false; }
};

/// Targets that are single sites.
class SiteTargets final : public Targets {
 public:
  SiteTargets(const Problem& problem, std::span<const Site> sites);
  void fill(std::span<const int> observations, MatrixView out) const override;
  void fill_trend(MatrixView out) const override;
  double variance(std::size_t target) const override;
  bool single_places() const override { return true; }

 private:
  const Problem& problem_;
  std::span<const Site> sites_;
};

/// The triangle above for one set of observations.
class Equations {
 public:
  /// Makes room and gives the view for the covariances (lower triangle) of n observations.
  MatrixView room(int n, int terms);
  /// Factors. `trend`: n x terms. False when the covariances are not positive definite.
  bool factor(std::span<const double> trend, std::span<const double> values, double smallest_pivot);
  int observations() const { return n_; }
  int rows() const { return n_ + terms_ + 1; }
  /// True if a trend column is a sum of those before it, here.
  bool dependent() const { return dependent_; }
  /// Solves panels that hold covariances, trend and 0 of targets in their rows, and says what each
  /// lane comes to: `variances` and `out` have panel_lanes numbers for each panel.
  void predict(kernels::PanelVector& panels, double offset, std::span<const double> variances,
               std::span<Outcome> out) const;
  /// One lane of a solved panel: r without the offset, and v'v - w'w.
  struct Solved {
    double value = 0;
    double explained = 0;
  };
  std::vector<Solved> solve(kernels::PanelVector& panels) const;
  /// Weights of the observations, and multipliers, from one solved lane.
  struct Weights {
    std::vector<double> observations;
    std::vector<double> multipliers;  ///< of the trend columns
  };
  Weights weights(const double* panel, int lane) const;

 private:
  void add_trend_rows(std::span<const double> trend);
  bool reaches(const double* panel, std::size_t lane) const;
  double& at(int row, int column) { return matrix_[size(column) * size(stride_) + size(row)]; }
  double at(int row, int column) const { return matrix_[size(column) * size(stride_) + size(row)]; }

  int n_ = 0;
  int terms_ = 0;
  int stride_ = 0;
  bool dependent_ = false;
  std::vector<double> matrix_;     ///< the triangle, column by column
  std::vector<double> right_;      ///< U and z
  std::vector<double> tolerance_;  ///< how far w may be off 0 where a trend column is dependent;
                                   ///< below 0 for the others
  kernels::PanelVector packed_;
};

/// What one thread needs to solve for targets.
struct Workspace {
  std::vector<double> covariances;  ///< targets x observations
  std::vector<double> trend;        ///< targets x terms
  int stride = 0;                   ///< of both
  std::vector<std::size_t> targets;
  kernels::PanelVector panels;
  std::vector<double> variances;
  std::vector<Outcome> outcomes;

  void fill(const Targets& all, const Problem& problem, std::span<const int> observations);
  /// Of the targets numbered, from equations of the columns `used` of the covariances.
  void predict(const Equations& equations, const Targets& all, double offset,
               std::span<const int> used, std::span<const std::size_t> numbers,
               std::span<Outcome> out);

 private:
  bool has_trend(std::size_t target) const;
  void lay_out(int rows, std::span<const int> used, std::span<const std::size_t> numbers);
};

/// All observations, one factor; safe from many threads.
class GlobalSystem {
 public:
  explicit GlobalSystem(const Problem& problem);
  bool solvable() const { return solvable_; }
  /// True if the trend columns are dependent.
  bool dependent() const { return equations_.dependent(); }
  static constexpr int block = 64;  ///< targets that are best solved at once

  void predict(const Targets& targets, Workspace& workspace, std::span<Outcome> out) const;
  /// Every observation from the others, by the inverse: error = (Q y)_i / Q_ii, variance = 1 / Q_ii
  /// with Q = C^-1 - C^-1 X (X' C^-1 X)^-1 X' C^-1. Dubrule 1983, Math. Geol. 15:687-699.
  std::vector<Outcome> leave_one_out() const;

 private:
  const Problem& problem_;
  bool solvable_ = false;
  Equations equations_;
  std::vector<int> all_;
};

/// Whose neighbours count: every target's own, or one set for the targets of a square.
enum class Sharing { own, common };

/// Neighbours, one thread's. Targets that have the same neighbours share a factor.
class LocalSystem {
 public:
  LocalSystem(const Problem& problem, const NeighbourSearch& search, Sharing sharing)
      : problem_(problem), search_(search), sharing_(sharing) {}

  /// Predictions of targets that all lie in the circle. From all but one observation if asked (-1:
  /// none left out).
  void predict(const Targets& targets, const Circle& circle, int left_out, std::span<Outcome> out);
  /// Weights of these observations (ascending) for one target; nothing if it cannot be solved.
  std::optional<Equations::Weights> weights(const Targets& target,
                                            std::span<const int> observations);

 private:
  struct Wanted {
    std::size_t hash = 0;
    std::size_t target = 0;
    std::size_t first = 0;  ///< of its neighbours in neighbours_
    std::size_t count = 0;
  };
  void choose(const Targets& targets, const Circle& circle, int left_out, std::span<Outcome> out);
  void want(std::size_t target, bool single_place, Outcome& out);
  std::span<const int> neighbours(const Wanted& wanted) const {
    return std::span(neighbours_).subspan(wanted.first, wanted.count);
  }
  void fill(const Targets& targets);
  bool factor(std::span<const int> positions);
  void solve(const Targets& targets, std::span<const Wanted> group, std::span<Outcome> out);

  const Problem& problem_;
  const NeighbourSearch& search_;
  Sharing sharing_;
  Candidates candidates_;
  Chosen chosen_;
  std::vector<Wanted> wanted_;
  std::vector<int> neighbours_;  ///< positions in the candidates, target by target
  std::vector<double> pairs_;    ///< between candidates, lower triangle
  int pair_stride_ = 0;
  std::vector<double> trend_, values_;  ///< of the neighbours of one factor
  Equations equations_;
  Workspace workspace_;
};

/// Where a block is looked at: offsets from its middle, with weights that sum to 1.
struct BlockPoints {
  std::vector<Point> offsets;
  std::vector<double> weights;
};
/// Gauss-Legendre points of a square, `per_side` x `per_side`. Abramowitz & Stegun 1964, 25.4.29.
BlockPoints gauss_points(double side_m, int per_side);

/// Ordinary kriging from a variogram. A model without a sill takes a constant beyond every distance
/// less its semivariance, which ordinary kriging cannot tell from a covariance.
class OrdinaryProblem final : public Problem {
 public:
  OrdinaryProblem(const Samples& given, const VariogramModel& model);
  PlacedSamples samples;

  void fill_pairs(std::span<const int> observations, MatrixView out) const override;
  void fill_targets(std::span<const Site> targets, std::span<const int> observations,
                    MatrixView out) const override;
  void fill_trend(std::span<const Site> targets, MatrixView out) const override;
  double variance(const Site& target) const override;
  int at_place(Point local) const override;

  /// Covariance of means over blocks about the sites (rows) with observations (columns); the stride
  /// as in Problem. Over an area the nugget averages out.
  void fill_means(const BlockPoints& block, std::span<const Site> middles,
                  std::span<const int> observations, MatrixView out) const;
  /// Variance of the mean of one block.
  double variance_of_mean(const BlockPoints& block) const;

 private:
  Point stretch(Point local) const;
  kernels::Covariance without_nugget() const;

  std::vector<Point> stretched_;  ///< places with anisotropy taken out
  bool isotropic_ = true;
  kernels::Covariance covariance_;
  double along_x_ = 0, along_y_ = 1;  ///< unit vector of the major axis
  double across_ = 1;                 ///< factor of distances across it
};

/// Means over equal blocks about sites.
class MeanTargets final : public Targets {
 public:
  MeanTargets(const OrdinaryProblem& problem, const BlockPoints& block, double variance,
              std::span<const Site> middles);
  void fill(std::span<const int> observations, MatrixView out) const override;
  void fill_trend(MatrixView out) const override;
  double variance(std::size_t) const override { return variance_; }

 private:
  const OrdinaryProblem& problem_;
  const BlockPoints& block_;
  double variance_;
  std::span<const Site> middles_;
};

}  // namespace evendrip::kriging
