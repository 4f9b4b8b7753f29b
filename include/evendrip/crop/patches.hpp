// SPDX-License-Identifier: Apache-2.0
// Screening without digging: from the crop alone, where would a specialist look first? Patches
// whose shape follows laterals or zones are told from patches that ignore them.
//
// Low cells are those whose strip segment is low against its surroundings with false discovery
// controlled (crop/moran.hpp); they are joined along and across laterals. Shape: share of the
// patch's outline that runs along lateral lines or starts at one station, against the share that
// the same patch has when the layout is turned and shifted.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/crop/evidence.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

enum class PatchShape { follows_laterals, follows_zone, ignores_laterals, not_told };
std::string to_text(PatchShape shape);

struct CropPatch {
  int zone = -1;
  MultiPolygon area;
  double area_m2 = 0;      ///< on the ground
  double level = 1;        ///< mean relative crop
  double deficit_m2 = 0;   ///< (1 - level) x area: what is lost
  int first_lateral = -1;  ///< index
  int last_lateral = -1;
  int laterals = 0;
  double from_m = 0;  ///< stations
  double to_m = 0;
  bool to_the_end = false;  ///< runs to the far end
  double p = 1;             ///< that so low a patch comes by chance, adjusted
  PatchShape shape = PatchShape::not_told;
  double shape_p = 1;  ///< rank of the true layout among turned and shifted ones
  std::string told;    ///< one sentence: what it looks like and what to look at first
};

struct CropScreening {
  std::vector<CropPatch> patches;  ///< those to look at first, first
  std::string summary;
  Doubts doubts;
};

/// `rest`: water_part of a layer. `smallest_width_m`: of the layer's evidence; patches are not told
/// to follow single laterals below it.
CropScreening screen_crop(const Field& field, const RasterReader& rest, double smallest_width_m,
                          double headland_m, double false_discovery_rate, std::uint64_t seed,
                          const Work& work);

}  // namespace evendrip
