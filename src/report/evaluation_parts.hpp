// SPDX-License-Identifier: Apache-2.0
// What the makers of the evaluation share. Private to this room.
#pragma once

#include <string>
#include <vector>

#include "evendrip/report/evaluation.hpp"

namespace evendrip {

/// What the data of a zone leave in doubt, as plain sentences: graduation against catches, mixed
/// pressures, more emitters measured than there are, sets too short, places not told.
std::vector<std::string> data_statements(const Evaluation& evaluation, const EvaluatedPart& part);

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
