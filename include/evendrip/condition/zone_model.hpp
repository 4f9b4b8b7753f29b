// SPDX-License-Identifier: Apache-2.0
// One zone's emitters and soil, seen by holes and by the crop, in one Gaussian model.
//
//   r(lateral, station) = 1 + level + along(station) + own(lateral) + group(lateral) + local(both)
//                         + patch(both) + change that is known, such as that of faults in the
//                         network
//   hole                = r + emitter's own + measuring error
//   crop datum          = 1 + crop level + response x (mean over its footprint of r - 1 and of what
//                         time did to its laterals between the dates, or of what a response that
//                         bends makes of it)
//                         + edge(distance to either end of the laterals)
//                         + ground(elevation, unit of the soil map)
//                         + short soil + long soil + patch of soil + its own error
//
// Water follows laterals and stations, soil ignores them: what tells the two apart is shape. Parts
// and their precisions: latent_parts.hpp. Ranges follow the layout of the zone and are not fitted.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/segment_grid.hpp"
#include "evendrip/condition/sparse.hpp"

namespace evendrip {

struct HoleDatum {
  int row = 0;  ///< of the segment grid
  int station = 0;
  double value = 1;  ///< r as caught
  double noise_variance = 0;
  double station_m = std::numeric_limits<double>::quiet_NaN();  ///< NaN: not known to the metre
};

/// What a hole tells of the mean delivery of its place, as a normal measurement of it.
struct HoleSite {
  double value = 1;
  double extra_variance = 0;  ///< beside the emitters' and the hole's own noise
};

/// Near the ends of laterals turning, traffic and what lies beyond change the crop on all of them
/// alike: a nuisance by distance, up to this one; common practice, no source.
constexpr double edge_reach_m = 15;

struct CropDatum {
  std::vector<int> segments;
  std::vector<double> weights;  ///< sum to 1
  Point place;                  ///< where it sees the soil
  double value = 1;             ///< relative crop index
  /// False where it is too coarse to speak of single laterals: then only of the zone, its stations
  /// and groups of laterals, whole ones or from somewhere on.
  bool sees_laterals = true;
  /// Along the laterals to their inlet and far ends.
  std::array<double, 2> to_ends_m = {edge_reach_m, edge_reach_m};
  /// What its ground is over the zone's mean, one number for each term that the zone has
  /// (elevation, units of the soil map), of about 1 in size: the crop may answer to it as it does
  /// to no water.
  std::vector<double> ground = {};
  double station_m = std::numeric_limits<double>::quiet_NaN();  ///< NaN: not known to the metre
  double length_m = 1;                                          ///< what it sees along the laterals
};

/// Neighbouring laterals, from one station to another, that are alike and end sharply: what befell
/// them stops at a lateral and at a place along it, which no part that varies smoothly can follow.
struct SharpPatch {
  int first_row = 0;  ///< of the segment grid
  int end_row = 0;    ///< beyond the last
  double from_m = 0;
  double to_m = 0;
  bool of_soil = false;  ///< what befell it is not water: the crop shows it, holes do not

  bool holds(int row, double station_m) const {
    return row >= first_row && row < end_row && station_m >= from_m && station_m < to_m;
  }
  bool operator==(const SharpPatch&) const = default;
};
/// Of each segment: how much of it is in a patch, 0 to 1.
std::vector<double> share_of_segments(const SegmentGrid& grid, const SharpPatch& patch);
constexpr std::size_t most_patches = 4;
/// Standard deviation of what r has in a patch over its surroundings, and of what the crop has in a
/// patch of soil; common practice, no source.
constexpr double patch_sd = 0.4;
constexpr double soil_patch_sd = 0.2;

/// Standard deviation of the crop level about 1, the median of its layer.
constexpr double crop_level_sd = 0.3;

/// Where delivery meets the crop's need its response bends: beyond, it is `beyond` times as steep
/// as below, 0 for flat, below 0 for falling. The usual one is straight.
struct CropKink {
  double need = 1;  ///< delivery over clean at which the need is met
  double beyond = 1;

  bool bends() const { return beyond != 1; }
};

/// Standard deviations of the parts, relative to 1, and the slope of the crop.
struct ConditionParameters {
  double level = 0.07;  ///< of the whole zone: the rated tolerance; not fitted
  double along = 0.03;
  double own = 0.03;
  double group = 0.03;
  double local = 0.05;
  double emitter = 0.05;
  double soil_short = 0.05;
  double soil_long = 0.05;
  double crop_error = 0.05;
  double response = 0.8;  ///< share of crop lost for each share of water missed
  /// What laterals have on the whole over a typical one, whose deviations are above: the width of
  /// one that the data tell nothing of. Not fitted.
  double common_width = 1;

  bool operator==(const ConditionParameters&) const = default;
};

/// What is thought of the crop's response before the data speak: log-normal.
struct ResponsePrior {
  double median = 0.8;
  double log_sd = 0.5;
};

/// Ranges in metres, from the layout of a zone.
struct ConditionRanges {
  double along_m = 50;
  double group_m = 6;
  double local_along_m = 50;
  double local_across_m = 3;
  double soil_short_m = 25;
  double soil_long_m = 100;
  /// Of each lateral: by how much its r at the crop's date may differ from that of the holes,
  /// standard deviation; 0: of one time. Not fitted.
  double aged_sd = 0;
  ResponsePrior response = {};  ///< of the layer of the crop
};
/// A third of the laterals' length along them; four spacings for groups, two for what is local;
/// soil 25 m and 100 m, but no less than four pixels of the crop. Common practice, no source.
ConditionRanges ranges_of(const SegmentGrid& grid, double crop_pixel_m);

struct ConditionEstimate {
  std::vector<double> r;           ///< of each segment, the known change included
  std::vector<double> r_variance;  ///< as neighbouring emitters share it
  std::vector<double> along;       ///< of each station
  std::vector<double> own;         ///< of each lateral
  std::vector<double> group;       ///< of each lateral: its group's part
  std::vector<double> local;       ///< of each segment, sharp patches included
  std::vector<double> soil;        ///< of each crop datum: both soil parts
  std::vector<double> edge;        ///< of each crop datum
  std::vector<double> ground;      ///< of each crop datum
  double level = 0;
  double crop_level = 0;
  double log_likelihood = 0;
};

/// The parameters that are fitted.
constexpr std::array<double ConditionParameters::*, 9> fitted_parameters = {
    &ConditionParameters::along,     &ConditionParameters::own,
    &ConditionParameters::group,     &ConditionParameters::local,
    &ConditionParameters::emitter,   &ConditionParameters::soil_short,
    &ConditionParameters::soil_long, &ConditionParameters::crop_error,
    &ConditionParameters::response};
constexpr std::size_t fitted_count = fitted_parameters.size();

/// How the log-likelihood changes with the logarithms of the fitted parameters: exact, from the
/// selected inverse and the posterior mean. Its curvature by average information (Gilmour, Thompson
/// & Cullis 1995, Biometrics 51:1440-1450, from memory; that of the response without the
/// holes' pull on the water), positive semidefinite.
struct LikelihoodSlope {
  double log_likelihood = 0;
  std::array<double, fitted_count> slope{};
  std::array<std::array<double, fitted_count>, fitted_count> information{};
};

/// r at the holes' segments, the known change included, given all data.
struct HoleEstimate {
  std::vector<double> mean;
  std::vector<double> covariance;  ///< of each with each, by rows
};

/// What moved r of each segment from 1 and the known change, part by part.
struct EstimateSources {
  std::vector<double> holes;
  std::vector<double> crop;
};

/// How a weighted mean of r is known, and what the rest does when it turns out otherwise.
struct MeanPull {
  double mean = 0;
  double variance = 0;
  /// What moves, by how much, where the mean is 1 higher; no variances and no likelihood.
  ConditionEstimate moved;
};

/// Whether a change of delivery over the segments, known but for its amount, is in the data: the
/// generalised least-squares amount, its standard error, and what it adds to the log-likelihood at
/// these parameters (half of amount^2 / sd^2).
struct ResponseTest {
  double amount = 0;
  double sd = 0;  ///< 0: the data do not see the change
  double gain = 0;
};

/// The own part of a lateral and its local part beyond what its neighbours' foretell, 1 + stations
/// steps in all.
struct LateralSquares {
  double squares = 0;  ///< of their means, over what each is at width 1
  double degrees = 0;  ///< how many the data have told: 1 less what is left of a variance, summed
};

/// Keeps the factor of the parameters last used: one thread at a time.
class ZoneModel {
 public:
  /// Either kind of datum may be missing. Throws std::invalid_argument for segments outside the
  /// grid, weights that do not match, terms of the ground that not all data have, or a noise below
  /// 0.
  ZoneModel(SegmentGrid grid, std::vector<HoleDatum> holes, const std::vector<CropDatum>& crop,
            const ConditionRanges& ranges);
  ~ZoneModel();
  ZoneModel(const ZoneModel& other);  ///< for another thread
  ZoneModel(ZoneModel&&) noexcept;

  const SegmentGrid& grid() const;
  std::size_t holes() const;
  std::size_t crop_data() const;
  /// How many neighbouring laterals must change alike for the crop to speak of them: 1, or those
  /// that the usual datum mixes where data are too coarse for single ones.
  int laterals_seen() const;
  const ResponsePrior& response_prior() const;
  const std::vector<HoleDatum>& hole_data() const;  ///< as caught
  /// The same data on fewer stations and a coarser soil mesh, where the zone has over 3,000
  /// segments: for first steps. Null otherwise.
  const ZoneModel* coarser() const;
  /// `hole_weights`: of each hole, above 0 and at most 1, by which its precision is multiplied;
  /// empty: all 1. Nothing where the equations cannot be solved.
  std::optional<double> log_likelihood(const ConditionParameters& parameters,
                                       std::span<const double> hole_weights = {}) const;
  std::optional<LikelihoodSlope> slope_at(const ConditionParameters& parameters,
                                          std::span<const double> hole_weights = {}) const;
  std::optional<ConditionEstimate> estimate(const ConditionParameters& parameters,
                                            std::span<const double> hole_weights = {}) const;

  std::optional<HoleEstimate> estimate_at_holes(const ConditionParameters& parameters,
                                                std::span<const double> hole_weights = {}) const;

  /// 1, the known change and both parts add up to r of the estimate at these parameters.
  std::optional<EstimateSources> sources(const ConditionParameters& parameters,
                                         std::span<const double> hole_weights = {}) const;

  /// `weights`: of each segment, sum to 1. Conditioning of a normal vector on one sum of it:
  /// covariance with the sum over its variance. Throws std::invalid_argument unless there is one
  /// weight for each segment.
  std::optional<MeanPull> pull_of_mean(const ConditionParameters& parameters,
                                       std::span<const double> weights,
                                       std::span<const double> hole_weights = {}) const;

  /// Factors of the standard deviations that the own and the local part have on each lateral, of
  /// the model and of the coarser one; empty: all 1.
  /// Throws std::invalid_argument unless there is one for each lateral, above 0.
  void set_lateral_widths(std::vector<double> widths);
  const std::vector<double>& lateral_widths() const;
  /// Of each lateral how much of its own and its local part is there; nothing where the equations
  /// cannot be solved.
  std::optional<std::vector<LateralSquares>> lateral_squares(
      const ConditionParameters& parameters, std::span<const double> hole_weights = {}) const;

  /// What the holes tell, in place of their values as caught; empty: as caught. Throws
  /// std::invalid_argument unless there is one for each hole, its extra variance not below 0.
  void set_hole_sites(std::span<const HoleSite> sites);
  /// The holes as they enter the equations now.
  const std::vector<HoleDatum>& hole_sites() const;
  /// Patches that r or the soil has, here and in the coarser model. Throws std::invalid_argument
  /// for more than most_patches, empty ones, or some beyond the grid; and for any in a model
  /// without crop.
  void set_patches(std::vector<SharpPatch> patches);
  const std::vector<SharpPatch>& patches() const;
  /// How the log-likelihood at these parameters rises with the known change of each segment; empty
  /// where the equations cannot be solved.
  std::vector<double> segment_scores(const ConditionParameters& parameters) const;
  /// A change of delivery of each segment that is taken as known and added to r; empty: none.
  void set_known_change(std::vector<double> change);
  const std::vector<double>& known_change() const;
  /// Shares of emitters of each segment that are plugged beside what its r tells, and what such
  /// ones give over the need: the crop sees what all deliver together. Empty: none. Throws
  /// std::invalid_argument unless there is one for each segment, 0 to 1.
  void set_plugged(std::vector<double> shares, double passed);
  /// Sees the crop through a bent response, by the straight line that fits it best about the r that
  /// is thought of each segment: its mean slope and mean over normal emitters of that r, variance
  /// and own spread (statistical linearisation: Gelb 1974, "Applied Optimal Estimation", section
  /// 6.2, from memory). Throws std::invalid_argument unless there is one for each segment.
  void bend_crop(const CropKink& kink, const ConditionEstimate& about, double emitter_sd);
  /// Each response alone, on top of the known change; empty where the equations cannot be solved.
  /// `by_crop`: of each response, 0 where the crop is not asked; empty: it is asked of all.
  std::vector<ResponseTest> tested_responses(const ConditionParameters& parameters,
                                             std::span<const std::vector<double>> responses,
                                             std::span<const double> hole_weights = {},
                                             std::span<const std::uint8_t> by_crop = {}) const;
  /// Each patch alone, as a change of delivery in it.
  std::vector<ResponseTest> tested_patches(const ConditionParameters& parameters,
                                           std::span<const SharpPatch> patches) const;
  /// r of the segments, drawn `count` times as the data leave it open, the stream split by draw;
  /// empty where the equations cannot be solved.
  std::vector<std::vector<double>> draws(const ConditionParameters& parameters, int count,
                                         std::uint64_t seed,
                                         std::span<const double> hole_weights = {}) const;

 private:
  friend class SlopeOfZone;
  struct State;
  explicit ZoneModel(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

struct ConditionFit {
  ConditionParameters parameters;
  double log_posterior = 0;
  int evaluations = 0;
  /// What else the parameters may be, with weights that sum to 1 (parameter_design.hpp); empty: not
  /// asked for.
  std::vector<ConditionParameters> design;
  std::vector<double> design_weights;
};
/// Where the search begins and how far it goes: at the start alone, or also with more in the
/// water's parts and with more in the soil, a few steps each, and on from the best; or a few steps
/// from the start, for those who come back.
enum class FitSearch { several_starts, one_start, few_steps };

/// Parameters at the most of the marginal likelihood times weak priors: on each standard deviation
/// a scaled beta2 (Perez, Pericchi & Ramirez 2017, Bayesian Analysis 12:615-637, from memory); it
/// rises from 0 as s, so that parts that few data speak of do not vanish (Chung et al. 2013,
/// Psychometrika 78:685-709, from memory), and has a heavy tail, so that gross faults are not
/// shrunk. Parts of r: s / (b + s)^3, median b (1 + sqrt 2) = 0.015; soil, crop error and emitters:
/// s / (b + s)^4, median b = 0.06, 0.05, 0.05. Medians and tails: common practice, no source. The
/// response log-normal as the ranges say, between 0.02 and 6.4; deviations between 0.001 and 1. By
/// Newton's steps with average information, damped. Nothing where no parameters work. Same result
/// for any number of threads.
std::optional<ConditionFit> fit_condition(const ZoneModel& model, const ConditionParameters& start,
                                          std::span<const double> hole_weights = {},
                                          FitSearch search = FitSearch::several_starts,
                                          const Work& work = {});

}  // namespace evendrip
