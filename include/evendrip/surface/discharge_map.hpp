// SPDX-License-Identifier: Apache-2.0
// From measured emitters to maps: relative discharge, discharge and their standard error, zone by
// zone (water does not cross from zone to zone).
//
// Relative discharge is discharge over a reference: what a clean system would give at that place
// (delivery) where the zone's hydraulics are known, else the median of the zone. Each zone says
// which.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/surface/estimators.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// What emitters should give, where that is known.
struct DischargeReference {
  std::vector<char> zones;           ///< one for each zone, 1 where it is known; empty: nowhere
  std::vector<double> emitters_lph;  ///< one for each of Survey::emitters; NaN where not known
};

enum class ReferenceKind { zone_median, clean_system };
/// "the median of the zone", "what a clean system would give at that place".
std::string to_text(ReferenceKind kind);

/// How one zone is mapped. Samples are emitters whose place is known, that were not damaged by
/// digging and whose reference is above 0; the median counts all usable emitters of the zone.
struct ZoneSurface {
  int zone = -1;
  int samples = 0;
  double median_lph = 0;
  ReferenceKind reference = ReferenceKind::zone_median;
  enum class Method { none, zone_mean, inverse_distance, kriging } method = Method::none;
  std::string why;  ///< plain words: "too few emitters (4) for a variogram", ...
};

/// The whole plan: made once, then evaluated window by window. A zone is kriged when it has ten or
/// more samples and the variogram, pooled over pairs within zones, shows spatial structure, and is
/// mapped by its mean where it shows none. With fewer samples nothing can be said of structure:
/// four to nine are mapped by inverse distance, fewer by their mean (thresholds: common practice,
/// no source). Fitted shapes: exponential, spherical, Matern 3/2 and 5/2; the Gaussian is left out
/// because without a nugget its equations are close to singular.
class DischargeMap {
 public:
  DischargeMap(const Field& field, const Survey& survey, const Grid& grid, const Work& work,
               const DischargeReference& reference = {});
  ~DischargeMap();
  DischargeMap(DischargeMap&&) noexcept;
  const Grid& grid() const;
  const std::vector<ZoneSurface>& zones() const;
  const std::vector<VariogramLag>& moment() const;
  const std::optional<VariogramFit>& fit() const;
  const std::optional<LeaveOneOut>& kriging_check() const;
  const std::optional<LeaveOneOut>& inverse_distance_check() const;
  const Samples& relative_samples() const;
  std::string method_text() const;  ///< one sentence for metadata and legends
  const Doubts& doubts() const;

  struct Part {
    Raster relative;       ///< r, 1 = the reference of the zone; below 0 is set to 0
    Raster discharge_lph;  ///< r times the reference there
    /// Of predicting r at a new emitter. Kriging: root of its variance. Inverse distance: root mean
    /// square error of leaving out one sample of the zone. Zone mean: sd sqrt(1 + 1/n), no value
    /// for n = 1.
    Raster standard_error;
  };
  /// `work.threads` threads within the window. `expected_lph`: what a clean system would give over
  /// the same window; a cell without it has no discharge, for the same reason. Throws
  /// std::invalid_argument if a zone of the window needs it and it is null or of another grid.
  Part over(const Window& window, const Work& work, const Raster* expected_lph = nullptr) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Grid of a field: cell as asked, or the narrowest lateral spacing (1 m if none is stated) made
/// coarser to the next whole metre until neither side passes 1,500 cells.
Grid analysis_grid(const Field& field);

/// Index of the zone that feeds each cell of a window by its centre, -1 outside; for masks.
std::vector<int> zones_of_cells(const Field& field, const Grid& grid, const Window& window);

}  // namespace evendrip
