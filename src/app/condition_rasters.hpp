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
  Raster station, lateral, group, local, company,
      network;  ///< parts (report/condition_places.hpp, WaterParts)
  /// Of the nearest crop datum, over the crop's median; no_source without crop.
  Raster soil, edge, ground;
  Raster crop;  ///< relative crop that water's shape explains; Reason::not_computed by holes
};

/// What of the crop is no water, from the nearest datum of the zone's estimate: soil and stand, the
/// ends of the laterals, elevation and soil map.
class CropCells {
 public:
  explicit CropCells(const Story& story);
  struct Parts {
    double soil = 0;
    double edge = 0;
    double ground = 0;
  };
  /// Nothing where no datum lies within one and a half times their mean distance.
  std::optional<Parts> at(Point place, int zone) const;
  bool any() const;
  bool any_edge() const { return any_edge_; }
  bool any_ground() const { return any_ground_; }

 private:
  struct ZoneCrop {
    PointIndex places;
    const ConditionEstimate* estimate = nullptr;
    double reach_m = 0;
  };
  std::vector<std::optional<ZoneCrop>> zones_;
  bool any_edge_ = false;
  bool any_ground_ = false;
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
  CropCells crop_;
};

/// delivery.tif, delivery_error.tif, delivery_limits.tif (bands lower_90, upper_90), the same of
/// performance, probability_delivery_low.tif, probability_performance_clogged.tif, and the parts
/// condition_station.tif, condition_lateral.tif, condition_group.tif, condition_local.tif,
/// condition_network.tif; where emitters are plugged in company condition_company.tif; where the
/// crop is in an estimate condition_soil.tif and, where such parts are in it, condition_edge.tif
/// and condition_ground.tif; where a zone was told without holes water_shaped_crop.tif. Nothing
/// where nothing was judged. Throws FileError, Interrupted.
void write_condition_rasters(const Story& story, const std::filesystem::path& folder,
                             const Work& work);

/// Whether emitters of a zone are plugged in company.
bool any_company(const Story& story);

/// Whether a zone was told without holes.
bool any_told_without_holes(const Story& story);

}  // namespace evendrip
