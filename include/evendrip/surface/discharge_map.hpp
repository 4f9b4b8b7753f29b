// SPDX-License-Identifier: Apache-2.0
// From measured emitters to maps: relative discharge, discharge and their standard error, zone by
// zone (water does not cross from zone to zone).
//
// Until hydraulics says what every emitter should give, relative discharge is discharge over the
// median of the zone; every output says so.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/surface/estimators.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// How one zone is mapped.
struct ZoneSurface {
  int zone = -1;
  int samples = 0;
  double median_lph = 0;
  enum class Method { none, zone_mean, inverse_distance, kriging } method = Method::none;
  std::string why;  ///< plain words: "too few emitters (4) for a variogram", ...
};

/// The whole plan: made once, then evaluated window by window.
class DischargeMap {
 public:
  DischargeMap(const Field& field, const Survey& survey, const Grid& grid, const Work& work);
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
    Raster relative;  ///< r, 1 = median of the zone
    Raster discharge_lph;
    Raster standard_error;  ///< of r
  };
  /// `work.threads` threads within the window.
  Part over(const Window& window, const Work& work) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Grid of a field: cell as asked, or the lateral spacing, made coarser by whole metres until
/// neither side passes 1,500 cells.
Grid analysis_grid(const Field& field);

/// Index of the zone that feeds each cell of a window by its centre, -1 outside; for masks.
std::vector<int> zones_of_cells(const Field& field, const Grid& grid, const Window& window);

}  // namespace evendrip
