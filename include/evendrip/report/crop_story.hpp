// SPDX-License-Identifier: Apache-2.0
// What the crop said, in one value: what the report tells, the tables hold and the sheets draw. The
// crop alone never says that an emitter is clogged: it says where to look.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "evendrip/crop/association.hpp"
#include "evendrip/crop/crop.hpp"
#include "evendrip/crop/crop_reading.hpp"
#include "evendrip/crop/evidence.hpp"
#include "evendrip/crop/lateral_profile.hpp"
#include "evendrip/crop/machine_marks.hpp"
#include "evendrip/crop/over_dates.hpp"
#include "evendrip/crop/patches.hpp"
#include "evendrip/crop/water_part.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/io/results.hpp"

namespace evendrip {

/// Relative discharge of the dug emitters, as discharge_samples() gives it.
struct MeasuredDischarge {
  std::string survey;
  std::string date;
  std::vector<std::string> names;  ///< records on the emitters
  std::vector<Point> places;
  std::vector<double> relative;
  std::vector<Site> sites;  ///< of the emitters
};

/// The pairs of one layer: the crop at dug emitters where it has a value
/// (crop/emitter_crop.hpp).
struct LayerAssociation {
  std::vector<std::size_t> emitters;  ///< indices into MeasuredDischarge
  std::vector<double> crop;           ///< relative
  std::vector<double> rest;           ///< of the water part; NaN where it has none
  double along_m = 0;  ///< length of the strip of which each value is the mean, on the ground
  Association with_crop;
  std::optional<Association> with_rest;  ///< where the water part has a value at every pair
  double neighbours_within_m = 0;
};

struct HeardLayer {
  std::size_t source = 0;  ///< index into Field::crops
  CropLayer layer;
  std::optional<MappedHarvest> harvest;  ///< of a yield log
  std::optional<IndexLayer> index;       ///< of a raster; its reader is the layer's
  Headland headland;
  std::vector<MachineStripe> stripes;
  WaterPart water;
  std::vector<LateralProfile> profiles;
  std::vector<CropStatistics> zones;
  std::vector<CropStatistics> laterals;
  std::vector<CropSegment> segments;
  std::optional<CropEvidence> evidence;  ///< none of points that are no log
  CropScreening screening;
  std::optional<LayerAssociation> association;
};

struct HeardCrop {
  std::string version;
  std::string libraries;
  std::uint64_t seed = 0;
  Field field;
  Grid grid;
  std::vector<HeardLayer> layers;
  std::vector<CropOverDates> over_dates;  ///< layers of several dates or seasons as one
  std::optional<MeasuredDischarge> discharge;
  std::string why_no_discharge;  ///< where there is none
};

/// Everything doubtful, in the order of the job.
Doubts doubts_of(const HeardCrop& heard);

/// Of one layer and what was made of it.
Doubts doubts_of(const HeardLayer& layer);

/// "Yield, 2025-yield of 2025-09-30": a layer as headings name it.
std::string title_of(const HeardLayer& heard);

/// "Biomass over 3 dates of 2025"
std::string title_of(const CropOverDates& joined);

/// Plain text in the field's report units.
std::string crop_text(const HeardCrop& heard);

/// JSON object with "schema": "evendrip-crop/1", as schemas/crop-1.schema.json describes it.
/// Numbers in canonical units, which stand in the keys; what is unknown is null.
std::string crop_json(const HeardCrop& heard);

/// Layers yield_records, cleaning_steps, crop_zones, crop_laterals, crop_segments, lateral_profile,
/// patches, association, crop_dates, zones_over_dates, laterals_over_dates, evidence and doubts.
/// They refer to the value, which must outlive them.
std::vector<ResultLayer> crop_result_layers(const HeardCrop& heard);

/// What every result records: version, libraries, inputs with their hashes, seed.
std::vector<std::pair<std::string, std::string>> record_of(const HeardCrop& heard);

}  // namespace evendrip
