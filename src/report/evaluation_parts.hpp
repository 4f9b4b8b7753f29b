// SPDX-License-Identifier: Apache-2.0
// What the makers of the evaluation share. Private to this room.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "evendrip/report/evaluation.hpp"

namespace evendrip {

/// What is evaluated: the survey's emitters or some of them, with the rest of the evaluation.
struct Scope {
  const Evaluation& evaluation;
  const Survey& survey;
  std::span<const JudgedEmitter> judged;  ///< one for each of the survey's emitters
  const Selection& selection;
};

/// A part with the limits that its emitters gave, which the limits of several are joined from.
struct PartWithLimits {
  EvaluatedPart part;
  UniformityLimits limits;
  EmitterSample plants;
  UniformityLimits plant_limits;
};

/// A zone of the field, or what the selection holds of it.
PartWithLimits zone_part(const Scope& scope, int zone);
/// All zones (one for each of Field::zones) as one part, weighted by their areas.
EvaluatedPart joined_part(const Scope& scope, const std::vector<PartWithLimits>& zones);

/// Laterals of a zone (-1: of all) and emitters on an average one, as far as they are selected.
DugFrom dug_from(const Scope& scope, int zone);

/// Steps of both.
void count_places(EvaluatedPart& part);
void judge_sample(const Scope& scope, EvaluatedPart& part);
void divide(const Scope& scope, EvaluatedPart& part);
DepthOptions depth_options(const Irrigation& irrigation, double area_ha);

/// Nothing where depth or need is not stated or nothing is known of how water is shared.
std::optional<AppliedDepth> applied_depth(const DepthResult& depth, const Irrigation& irrigation);

/// What sets apply as the field is watered; the ground of an emitter is told where the zones of the
/// part (-1: all) share one.
Schedule watering_schedule(const Evaluation& evaluation, const DepthResult& depth, int zone);

/// Of a lateral's length what is selected, 0 to 1.
double selected_share(const Field& field, const Selection& selection, int lateral);
/// Area of a zone, as far as it is selected: by lengths of its laterals.
double selected_area_ha(const Field& field, const Selection& selection, int zone);

/// What the data of a zone leave in doubt, as plain sentences: graduation against catches, mixed
/// pressures, more emitters measured than there are, sets too short, places not told.
std::vector<std::string> data_statements(const Scope& scope, const EvaluatedPart& part);

/// Time that the lines of a zone take to fill at their steady flow, s; nothing where diameter or
/// flow is not known. Lines are taken to drain between sets.
std::optional<double> filling_time_s(const Field& field, const Expectation& expectation, int zone);

/// Times of the emitters of a zone (-1: of all) in which one container was filled; nothing where
/// containers differ or all times are one.
std::optional<FillTimes> fill_times_of(const Survey& survey, int zone);

/// Figures of what plants or emitters get; limits stay empty.
EvaluatedLevel level_figures(const EmitterSample& sample, int each, QuarterRule rule);

/// By the published classes, with the limits of each figure where they are known.
std::vector<RatedFigure> ratings_of(const EvaluatedLevel& level);

/// "78 % (66 to 86)"; limits that are not known are left out.
std::string percent_with_limits(double figure, const MeasureLimits* limits);

}  // namespace evendrip
