// SPDX-License-Identifier: Apache-2.0
#include "roots_reach.hpp"

#include <array>
#include <utility>

#include "quick_fit.hpp"

namespace evendrip {
namespace {

constexpr std::array<double, 2> others = {0.1, 1.0};
constexpr double least_gain = 3;

}  // namespace

std::optional<ReachChoice> choose_reach(const SegmentGrid& grid,
                                        const std::vector<HoleDatum>& holes,
                                        const std::vector<CropDatum>& usual,
                                        const ConditionRanges& ranges, const CropByReach& by_reach,
                                        const Work& work) {
  ConditionParameters start;
  start.response = ranges.response.median;
  const auto as_usual = quick_fit(grid, holes, usual, ranges, start, work);
  if (!as_usual) return {};
  std::optional<ReachChoice> best;
  for (const double spacings : others) {
    std::vector<CropDatum> data = by_reach(spacings);
    // A reach at which fewer data lie in the zone would be judged by fewer.
    if (data.size() != usual.size()) continue;
    const auto fit = quick_fit(grid, holes, data, ranges, as_usual->parameters, work);
    if (!fit) continue;
    const double gain = fit->log_posterior - as_usual->log_posterior;
    if (gain > (best ? best->gain : least_gain))
      best = ReachChoice{spacings, gain, std::move(data)};
  }
  return best;
}

}  // namespace evendrip
