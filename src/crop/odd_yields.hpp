// SPDX-License-Identifier: Apache-2.0
// Yields that do not fit: those beyond what the log as a whole makes likely, and those that do not
// fit their neighbours.
//
// What is looked for in a field under drip irrigation are low patches and low strips along
// laterals, so a yield is odd only if it stands alone: a record whose neighbours, or whose own pass
// for some records before and after, go along with it is kept.
//
// Median and median absolute deviation as limits: Hampel 1974, J. Am. Stat. Assoc. 69:383-393.
// Local Moran's I below 0, its p adjusted for false discovery: Vega, Cordoba, Castro-Franco &
// Balzarini 2019, Precision Agric. 20:1030-1044; Anselin 1995, Geogr. Anal. 27:93-115; Benjamini &
// Hochberg 1995, J. R. Stat. Soc. B 57:289-300. What spares a record is ours.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/crop/harvest_log.hpp"

#include "passes.hpp"

namespace evendrip {

/// Middle yield of up to four kept records before and four after each kept record in its pass; NaN
/// where there are fewer than three of them.
std::vector<double> along_pass_medians(const DrivenLog& driven, std::span<const double> yields,
                                       std::span<const char> kept);

struct RobustBounds {
  double middle = 0;
  double deviation = 0;  ///< scaled median absolute deviation
  double low = 0;
  double high = 0;
};
/// Of the kept yields.
RobustBounds robust_bounds(std::span<const double> yields, std::span<const char> kept,
                           double limit);

struct OddYields {
  std::vector<char> odd;   ///< one for each record
  std::size_t spared = 0;  ///< would be odd if they stood alone
};

/// Kept records beyond the bounds, unless the middle of at least five kept records within
/// `within_m`, or of their pass, goes at least half the way with them.
OddYields beyond_bounds(const HarvestLog& log, const DrivenLog& driven,
                        std::span<const double> yields, std::span<const char> kept,
                        const RobustBounds& bounds, double within_m, const Work& work);

struct NeighbourTests {
  double within_m = 0;
  double limit = 0;                 ///< robust deviations from the neighbours' median
  double false_discovery_rate = 0;  ///< of local Moran's I
};
struct OddNeighbours {
  OddYields all;
  std::size_t by_moran = 0;   ///< of the odd ones
  std::size_t by_median = 0;  ///< likewise; some by both
};
OddNeighbours odd_neighbours(const HarvestLog& log, const DrivenLog& driven,
                             std::span<const double> yields, std::span<const char> kept,
                             const NeighbourTests& tests, const Work& work);

}  // namespace evendrip
