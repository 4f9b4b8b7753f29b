// SPDX-License-Identifier: Apache-2.0
// Crop layers of one kind on several dates as one: the level of each place over the dates, how
// steady it is, and on how many of the dates it is low.
//
// Dates of one season: each layer over its own median, so that growth of the whole field does not
// count. Over years every season counts once, by the mean of its dates; of yields, which are one
// harvest, by the first layer of the season. Level and variation as crop/yield_map.hpp has them
// (Blackmore 2000). The share of the variation that is the same on all dates is the intraclass
// correlation of a one-way layout, (B - W) / (B + (n - 1) W) with B and W the mean squares between
// and within places (Fisher 1925, from memory), not below 0.
//
// That a place is low on every date makes it steady, not dry: its soil and stand are the same too.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "evendrip/crop/crop.hpp"
#include "evendrip/crop/yield_map.hpp"

namespace evendrip {

/// One layer as it is joined with others.
struct DatedCrop {
  std::string layer;  ///< id
  std::string kind;
  std::string date;  ///< ISO 8601; empty: a season of its own
  std::shared_ptr<const RasterReader> relative;
  std::span<const CropStatistics> zones;     ///< as crop_by_zone
  std::span<const CropStatistics> laterals;  ///< as crop_by_lateral
};

/// A date, or a season as one, among those that are joined.
struct JoinedDate {
  std::string name;    ///< "2025-07-24", "2025", "2025-26"
  std::string layers;  ///< ids, joined by commas
};

/// A zone or a lateral over the dates.
struct PlaceOverDates {
  std::string name;
  int zone = -1;
  int lateral = -1;
  int dates = 0;             ///< on which it has a value
  int low = 0;               ///< on which its mean is below crop_low_below
  double level = 0;          ///< mean over the dates of its relative mean
  double variation = 0;      ///< standard deviation over them, n - 1; NaN for one date
  std::vector<double> each;  ///< relative mean on every date, NaN where it has none
};

struct CropOverDates {
  std::string id;  ///< "yield", "biomass_2025", "biomass"
  std::string kind;
  std::string season;             ///< empty: over seasons
  std::vector<JoinedDate> dates;  ///< ascending
  StabilityMap stability;
  Raster low_dates;  ///< on how many dates a cell is low; no value where stability has none
  /// Of the cells inside zones that have a value on every date: share low on exactly so many of
  /// them, from none to all. Empty if there is no such cell.
  std::vector<double> share_low_on;
  double steady_share = 0;      ///< of the variation, the same on all dates; 0 if not known
  double median_variation = 0;  ///< of the same cells
  std::vector<PlaceOverDates> zones;
  std::vector<PlaceOverDates> laterals;
};

/// Season of a date: its year, or from July to June ("2025-26") in the southern half of the world.
std::string season_of(const std::string& date, bool southern);

/// One for each season of a kind with two dates or more (not of yields), and one for each kind with
/// two seasons or more. Of layers of one kind and date the first counts. In the order of the kinds
/// in `layers`, seasons before all of them together. Rasters stand on one grid. Nothing for less.
std::vector<CropOverDates> over_dates(const Field& field, std::span<const DatedCrop> layers,
                                      bool southern);

/// "low on 4 of 5 dates", "low in 2 of 3 seasons"
std::string low_on(const CropOverDates& joined, const PlaceOverDates& place);

}  // namespace evendrip
