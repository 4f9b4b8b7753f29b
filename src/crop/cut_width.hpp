// SPDX-License-Identifier: Apache-2.0
// The width that a harvester really cut: its swath less what earlier passes had already taken.
//
// Each record is a strip from the place before it to its own, as wide as the header. Across the
// middle of the strip the shares that strips of earlier passes cover are joined exactly. Places are
// not known better than the gaps between passes say that nobody leaves standing: an overlap that is
// no wider than one and a half times the gap that one side in twenty exceeds is taken for an error
// of the places and not counted. Of overlaps
// along a pass the running median of five counts. Reconstruction of harvested area: Drummond,
// Fraisse & Sudduth 1999, Trans. ASAE 42:1193-1202 (from memory); the tolerance is ours.
#pragma once

#include <span>
#include <vector>

#include "evendrip/base/work.hpp"

#include "passes.hpp"

namespace evendrip {

struct CutWidths {
  std::vector<double> width_m;   ///< of each record; no wider than logged; NaN where not cutting
  double place_tolerance_m = 0;  ///< overlaps no wider are not counted
};

/// `cuts`: whether the header was down. Needs a header width (driven.swath_m above 0).
CutWidths cut_widths(const HarvestLog& log, const DrivenLog& driven, std::span<const char> cuts,
                     double scale_factor, const Work& work);

}  // namespace evendrip
