// SPDX-License-Identifier: Apache-2.0
// The screening of a field in words for a person and as JSON for a machine.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/field/commissioning.hpp"
#include "evendrip/findings/screening.hpp"
#include "evendrip/hydraulics/design_check.hpp"
#include "evendrip/report/crop_story.hpp"

namespace evendrip {

/// Everything one screening has found out.
struct ScreeningStory {
  std::string version;    ///< of the program
  std::string libraries;  ///< versions of what it was built on
  Field field;
  Survey survey;
  std::optional<Commissioning> commissioning;  ///< that it was compared with
  Expectation expectation;
  Screening screening;
  std::vector<DesignCheck> design;
  std::vector<HeardLayer> crops;  ///< where each crop layer says to look first
  Doubts doubts;                  ///< of all rooms, in the order of the job
  /// Record written from today's readings; nothing where none was asked for.
  std::optional<Commissioning> written;
};

/// Plain text in the field's report units: zones by urgency with verdict, evidence and what to
/// check first, where the crop says to look first, the design check, the check lists of the season.
std::string screening_text(const ScreeningStory& story);

/// JSON object with "schema": "evendrip-screening/1". Numbers in canonical units, which stand in
/// the keys; what is unknown is null.
std::string screening_json(const ScreeningStory& story);

}  // namespace evendrip
