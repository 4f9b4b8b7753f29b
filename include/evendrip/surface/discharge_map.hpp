// SPDX-License-Identifier: Apache-2.0
// From measured emitters to maps: relative discharge, discharge, their uncertainty and the
// probability of being low, zone by zone (water does not cross from zone to zone).
//
// The surface is a model that knows the lateral (surface_model.hpp), chosen among candidates by how
// well it predicts laterals that were left out (model_choice.hpp).
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/surface/discharge_samples.hpp"
#include "evendrip/surface/estimators.hpp"
#include "evendrip/surface/model_choice.hpp"
#include "evendrip/surface/prediction.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// How one zone is mapped.
struct ZoneSurface {
  int zone = -1;
  int samples = 0;
  double median_lph = 0;  ///< of all usable emitters of the zone
  ReferenceKind reference = ReferenceKind::zone_median;
  enum class Method { none, zone_mean, inverse_distance, model } method = Method::none;
  std::string why;  ///< plain words: "too few emitters (4) for a model", ...
};

/// The whole plan: made once, then evaluated window by window. With ten or more samples in all
/// (common practice, no source) every zone that has one is mapped by the model, whose parameters
/// the zones share; with fewer, by its mean. `kriging` in [analysis] takes ordinary kriging as the
/// only candidate, `inverse_distance` that instead of a model.
class DischargeMap {
 public:
  /// `seed`: of the starts of the fits.
  DischargeMap(const Field& field, const Survey& survey, const Grid& grid, const Work& work,
               const DischargeReference& reference = {}, std::uint64_t seed = 1);
  ~DischargeMap();
  DischargeMap(DischargeMap&&) noexcept;
  const Grid& grid() const;
  const std::vector<ZoneSurface>& zones() const;
  /// As measured; of each its index into Survey::emitters.
  const DischargeSamples& samples() const;
  /// The candidates with their scores, and the fit; none where nothing was fitted.
  const std::optional<ModelChoice>& choice() const;
  /// Moment variogram of the samples as measured, of pairs within zones.
  const std::vector<VariogramLag>& moment() const;
  /// Samples that differ wildly from all others and so weigh less.
  const std::vector<WildSample>& wild() const;
  /// This map and other estimators, leaving out emitters and leaving out laterals.
  const std::vector<EstimatorScore>& comparison() const;
  std::string method_text() const;  ///< one sentence for metadata and legends
  const Doubts& doubts() const;

  struct Part {
    Raster relative;        ///< r, 1 = the reference of the zone; below 0 is set to 0
    Raster standard_error;  ///< of r as neighbouring emitters share it; none for the mean of one
    Raster lower;           ///< 90 % limits of r by Student's t, 5 % on either side
    Raster upper;
    Raster below_clogged;  ///< probability that r is below Thresholds::clogged_below
    Raster below_low;      ///< ... and below Thresholds::low_below
    Raster discharge_lph;  ///< r times the reference there; unbiased, as that is a plain product
    Raster depth_mm_h;     ///< discharge over the ground of one emitter, spacing x lateral spacing
  };
  /// Cells whose limits reach from clogged to not low are Reason::too_uncertain, in all rasters
  /// but the standard error. `work.threads` threads within the window. `expected_lph`: what a clean
  /// system would give over the same window; a cell without it has no discharge, for the same
  /// reason. Throws std::invalid_argument if a zone of the window needs it and it is null or of
  /// another grid.
  Part over(const Window& window, const Work& work, const Raster* expected_lph = nullptr) const;

  /// Means of r over blocks; NaN in zones that are not mapped.
  std::vector<Prediction> means(std::span<const Block> blocks, const Work& work) const;
  /// Degrees of freedom behind the errors of a zone, for limits with Student's t: of the fit
  /// (fit_limits.hpp), n - 1 of a mean; infinity where errors are taken as known.
  double freedom(int zone) const;
  /// The fitted model and what it was fitted to, for draws; null where nothing was fitted.
  const SurfaceModel* model() const;
  const Samples& fitted_samples() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Whether 90 % limits of r reach from clogged to not low, so that no verdict is possible.
bool too_uncertain(const PredictionLimits& limits, const Thresholds& thresholds);

/// Grid of a field: cell as asked, or the narrowest lateral spacing (1 m if none is stated) made
/// coarser to the next whole metre until neither side passes 1,500 cells.
Grid analysis_grid(const Field& field);

/// Index of the zone that feeds each cell of a window by its centre, -1 outside; for masks.
std::vector<int> zones_of_cells(const Field& field, const Grid& grid, const Window& window);

}  // namespace evendrip
