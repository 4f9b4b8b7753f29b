// SPDX-License-Identifier: Apache-2.0
// Variograms: models, the moment estimate, and its weighted least-squares fit.
#pragma once

#include <array>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/surface/sample.hpp"

namespace evendrip {

/// A range is the parameter of the stated formula:
///   exponential 1 - exp(-h/a); gaussian 1 - exp(-(h/a)^2); spherical 1.5 h/a - 0.5 (h/a)^3 to h =
///   a; matern32 1 - (1 + h/a) exp(-h/a); matern52 1 - (1 + h/a + (h/a)^2/3) exp(-h/a); linear h
///   (slope = partial sill per metre, no sill); nugget alone.
enum class VariogramShape { nugget, exponential, spherical, gaussian, matern32, matern52, linear };
std::string to_text(VariogramShape shape);
/// The shapes that are tried where nobody names one; the Gaussian is left out because without a
/// nugget its equations are close to singular.
inline constexpr std::array usual_shapes{VariogramShape::exponential, VariogramShape::spherical,
                                         VariogramShape::matern32, VariogramShape::matern52};

/// gamma(0) = 0, gamma(h) = nugget + partial_sill * shape(h / range_m) for h > 0; optional
/// geometric anisotropy: distance across the major axis is multiplied by 1 / ratio.
struct VariogramModel {
  VariogramShape shape = VariogramShape::exponential;
  double nugget = 0;
  double partial_sill = 1;
  double range_m = 1;
  double azimuth_deg = 0;  ///< of the major axis, clockwise from north
  double ratio = 1;        ///< minor range / major range, above 0 and at most 1
};
double semivariance(const VariogramModel& model, double distance_m);

struct VariogramLag {
  std::size_t pairs = 0;
  double mean_distance_m = 0;
  double semivariance = 0;
};
struct MomentOptions {
  double cutoff_m = 0;  ///< 0: a third of the diagonal of the samples' extent
  int lags = 15;
  bool within_zone_only = true;  ///< pairs of different zones are left out (zone -1 pairs with all)
  /// 0: all pairs. Else, for very many samples, the pairs whose western end is one of this many,
  /// taken evenly from west to east: short distances stay as well served as long ones.
  int western_ends = 0;
};
/// Matheron's estimate, lags (i w, (i+1) w], w = cutoff/lags; empty lags are left out. Pairs only
/// within the cutoff, found through an index. Matheron 1963, Econ. Geol. 58:1246-1266.
std::vector<VariogramLag> moment_variogram(const Samples& samples,
                                           const MomentOptions& options = {});

/// Which pairs count for a direction. Two samples of one lateral lie along it, as far apart as
/// their stations. Others lie along (or across) the laterals when the line through them turns from
/// the bearing (or its perpendicular) by no more than `tolerance_deg` and they are no more than
/// `bandwidth_m` to the side of it; pairs of neither kind are left out. Isaaks & Srivastava 1989,
/// ch. 7.
struct DirectionOptions {
  MomentOptions moment;
  double azimuth_deg = 0;  ///< bearing of the laterals, from north
  double tolerance_deg = 22.5;
  double bandwidth_m = std::numeric_limits<double>::infinity();
};
struct DirectionalVariogram {
  std::vector<VariogramLag> along;
  std::vector<VariogramLag> across;
};
/// moment_variogram() along and across the laterals, both with the same lags. Throws
/// std::invalid_argument unless the tolerance is above 0 and at most 45 degrees.
DirectionalVariogram directional_variogram(const Samples& samples, const DirectionOptions& options);

struct VariogramFit {
  VariogramModel model;
  double weighted_sse = 0;  ///< sum N_h/h^2 (gamma_hat - gamma)^2
  bool converged = false;
};
/// Weights N_h/h^2 (the common choice of the reference implementation used in the tests); variances
/// kept at 0 or above, range above 0. Several starts; the best is returned.
VariogramFit fit_variogram(std::span<const VariogramLag> lags, VariogramShape shape);
/// Best of the shapes by weighted SSE; nothing if no spatial structure is found (partial sill not
/// above 0, or fewer than 3 lags with pairs): map the mean then and say so. Ranges longer than the
/// longest lag are not tried: such a range is not told from a trend.
std::optional<VariogramFit> fit_best_variogram(std::span<const VariogramLag> lags,
                                               std::span<const VariogramShape> shapes);

}  // namespace evendrip
