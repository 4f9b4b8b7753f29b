// SPDX-License-Identifier: Apache-2.0
// One zone of judge_condition.
#pragma once

#include <span>

#include "evendrip/condition/field_condition.hpp"

namespace evendrip {

struct ZoneQuestion {
  const Field& field;
  const Survey& survey;
  const ExpectedZone& expected;
  const Samples& samples;
  ReferenceKind reference;
  std::span<const CropWitness> crops;
  const ConditionOptions& options;
};

ZoneState zone_state(const ZoneQuestion& question, int zone, const Work& work);

}  // namespace evendrip
