// SPDX-License-Identifier: Apache-2.0
// Measured emitters and crop data as rows of a zone's model: which segments each one speaks of.
#pragma once

#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/zone_model.hpp"
#include "evendrip/crop/evidence.hpp"
#include "evendrip/surface/sample.hpp"

namespace evendrip {

/// Samples of relative discharge that lie on laterals of the grid, each in its segment.
std::vector<HoleDatum> hole_data(const SegmentGrid& grid, const Samples& samples);

/// Standard deviation of the water that plants draw across the laterals, in their spacings:
/// laterals are laid as far apart as their wetted soil meets. Common practice, no source.
constexpr double usual_roots_reach = 0.5;

/// Data of the layer whose footprint lies in the zone, marked ones left out: the footprint as five
/// by five places, evenly over a box that spreads as the footprint with its blur does. Plants at
/// each of them draw from the nearest lateral and those beside it, by a normal reach of so many
/// spacings across, above 0. A datum whose box, moved by twice the blur, leaves the zone is left
/// out. Its distances to the ends are those of its place along the nearest lateral; its ground what
/// see_ground found (crop/ground_under.hpp): height, if the zone has relief, and units of the soil
/// map with a twentieth of its data or more, eight at most. Values relative to the
/// layer's median, low where the crop is poor (crop/crop.hpp, CropSense). Empty where the layer has
/// no median above 0.
std::vector<CropDatum> crop_data(const Field& field, const SegmentGrid& grid,
                                 const CropEvidence& evidence, const Work& work,
                                 double roots_reach = usual_roots_reach);

/// The layer as it would be if it lay so far off, on the ground, to where rows of the grid ascend.
CropEvidence moved_across(CropEvidence layer, const Field& field, const SegmentGrid& grid,
                          double across_m);

/// Of a kind of CropEvidence. Yield: the yield response factor, about 1 (Doorenbos & Kassam 1979,
/// FAO Irrigation and Drainage Paper 33), times the share of the season's water that irrigation
/// brings, 0.5 to 0.9: median 0.8. An index saturates in a closed canopy: as 1 - exp(-K), K the
/// extinction times the leaf area, usually 1.5 to 2.5 (Baret & Guyot 1991, Remote Sens. Environ.
/// 35:161-173), it loses 0.43 to 0.22 of what the leaf area loses: median 0.3, wide. Both sources
/// from memory; widths common practice, no source.
ResponsePrior usual_response(const std::string& kind);

}  // namespace evendrip
