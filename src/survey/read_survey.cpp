// SPDX-License-Identifier: Apache-2.0
// One survey: its tables read, its records placed, its replicates joined.
#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "catch_table.hpp"
#include "evendrip/survey/survey.hpp"
#include "gauges.hpp"
#include "placing.hpp"
#include "replicates.hpp"

namespace evendrip {
namespace {

const SurveySource& chosen_source(const Field& field, const std::string& id) {
  std::string known;
  for (const SurveySource& source : field.surveys) {
    known += (known.empty() ? "" : ", ") + source.id;
    if (!id.empty() && source.id == id) return source;
  }
  if (!id.empty() || field.surveys.empty()) {
    throw InputError(Doubt{"no_such_survey",
                           Severity::problem,
                           {"field.toml", "[[survey]]", 0, "id"},
                           "there is no such survey",
                           id,
                           known.empty() ? "a [[survey]] section" : known,
                           "Name a survey of field.toml"});
  }
  // ISO dates sort as text; of equal dates the one that stands later.
  const SurveySource* latest = &field.surveys.front();
  for (const SurveySource& source : field.surveys) {
    if (source.date >= latest->date) latest = &source;
  }
  return *latest;
}

template <typename Step>
void attempt(Doubts& doubts, const Step& step) {
  try {
    step();
  } catch (const InputError& error) {
    doubts.insert(doubts.end(), error.problems().begin(), error.problems().end());
  }
}

void tell_shift(const CommonShift& shift, const SurveySource& source, const std::string& file,
                Doubts& doubts) {
  if (shift.records == 0) return;
  const Place place{file, "", 0, "lat"};
  const double size = std::hypot(shift.shift_m.x, shift.shift_m.y);
  if (size > 3 * source.gps_accuracy_m + 3 * shift.sd_m) {
    doubts.push_back(
        {"common_shift_large", Severity::doubt, place,
         "fixes and declared places differ by more than the receiver's accuracy allows",
         fmt::format("{:.2f} m east, {:.2f} m north in {} records", shift.shift_m.x,
                     shift.shift_m.y, shift.records),
         fmt::format("at most {:.1f} m", 3 * source.gps_accuracy_m),
         "Check gps_datum, the laterals' positions and the supply end"});
  }
  if (shift.scatter_m > 2 * source.gps_accuracy_m) {
    doubts.push_back({"fixes_scatter", Severity::doubt, place,
                      "fixes scatter about their declared places more than stated",
                      fmt::format("{:.2f} m", shift.scatter_m),
                      fmt::format("about {:g} m", source.gps_accuracy_m),
                      "Check gps_accuracy, and laterals and stations in the table"});
  }
}

void read_catch_cans(const Field& field, const SurveySource& source, const std::string& file,
                     Survey& survey) {
  CatchTable table = catch_table(field, source, survey.doubts);
  survey.records = std::move(table.records);
  const CommonShift shift = common_shift(field, survey.records);
  survey.common_shift_m = shift.shift_m;
  survey.common_shift_sd_m = shift.sd_m;
  survey.shift_records = shift.records;
  tell_shift(shift, source, file, survey.doubts);
  const auto placed = placed_records(field, survey.records, shift, file, survey.doubts);
  const auto numbering = table.numbers_replicates ? Numbering::numbered : Numbering::not_numbered;
  survey.emitters =
      measured_emitters(field, survey.records, placed, numbering, file, survey.doubts);
  survey.replicate_cv = replicate_cv(survey.records, survey.emitters);
}

/// By place in the files: a reader mends them from top to bottom.
void sort_by_row(Doubts& doubts) {
  std::stable_sort(doubts.begin(), doubts.end(), [](const Doubt& a, const Doubt& b) {
    return std::tie(a.place.file, a.place.row) < std::tie(b.place.file, b.place.row);
  });
}

}  // namespace

Survey read_survey(const Field& field, const std::string& id) {
  const SurveySource& source = chosen_source(field, id);
  Survey survey;
  survey.id = source.id;
  survey.date = source.date;
  if (source.catch_cans) {
    const std::string& file = source.catch_cans->as_written;
    attempt(survey.doubts, [&] { read_catch_cans(field, source, file, survey); });
    sort_by_row(survey.doubts);
  }
  if (source.pressures) {
    attempt(survey.doubts,
            [&] { survey.pressures = pressure_readings(field, source, survey.doubts); });
  }
  if (source.meter) {
    attempt(survey.doubts, [&] { survey.meter = meter_readings(field, source, survey.doubts); });
  }
  return survey;
}

}  // namespace evendrip
