// SPDX-License-Identifier: Apache-2.0
// Stripes of the crop that run on beyond the end of a zone's laterals, through a zone that other
// pipes feed: machines and soil, not water.
//
// The mean crop of each lateral, less the median of the laterals near it, is set beside that of the
// lateral of another zone that goes on where it ends. What both have in common is no water. The two
// zones have stripes in common where their correlation is above chance (one-sided, p 0.01 over all
// neighbours; Student's t, with as many laterals as their likeness to their own neighbours leaves:
// Bartlett 1935, J. R. Stat. Soc. 98:536-543, from memory). A single weak lateral of one zone alone
// is left as it is: of each pair the smaller part counts, and only where both are low or both high.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/condition/zone_model.hpp"
#include "evendrip/crop/evidence.hpp"

namespace evendrip {

struct CrossingStripes {
  int zone = -1;  ///< into which they run on
  double correlation = 0;
  int laterals = 0;            ///< that go on there
  std::vector<double> common;  ///< of each lateral of the grid, relative crop; 0 where none
};

/// `data` are those of the layer in the grid's zone. None for fewer than 10 laterals that go on
/// within 40 m of their ends (common practice, no source).
std::vector<CrossingStripes> crossing_stripes(const Field& field, const SegmentGrid& grid,
                                              const CropEvidence& evidence,
                                              const std::vector<CropDatum>& data, const Work& work);

/// Of each datum of a layer what is common on its lateral; 0 beyond the zone.
std::vector<double> pattern_of(const std::vector<CrossingStripes>& stripes, const Field& field,
                               const SegmentGrid& grid, const CropEvidence& evidence);

}  // namespace evendrip
