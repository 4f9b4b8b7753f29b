// SPDX-License-Identifier: Apache-2.0
// Screening without digging: from the crop alone, where would a specialist look first? Patches
// whose shape follows laterals or zones are told from patches that ignore them.
//
// A patch follows laterals where a run of neighbouring laterals falls sharply at both of its sides,
// more so than any run found by the same search after the layout was turned and moved: the rank of
// the layout as it is among 99 such placebos, each taken at its best over the whole field, so that
// the chance of one false patch in a field of soil alone is that of the rank. Machines that drive
// along the laterals leave stripes of the same look: where the evidence says that they did
// (headings of the records of a log, stripes of a raster), the shape of a run is not told. The
// outermost laterals of a zone are held against the zone beside it, whose level is brought to
// theirs. Along a limit of the field a run has one side: margins are low for reasons of their own
// and lie along laterals, so that no rank tells them from water; where that side is sharper than
// any single side of the placebos, the run is named and its shape is not told. A zone is low as a
// whole where the crop falls sharply all along the limits it shares with others, more so than along
// the same outline moved over the field. Permutation tests by layout: Edgington & Onghena 2007,
// "Randomization Tests" (from memory). All other low ground: blocks that are low among low ones by
// local Moran's I with false discovery controlled (crop/moran.hpp).
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
  double level = 1;        ///< mean crop over that of the ground beside it, or of the field
  double deficit_m2 = 0;   ///< (1 - level) x area: what is lost
  int first_lateral = -1;  ///< index
  int last_lateral = -1;
  int laterals = 0;
  double from_m = 0;  ///< stations
  double to_m = 0;
  bool to_the_end = false;  ///< runs to the far end
  double p = 1;             ///< that so low a patch comes by chance, adjusted
  PatchShape shape = PatchShape::not_told;
  double shape_p = 1;  ///< rank of the true layout among turned and moved ones
  /// Why the shape is not told: it runs with the passes of a machine; or along a limit of the
  /// field.
  bool runs_with_passes = false;
  bool at_field_limit = false;
  std::string told;  ///< one sentence: what it looks like and what to look at first
};

/// Why the shape is not told, where that is known: "beside a limit of the field", "along passes of
/// a machine" or both; "" otherwise.
std::string why_not_told(const CropPatch& patch);

struct CropScreening {
  std::vector<CropPatch> patches;  ///< those to look at first, first
  std::string summary;
  Doubts doubts;
};

/// `rest`: water_part of a layer. `smallest_width_m`: of the layer's evidence; no narrower run of
/// laterals is looked for. Nothing less low than half of what crop_low_below asks is told (common
/// practice, no source). Low ground that fits no lateral ignores them if a fault of its depth,
/// length and width would have been told, else its shape is not told. Order: what is lost times the
/// certainty that the shape is one of water. Ground within `headland_m` of the ends of laterals
/// does not count. Same result for any number of threads. `evidence` of the same layer (null: not
/// known) says where machines went and which of their stripes were taken out
/// (mark_machine_stripes).
CropScreening screen_crop(const Field& field, const RasterReader& rest, double smallest_width_m,
                          double headland_m, double false_discovery_rate, std::uint64_t seed,
                          const Work& work, const CropEvidence* evidence = nullptr);

}  // namespace evendrip
