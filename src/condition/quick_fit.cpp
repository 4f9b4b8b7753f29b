// SPDX-License-Identifier: Apache-2.0
#include "quick_fit.hpp"

namespace evendrip {
namespace {

constexpr std::size_t many_data = 8000;  ///< beyond, some of them tell as well

/// Every so many, so that no more than `many_data` are left.
std::vector<CropDatum> some_of(const std::vector<CropDatum>& data) {
  const std::size_t step = data.size() / many_data + 1;
  std::vector<CropDatum> some;
  for (std::size_t i = 0; i < data.size(); i += step) some.push_back(data[i]);
  return some;
}

}  // namespace

ZoneModel quick_model(const SegmentGrid& grid, const std::vector<HoleDatum>& holes,
                      const std::vector<CropDatum>& crop, const ConditionRanges& ranges) {
  ZoneModel model(grid, holes, some_of(crop), ranges);
  return model.coarser() == nullptr ? model : *model.coarser();
}

std::optional<ConditionFit> quick_fit(const SegmentGrid& grid, const std::vector<HoleDatum>& holes,
                                      const std::vector<CropDatum>& crop,
                                      const ConditionRanges& ranges,
                                      const ConditionParameters& start, const Work& work) {
  return fit_condition(quick_model(grid, holes, crop, ranges), start, {}, FitSearch::one_start,
                       work);
}

}  // namespace evendrip
