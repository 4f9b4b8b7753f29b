// SPDX-License-Identifier: Apache-2.0
// The GeoTIFFs of the condition of the emitters, written block by block.
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/geo/index.hpp"
#include "evendrip/report/condition_places.hpp"
#include "evendrip/report/story.hpp"
#include "evendrip/surface/site_map.hpp"

namespace evendrip {

/// The condition over a window of the grid of the surface: each cell that of the segment of the
/// lateral that feeds it. Reason::too_few where its zone was not judged. Reason::too_uncertain in
/// all but the standard errors where the 90 % limits of delivery (or of performance, for its own)
/// reach from clogged to not low, or the verdict hangs on the slope of the crop.
struct ConditionPart {
  Raster delivery, delivery_sd, delivery_lower, delivery_upper, p_low;
  Raster performance, performance_sd, performance_lower, performance_upper, p_clogged;
  Raster station, lateral, local, network;  ///< parts (report/condition_places.hpp, WaterParts)
  Raster soil;  ///< that of the nearest crop datum, over the crop's median; no_source without crop
  Raster crop;  ///< relative crop that water's shape explains; Reason::not_computed by holes
};

/// Soil and stand as the crop shows them, from the nearest datum of the zone's estimate.
class SoilCells {
 public:
  explicit SoilCells(const Story& story);
  /// Nothing where no datum lies within one and a half times their mean distance.
  std::optional<double> at(Point place, int zone) const;
  bool any() const;

 private:
  struct ZoneSoil {
    PointIndex places;
    const std::vector<double>* soil = nullptr;
    double reach_m = 0;
  };
  std::vector<std::optional<ZoneSoil>> zones_;
};

/// Finds the condition of cells; refers to the story, which must outlive it.
class ConditionCells {
 public:
  explicit ConditionCells(const Story& story);
  ConditionPart over(const Window& window) const;

 private:
  const Story* story_;
  SiteMap sites_;
  ConditionPlaces places_;
  SoilCells soil_;
};

/// delivery.tif, delivery_error.tif, delivery_limits.tif (bands lower_90, upper_90), the same of
/// performance, probability_delivery_low.tif, probability_performance_clogged.tif, and the parts
/// condition_station.tif, condition_lateral.tif, condition_local.tif, condition_network.tif; where
/// the crop is in an estimate condition_soil.tif, where a zone was told without holes
/// water_shaped_crop.tif. Nothing where nothing was judged.
/// Throws FileError, Interrupted.
void write_condition_rasters(const Story& story, const std::filesystem::path& folder,
                             const Work& work);

/// Whether a zone was told without holes.
bool any_told_without_holes(const Story& story);

}  // namespace evendrip
