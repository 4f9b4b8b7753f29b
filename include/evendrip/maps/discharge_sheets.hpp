// SPDX-License-Identifier: Apache-2.0
// The map sheets of a survey, composed from what the other rooms found: discharge, relative
// discharge, crop with isolines of discharge, and findings. Cells of discharge that are too
// uncertain for a verdict are hatched.
//
// Rasters are overviews of the analysis grid (geo/raster.hpp), at most some 1,500 cells a side.
// Sheets speak in the field's report units; rasters come in L/h. Values below and above the middle
// 98 % of a discharge map take the end colours of the ramp.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/findings/findings.hpp"
#include "evendrip/maps/sheet.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// What all sheets of one survey share.
struct SheetContext {
  std::string method;                ///< DischargeMap::method_text
  std::vector<std::string> further;  ///< more notes: doubts worth telling
  Paper paper = Paper::a4;
  /// What relative discharge is relative to, for each zone; empty: the median everywhere.
  std::vector<ReferenceKind> references = {};
};

/// Ramp of styles/discharge.sld stretched to the values, in L/h: what is stored beside a GeoTIFF
/// and what the sheet shows. Limits are the 1st and 99th percentile, rounded outwards to steps
/// that a person would choose.
Style discharge_style(const Raster& discharge_lph, const MapResources& resources);

Sheet discharge_sheet(const Field& field, const Survey& survey, const Raster& discharge_lph,
                      const Findings& findings, const SheetContext& context,
                      const MapResources& resources);
Sheet relative_discharge_sheet(const Field& field, const Survey& survey, const Raster& relative,
                               const Findings& findings, const SheetContext& context,
                               const MapResources& resources);
/// `crop_relative` as a backdrop; isolines of discharge at round levels over it.
Sheet crop_sheet(const Field& field, const Survey& survey, const Raster& crop_relative,
                 const std::string& crop_title, const Raster& discharge_lph,
                 const SheetContext& context, const MapResources& resources);
/// Low places hatched by kind over the buried lines; the crop, if given, lies below them. The notes
/// hold one line for each finding.
Sheet findings_sheet(const Field& field, const Survey& survey, const Findings& findings,
                     const Raster* crop_relative, const SheetContext& context,
                     const MapResources& resources);

/// The drawings of a sheet without emitters and labels, for the bare frame beside a world file.
std::vector<Drawing> without_labels(const std::vector<Drawing>& drawings);

/// What relative discharge is relative to, as a legend's title.
std::string relative_legend(const SheetContext& context);

/// Class of an emitter in styles/emitters.sld: its state, or "ambiguous".
std::string emitter_class(const MeasuredEmitter& emitter);
/// Class of a finding in styles/findings.sld.
std::string finding_class(FindingKind kind);

}  // namespace evendrip
