// SPDX-License-Identifier: Apache-2.0
// One zone of judge_condition.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>

#include "evendrip/condition/field_condition.hpp"
#include "evendrip/condition/meter_evidence.hpp"

namespace evendrip {

struct ZoneQuestion {
  const Field& field;
  const Survey& survey;
  const ExpectedZone& expected;
  const Samples& samples;
  ReferenceKind reference;
  std::span<const CropWitness> crops;
  const ConditionOptions& options;
  /// Of a reading of several zones, what is left for this one.
  std::optional<MeterDatum> shared_meter = std::nullopt;
  std::string why_no_holes = {};  ///< where the zone has none
};

/// Of one emitter about its segment: as it was made, and what came to it since.
double emitter_sd(const ZoneQuestion& question, int zone, const ZoneCondition& condition);
/// What the pipes pass to a segment, 1: as they should.
double passed_at(const ZoneState& state, std::size_t segment);

/// Chance that an emitter of a segment delivers below Thresholds::low_below, without faults in the
/// network.
double chance_low(const ZoneQuestion& question, int zone, const ZoneCondition& condition,
                  std::size_t segment);

ZoneState zone_state(const ZoneQuestion& question, int zone, const Work& work);

}  // namespace evendrip
