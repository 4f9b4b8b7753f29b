// SPDX-License-Identifier: Apache-2.0
// Everything one run has found out, in one value: what the report tells and the sheets draw.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "evendrip/crop/crop.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/findings/findings.hpp"
#include "evendrip/repairs/visits.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "evendrip/survey/survey.hpp"
#include "evendrip/uniformity/uniformity.hpp"

namespace evendrip {

struct CropStory {
  CropLayer layer;
  std::vector<CropStatistics> zones;
  std::vector<CropStatistics> laterals;
};

struct Story {
  std::string version;     ///< of the program
  std::string libraries;   ///< versions of what it was built on
  std::uint64_t seed = 0;  ///< of every random draw
  Field field;
  Survey survey;
  Uniformity uniformity;
  DischargeMap surface;
  std::vector<CropStory> crops;
  std::string crop_of_findings;  ///< id of the crop layer that the findings use; empty: none
  Findings findings;
  VisitPlan visits;
};

/// All doubts of all rooms, in the order of the job.
Doubts doubts_of(const Story& story);

/// So many of a kind are told one by one before the rest is counted: enough to mend by hand, few
/// enough to read.
inline constexpr std::size_t most_of_a_kind = 20;

/// The first `most` doubts of each kind (severity, code, file), the last of them with the number of
/// those left out.
Doubts summarised(const Doubts& doubts, std::size_t most = 1);

}  // namespace evendrip
