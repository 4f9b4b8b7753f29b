// SPDX-License-Identifier: Apache-2.0
// Everything one run has found out, in one value: what the report tells and the sheets draw.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "evendrip/condition/field_condition.hpp"
#include "evendrip/crop/crop.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/findings/findings.hpp"
#include "evendrip/hydraulics/design_check.hpp"
#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/hydraulics/meter.hpp"
#include "evendrip/repairs/visits.hpp"
#include "evendrip/surface/areas_below.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "evendrip/surface/segments.hpp"
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
  Expectation expectation;             ///< what should flow, and the dug emitters against it
  std::vector<MeterComparison> meter;  ///< the flow meter against it
  std::vector<DesignCheck> design;     ///< of the computed zones
  Doubts hydraulics_doubts;            ///< of meter and design
  Uniformity uniformity;
  DischargeMap surface;
  std::vector<CropStory> crops;
  std::string crop_of_findings;  ///< id of the crop layer that the findings use; empty: none
  Findings findings;
  VisitPlan visits;
  std::vector<Segment> segments;  ///< of laterals, with the surface's means
  std::vector<AreaBelow> areas;   ///< ground below the thresholds
  /// How far each sample of the surface alone moves the map of its zone.
  std::vector<double> influence;
  /// Of every emitter, by holes, crop, gauges and network together; without zones where not judged.
  FieldCondition condition{};
};

/// All doubts of all rooms, in the order of the job.
Doubts doubts_of(const Story& story);

/// "hydraulics of zone Z1: needs [layers] manifolds" and what else was not computed, by the field
/// and by hydraulics.
std::vector<std::string> not_computed_of(const Story& story);

/// Delivery and performance of the dug emitters of a zone: mean and mean of the lowest quarter (the
/// last reading counted in part); NaN where none is known.
struct JudgedZone {
  int emitters = 0;  ///< with a delivery
  double mean_delivery = 0;
  double low_delivery = 0;
  int with_performance = 0;
  double mean_performance = 0;
  double low_performance = 0;
};
JudgedZone judged_zone(const Story& story, int zone);

/// Whether the hydraulics of at least one zone are computed.
bool any_zone_computed(const Story& story);

/// Whether relative discharge is over what a clean system would give there, or over the median.
ReferenceKind reference_in(const Story& story, int zone);

/// So many of a kind are told one by one before the rest is counted: enough to mend by hand, few
/// enough to read.
inline constexpr std::size_t most_of_a_kind = 20;

/// The first `most` doubts of each kind (severity, code, file), the last of them with the number of
/// those left out.
Doubts summarised(const Doubts& doubts, std::size_t most = 1);

}  // namespace evendrip
