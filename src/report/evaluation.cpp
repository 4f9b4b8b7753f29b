// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/evaluation.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/format.h>

#include "evaluation_parts.hpp"

namespace evendrip {
namespace {

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();

void append(Doubts& all, const Doubts& more) {
  all.insert(all.end(), more.begin(), more.end());
}

std::size_t index(int i) {
  return static_cast<std::size_t>(i);
}

std::vector<PartWithLimits> zone_parts(const Scope& scope) {
  std::vector<PartWithLimits> zones;
  for (std::size_t z = 0; z < scope.evaluation.field.zones.size(); ++z) {
    zones.push_back(zone_part(scope, static_cast<int>(z)));
  }
  return zones;
}

/// The survey as far as it is selected; the rest of it stays as it is.
Survey selected_survey(const Survey& survey, const Selection& selection) {
  Survey part = survey;
  std::erase_if(part.emitters, [&selection](const MeasuredEmitter& emitter) {
    return !selection.holds(emitter.site);
  });
  return part;
}

std::vector<JudgedEmitter> selected_judgements(const Evaluation& evaluation,
                                               const Selection& selection) {
  std::vector<JudgedEmitter> part;
  const auto& emitters = evaluation.survey.emitters;
  const auto& judged = evaluation.expectation.emitters;
  for (std::size_t i = 0; i < std::min(emitters.size(), judged.size()); ++i) {
    if (selection.holds(emitters[i].site)) part.push_back(judged[i]);
  }
  return part;
}

std::vector<std::string> not_computed_in(const Evaluation& evaluation) {
  const Field& field = evaluation.field;
  std::vector<std::string> list;
  for (const ExpectedZone& zone : evaluation.expectation.zones) {
    if (zone.computed) continue;
    list.push_back(
        fmt::format("pressures of zone {}: {}", field.zones[index(zone.zone)].id, zone.why_not));
  }
  if (evaluation.watering.agronomy.emitters_per_root_zone < 1) {
    list.emplace_back("what plants receive: needs [agronomy] emitters_per_root_zone");
  }
  if (!evaluation.watering.irrigation.season_net_need_mm) {
    list.emplace_back(
        "depths and volumes of a season: need [irrigation] season_net_need, or [agronomy] "
        "season_et with season_effective_rain");
  }
  if (!evaluation.watering.irrigation.set_time_s) {
    list.emplace_back("whether sets are long enough: needs [irrigation] set_time");
  }
  const Irrigation& irrigation = evaluation.watering.irrigation;
  if (irrigation.set_time_s && !(irrigation.interval_s && irrigation.season_depth_mm)) {
    list.push_back(
        fmt::format("sets and days of a season, and the set time that serves a share of the "
                    "plants: need {}{}{}",
                    irrigation.interval_s ? "" : "[irrigation] interval",
                    irrigation.interval_s || irrigation.season_depth_mm ? "" : " and ",
                    irrigation.season_depth_mm ? "" : "[irrigation] season_depth"));
  }
  for (const Zone& zone : field.zones) {
    if (zone.emitter.manufacturing_cv > 0) continue;
    list.push_back(fmt::format(
        "clogging and wear against the maker's scatter in zone {}: needs manufacturing_cv",
        zone.id));
  }
  return list;
}

}  // namespace

const MeasureLimits* EvaluatedLevel::limits_of(Measure measure) const {
  for (const MeasureLimits& of_measure : limits) {
    if (of_measure.measure == measure) return &of_measure;
  }
  return nullptr;
}

Evaluation evaluated(Field field, const Watering& watering, Survey survey, Expectation expectation,
                     const EvaluationOptions& options) {
  Evaluation evaluation;
  evaluation.options = options;
  evaluation.field = std::move(field);
  evaluation.watering = watering;
  evaluation.survey = std::move(survey);
  evaluation.expectation = std::move(expectation);
  const Selection everything;
  const Scope scope{evaluation, evaluation.survey, evaluation.expectation.emitters, everything};
  std::vector<PartWithLimits> zones = zone_parts(scope);
  evaluation.whole = joined_part(scope, zones);
  for (PartWithLimits& zone : zones) evaluation.zones.push_back(std::move(zone.part));
  if (options.selection) {
    evaluation.selection = evaluated_selection(evaluation, *options.selection);
  }
  evaluation.not_computed = not_computed_in(evaluation);
  append(evaluation.doubts, evaluation.field.doubts);
  append(evaluation.doubts, evaluation.survey.doubts);
  append(evaluation.doubts, evaluation.expectation.doubts);
  return evaluation;
}

EvaluatedPart evaluated_selection(const Evaluation& evaluation, const Selection& selection) {
  const Survey survey = selected_survey(evaluation.survey, selection);
  const std::vector<JudgedEmitter> judged = selected_judgements(evaluation, selection);
  const Scope scope{evaluation, survey, judged, selection};
  std::vector<PartWithLimits> zones = zone_parts(scope);
  std::vector<std::size_t> holding;
  for (std::size_t z = 0; z < zones.size(); ++z) {
    if (zones[z].part.area_ha > 0) holding.push_back(z);
  }
  EvaluatedPart part =
      holding.size() == 1 ? std::move(zones[holding.front()].part) : joined_part(scope, zones);
  part.name = "selection";
  part.zone = -1;
  if (holding.size() == 1) return part;
  for (const std::size_t z : holding) {
    for (const std::string& text : zones[z].part.statements) {
      part.statements.push_back(zones[z].part.name + ": " + text);
    }
  }
  return part;
}

std::vector<double> relative_discharges(const Evaluation& evaluation) {
  std::vector<double> relative;
  const auto& emitters = evaluation.survey.emitters;
  const auto& judged = evaluation.expectation.emitters;
  for (std::size_t i = 0; i < emitters.size(); ++i) {
    const MeasuredEmitter& emitter = emitters[i];
    double value = unknown;
    if (emitter.usable() && i < judged.size()) value = judged[i].delivery;
    const bool in_zone = emitter.site.zone >= 0 && emitter.usable();
    if (!std::isfinite(value) && in_zone) {
      const double mean = evaluation.zones[index(emitter.site.zone)].emitters.mean_lph;
      const double discharge = emitter.state == EmitterState::none ? 0 : emitter.discharge_lph;
      value = mean > 0 ? discharge / mean : unknown;
    }
    relative.push_back(value);
  }
  return relative;
}

}  // namespace evendrip
