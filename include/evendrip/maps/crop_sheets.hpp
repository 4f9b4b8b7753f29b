// SPDX-License-Identifier: Apache-2.0
// Sheets and plots of what the crop says: the crop over its median, what of it may belong to water,
// the records of a yield log by the step that set them aside, the places to look at first, seasons
// together; travel time, variograms and the crop along the laterals as plots.
//
// Marks and hatches are told apart by shape and shade, so that they print in grey. Rasters are
// overviews as in maps/discharge_sheets.hpp.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/crop/association.hpp"
#include "evendrip/crop/cleaning.hpp"
#include "evendrip/crop/crop.hpp"
#include "evendrip/crop/harvest_log.hpp"
#include "evendrip/crop/lateral_profile.hpp"
#include "evendrip/crop/over_dates.hpp"
#include "evendrip/crop/patches.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/maps/plots.hpp"
#include "evendrip/maps/sheet.hpp"

namespace evendrip {

/// What the sheets of one layer share.
struct CropSheetContext {
  std::string layer;               ///< "Yield, 2025-yield"
  std::string date;                ///< of the layer
  std::string method;              ///< how it was made
  std::vector<std::string> notes;  ///< what a reader must know besides
  Paper paper = Paper::a4;
};

/// The crop over the median of the field in classes, each with its share of the area.
Sheet crop_index_sheet(const Field& field, const Raster& relative, const CropSheetContext& context,
                       const MapResources& resources);
/// What trend, elevation and soil do not explain.
Sheet water_part_sheet(const Field& field, const Raster& rest, const CropSheetContext& context,
                       const MapResources& resources);
/// Standard error of each cell's mean, in t/ha.
Sheet yield_error_sheet(const Field& field, const Raster& standard_error_t_ha,
                        const CropSheetContext& context, const MapResources& resources);
/// At most some 20,000 records of a kind are drawn; notes say how many there are.
Sheet cleaning_sheet(const Field& field, const HarvestLog& log, const CleanedLog& cleaned,
                     const CropSheetContext& context, const MapResources& resources);
/// Patches by what their shape follows, numbered from the one to look at first.
Sheet look_first_sheet(const Field& field, const Raster& relative, const CropScreening& screening,
                       const CropSheetContext& context, const MapResources& resources);
/// Mean over dates or seasons of the crop over its median. Here and below the raster is an overview
/// of what `joined` holds.
Sheet stability_level_sheet(const Field& field, const CropOverDates& joined, const Raster& level,
                            const CropSheetContext& context, const MapResources& resources);
/// Standard deviation over them of the same.
Sheet stability_variation_sheet(const Field& field, const CropOverDates& joined,
                                const Raster& variation, const CropSheetContext& context,
                                const MapResources& resources);
/// On how many of them each place is low.
Sheet low_dates_sheet(const Field& field, const CropOverDates& joined, const Raster& low_dates,
                      const CropSheetContext& context, const MapResources& resources);

/// Crop and relative discharge at dug emitters, and whether they go together beyond chance there.
struct CropAtEmitters {
  std::vector<Point> places;
  std::vector<double> discharge;  ///< relative
  std::vector<double> crop;       ///< relative
  std::vector<LocalAssociation> local;
  std::string verdict;
};
/// The emitters by how both go together, over the crop.
Sheet association_sheet(const Field& field, const Raster& relative, const CropAtEmitters& emitters,
                        const CropSheetContext& context, const MapResources& resources);
/// One against the other.
Plot association_plot(const CropAtEmitters& emitters, const std::string& layer);

/// How neighbouring opposite passes disagree over the travel time that is taken; a statement where
/// none could be told.
Plot travel_time_plot(const TravelTime& travel_time);
/// Unlikeness over distance, as logged and as cleaned.
Plot yield_variogram_plot(const CleanedLog& cleaned, UnitSystem units);
/// The crop against the station, with its limits.
Plot profile_plot(const Field& field, const LateralProfile& profile, const std::string& layer);

/// The level of each zone over the dates or seasons; of the four lowest zones where there are more.
Plot zones_over_dates_plot(const CropOverDates& joined, const std::string& title);

/// Class of a record in styles/yield_records.sld.
std::string record_class(SetAside step);
/// Class of an emitter in styles/local_association.sld.
std::string association_class(LocalAssociation association);
/// Class of a patch in styles/crop_patches.sld.
std::string patch_class(PatchShape shape);

/// styles/crop_index.sld in the unit of a layer's values: for the first band of crop_<id>.tif.
Style crop_value_style(double median, CropSense sense, const MapResources& resources);
/// Style of a raster of errors, stretched to its values.
Style yield_error_style(const Raster& standard_error_t_ha, const MapResources& resources);
Style stability_variation_style(const Raster& variation, const MapResources& resources);
/// Classes of a number of dates, from none to `dates`, no more than seven.
Style low_dates_style(const CropOverDates& joined, const MapResources& resources);

}  // namespace evendrip
