// SPDX-License-Identifier: Apache-2.0
// Would laterals that are not there explain the crop as well? The fit is repeated with the layout
// turned and shifted: water is blamed only where the true layout stands out.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/zone_data.hpp"
#include "evendrip/crop/evidence.hpp"

namespace evendrip {

struct PlaceboRank {
  int layouts = 0;               ///< placebos that could be fitted
  int better = 0;                ///< of them, whose gain is at least that of the true layout
  double gain = 0;               ///< of the true layout: log-likelihood of the crop with parts of r
                                 ///< over that without (soil and error alone)
  std::vector<double> placebos;  ///< gains, in the order of the layouts
  double p = 1;                  ///< (better + 1) / (layouts + 1)
  bool stands_out = false;       ///< p at most 0.1
  std::string told;
};

/// The crop alone is fitted, without holes: bearing turned by 15 degrees and more and the layout
/// shifted by parts of its spacing, so that each placebo has laterals of the zone's spacing over
/// the zone's ground. Permutation by layout: Edgington & Onghena 2007, "Randomization Tests" (from
/// memory). `roots_reach`: that of `crop` (zone_data.hpp). Same result for any number of threads.
/// Throws Interrupted.
PlaceboRank placebo_rank(const Field& field, int zone, const SegmentGrid& grid,
                         const CropEvidence& evidence, const std::vector<CropDatum>& crop,
                         const ConditionParameters& parameters, const Work& work,
                         double roots_reach = usual_roots_reach);

}  // namespace evendrip
