// SPDX-License-Identifier: Apache-2.0
// Evaluations of small made-up surveys, for tests.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "evendrip/report/evaluation.hpp"
#include "small_story.hpp"

namespace evendrip::test {

inline Evaluation evaluation_of(const std::filesystem::path& folder,
                                EvaluationOptions options = {}) {
  options.draws = 400;
  Field field = read_field(folder);
  throw_if_problem(field.doubts);
  Survey survey = read_survey(field, "");
  throw_if_problem(survey.doubts);
  Expectation expectation = expect(field, survey, hydraulic_options(field, survey.id), {});
  return evaluated(std::move(field), read_watering(folder), std::move(survey),
                   std::move(expectation), options);
}

/// The small field with other emitters: discharges by lateral of its first zone, two metres apart.
inline Evaluation evaluation_with(const std::string& name,
                                  const std::vector<std::vector<double>>& by_lateral,
                                  const std::string& toml = "") {
  const auto folder = small_field(name);
  std::ofstream(folder / "field.toml", std::ios::app) << toml;
  Field field = read_field(folder);
  throw_if_problem(field.doubts);
  Survey survey = read_survey(field, "");
  Survey made;
  made.id = survey.id;
  made.date = survey.date;
  made.pressures = survey.pressures;
  int lateral = -1;
  for (const auto& discharges : by_lateral) {
    do ++lateral;
    while (field.laterals[static_cast<std::size_t>(lateral)].zone != 0);
    for (std::size_t i = 0; i < discharges.size(); ++i) {
      CatchRecord record;
      record.volume_ml = discharges[i] * 1000 / 3.6 / 10;
      record.duration_s = 100;
      MeasuredEmitter emitter;
      emitter.records = {made.records.size()};
      emitter.site.zone = 0;
      emitter.site.lateral = lateral;
      emitter.site.station_m = 2.0 * static_cast<double>(i) + 1;
      emitter.site.place = place_on_lateral(field, lateral, emitter.site.station_m);
      emitter.discharge_lph = discharges[i];
      if (discharges[i] == 0) emitter.state = EmitterState::none;
      made.records.push_back(record);
      made.emitters.push_back(emitter);
    }
  }
  Expectation expectation = expect(field, made, hydraulic_options(field, made.id), {});
  EvaluationOptions options;
  options.draws = 400;
  return evaluated(std::move(field), read_watering(folder), std::move(made), std::move(expectation),
                   options);
}

}  // namespace evendrip::test
