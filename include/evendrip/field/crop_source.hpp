// SPDX-License-Identifier: Apache-2.0
// One [[crop]] of field.toml: a yield log or a raster that says how the crop stands, with what is
// needed to read it and the thresholds by which a log is cleaned.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/io/paths.hpp"

namespace evendrip {

/// Thresholds of crop/cleaning.hpp, the table `cleaning` of a [[crop]]; what is not stated there is
/// the default here or, where there is none, taken from the log as that header says. The defaults
/// are common practice, no source.
struct CleaningSettings {
  std::optional<double> travel_time_s;  ///< of grain from cutter to sensor; 0: records are right
  double longest_travel_time_s = 40;    ///< the longest that is tried
  double pass_start_s = 4;              ///< after a pass begins, while the machine fills
  double pass_end_s = 4;                ///< before it ends, while it empties
  double least_cut_share = 0.5;         ///< of the swath that earlier passes left to cut
  double slowest_m_s = 0.5;
  double fastest_m_s = 4;
  double speed_jump_share = 0.2;  ///< change from one record to the next over the former
  std::optional<double> least_yield_t_ha;
  std::optional<double> most_yield_t_ha;
  double robust_limit = 4;       ///< median absolute deviations, scaled to a standard deviation
  std::optional<double> edge_m;  ///< from the limit of what was harvested; none: half a swath
  double same_spot_share = 0.3;  ///< of the distance from record to record in a pass
  std::optional<double> neighbours_within_m;  ///< none: from the swath and the records' distance
  double false_discovery_rate = 0.05;
  double neighbour_limit = 4;  ///< robust deviations from the neighbours' median
};

/// Bands of which an index is made, counted from 1; 0: not stated.
struct IndexBands {
  int red = 0;
  int red_edge = 0;
  int near_infrared = 0;
};

/// Whose water a layer of the crop shows.
enum class CropWater {
  irrigation,         ///< of the drip system, also
  before_irrigation,  ///< of rain alone: it is of a season in which nothing was irrigated yet
  soaking_rain,       ///< of rain that left no plant short of it
};

struct CropSource {
  std::string id;
  std::string kind;  ///< yield, biomass, canopy_temperature
  FileRef file;      ///< of a task data set the folder or the zip
  std::string date;
  int band = 1;
  std::string crop;
  double moisture_basis_frac = 0;
  std::optional<double> swath_m;             ///< width of the header, for records that log none
  std::optional<double> bulk_density_kg_m3;  ///< of the grain, for yields that are logged by volume

  IndexBands bands;  ///< any stated: the layer is an index of them, and `band` is not used
  std::optional<double> full_scale;        ///< what stands for a reflectance (or an index) of 1
  std::optional<FileRef> mask;             ///< raster of what is not crop: cloud, shadow, bare soil
  std::vector<int> masked_values;          ///< of it; empty: every value but 0
  std::optional<double> bare_below;        ///< an index below it is bare soil
  std::optional<double> days_since_water;  ///< since the last rain or irrigation
  CropWater water = CropWater::irrigation;
  std::optional<double> blur_m;  ///< sd of the sensor's and the resampling's blur
  std::optional<double> position_accuracy_m;
  CleaningSettings cleaning;
};

}  // namespace evendrip
