// SPDX-License-Identifier: Apache-2.0
#include "roots_reach.hpp"

#include <array>
#include <utility>

namespace evendrip {
namespace {

constexpr std::array<double, 2> others = {0.1, 1.0};
constexpr double least_gain = 3;
constexpr std::size_t many_data = 8000;  ///< beyond, some of them tell the reach as well

/// Every so many, so that no more than `many_data` are left.
std::vector<CropDatum> some_of(const std::vector<CropDatum>& data) {
  const std::size_t step = data.size() / many_data + 1;
  std::vector<CropDatum> some;
  for (std::size_t i = 0; i < data.size(); i += step) some.push_back(data[i]);
  return some;
}

std::optional<ConditionFit> fit_of(const SegmentGrid& grid, const std::vector<HoleDatum>& holes,
                                   const std::vector<CropDatum>& crop,
                                   const ConditionRanges& ranges, const ConditionParameters& start,
                                   const Work& work) {
  const ZoneModel model(grid, holes, some_of(crop), ranges);
  const ZoneModel& small = model.coarser() == nullptr ? model : *model.coarser();
  return fit_condition(small, start, {}, FitSearch::one_start, work);
}

}  // namespace

std::optional<ReachChoice> choose_reach(const SegmentGrid& grid,
                                        const std::vector<HoleDatum>& holes,
                                        const std::vector<CropDatum>& usual,
                                        const ConditionRanges& ranges, const CropByReach& by_reach,
                                        const Work& work) {
  ConditionParameters start;
  start.response = ranges.response.median;
  const auto as_usual = fit_of(grid, holes, usual, ranges, start, work);
  if (!as_usual) return {};
  std::optional<ReachChoice> best;
  for (const double spacings : others) {
    std::vector<CropDatum> data = by_reach(spacings);
    // A reach at which fewer data lie in the zone would be judged by fewer.
    if (data.size() != usual.size()) continue;
    const auto fit = fit_of(grid, holes, data, ranges, as_usual->parameters, work);
    if (!fit) continue;
    const double gain = fit->log_posterior - as_usual->log_posterior;
    if (gain > (best ? best->gain : least_gain))
      best = ReachChoice{spacings, gain, std::move(data)};
  }
  return best;
}

}  // namespace evendrip
