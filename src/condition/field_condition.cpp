// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/field_condition.hpp"

#include "judged_zone.hpp"

#include <algorithm>
#include <tuple>
#include <utility>

namespace evendrip {

FieldCondition judge_condition(const Field& field, const Survey& survey,
                               const Expectation& expectation, const DischargeSamples& samples,
                               const std::vector<CropWitness>& crops,
                               const ConditionOptions& options, const Work& work) {
  FieldCondition out;
  out.zones.resize(field.zones.size());
  const Work inner{1, work.stop, {}};
  for_each_chunk(work, field.zones.size(), 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t z = begin; z < end; ++z) {
      const ZoneQuestion question{
          field, survey, expectation.zones[z], samples.samples, samples.zones[z].reference,
          crops, options};
      out.zones[z] = zone_state(question, static_cast<int>(z), inner);
    }
  });
  return out;
}

const SegmentCondition* condition_at(const FieldCondition& condition, int zone, int lateral,
                                     double station_m) {
  if (zone < 0 || static_cast<std::size_t>(zone) >= condition.zones.size()) return nullptr;
  const ZoneState& state = condition.zones[static_cast<std::size_t>(zone)];
  if (!state.judged) return nullptr;
  const int row = state.grid.row_of(lateral);
  if (row < 0) return nullptr;
  const int station = state.grid.station_of(station_m);
  const auto found = std::lower_bound(
      state.segments.begin(), state.segments.end(), std::pair(row, station),
      [](const SegmentCondition& s, const auto& key) { return std::pair(s.row, s.station) < key; });
  const bool there =
      found != state.segments.end() && found->row == row && found->station == station;
  return there ? &*found : nullptr;
}

}  // namespace evendrip
