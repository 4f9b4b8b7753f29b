// SPDX-License-Identifier: Apache-2.0
#include "sections.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "evendrip/field/plausible.hpp"

namespace evendrip {
namespace {

constexpr const char* toml_name = "field.toml";

void check(TomlReader& reader, const char* key, double value, const PlausibleRange& range,
           Doubts& doubts) {
  const std::string unit{accepted_units(range.dimension).front()};
  if (auto doubt =
          implausible(value, range, reader.place_of(key), fmt::format("{:g} {}", value, unit))) {
    doubts.push_back(*std::move(doubt));
  }
}

void read_gps(SurveySource& survey, TomlReader& reader, Doubts& doubts) {
  if (const auto v = reader.quantity("gps_accuracy", Dimension::length)) {
    survey.gps_accuracy_m = *v;
    check(reader, "gps_accuracy", *v,
          {Dimension::length, 0.001, 100, 0.005, 20, {{"m", "cm"}, {"m", "mm"}, {"m", "ft"}}},
          doubts);
  }
  const auto datum = reader.text("gps_datum");
  if (!datum) return;
  if (*datum == "WGS84" || *datum == "NAD83(2011)" || *datum == "ITRF2014") {
    survey.gps_datum = *datum;
  } else {
    reader.problem("gps_datum", "unknown_datum", "there is no such datum of fixes", *datum,
                   "WGS84, NAD83(2011) or ITRF2014");
  }
}

void read_cans(SurveySource& survey, TomlReader& reader, Doubts& doubts) {
  if (const auto v = reader.quantity("volume_graduation", Dimension::volume)) {
    survey.volume_graduation_ml = *v;
    check(reader, "volume_graduation", *v,
          {Dimension::volume, 0.001, 5000, 0.1, 100, {{"L", "mL"}, {"mL", "L"}}}, doubts);
  }
  if (const auto v = reader.quantity("water_temperature", Dimension::temperature)) {
    survey.water_temperature_c = *v;
    survey.water_temperature_stated = true;
    check(reader, "water_temperature", *v,
          {Dimension::temperature, 0, 70, 2, 45, {{"C", "F"}, {"C", "K"}}}, doubts);
  }
}

SurveySource survey_from(TomlReader& reader, const std::filesystem::path& folder,
                         const std::string& section, Doubts& doubts) {
  SurveySource survey;
  reader.required("id", "the survey's name");
  survey.id = reader.text("id").value_or("");
  survey.date = reader.date("date").value_or("");
  survey.catch_cans = named_file(reader, "catch_cans", folder, section, doubts);
  survey.pressures = named_file(reader, "pressures", folder, section, doubts);
  survey.meter = named_file(reader, "meter", folder, section, doubts);
  if (!reader.has("catch_cans") && !reader.has("pressures") && !reader.has("meter")) {
    reader.problem("id", "survey_without_tables", "the survey names no table", survey.id,
                   "catch_cans, pressures or meter", "Name at least one table");
  }
  if (survey.date.empty()) {
    doubts.push_back({"date_missing", Severity::doubt, reader.place_of("id"),
                      "the survey has no date", "", "date = 2026-05-12",
                      "Add the date, so that sheets carry it"});
  }
  read_gps(survey, reader, doubts);
  read_cans(survey, reader, doubts);
  reader.finish();
  return survey;
}

}  // namespace

std::optional<FileRef> named_file(TomlReader& reader, std::string_view key,
                                  const std::filesystem::path& folder, const std::string& section,
                                  Doubts& doubts, Named named) {
  const auto name = reader.text(key);
  if (!name) return std::nullopt;
  try {
    return resolve(folder, *name, fmt::format("{} {}", section, key), named);
  } catch (const InputError& error) {
    doubts.insert(doubts.end(), error.problems().begin(), error.problems().end());
    return std::nullopt;
  }
}

std::vector<SurveySource> surveys_from(TomlReader& root, const std::filesystem::path& folder,
                                       Doubts& doubts) {
  std::vector<SurveySource> surveys;
  for (const TomlTable* table : root.tables("survey")) {
    TomlReader reader(*table, toml_name, "[[survey]]", doubts);
    SurveySource survey = survey_from(reader, folder, "[[survey]]", doubts);
    const bool twice = std::any_of(surveys.begin(), surveys.end(),
                                   [&](const SurveySource& s) { return s.id == survey.id; });
    if (twice) {
      reader.problem("id", "id_twice", "two surveys have one id", survey.id,
                     "an id that no other survey has");
    }
    surveys.push_back(std::move(survey));
  }
  return surveys;
}

Thresholds thresholds_from(TomlReader& root, std::vector<std::string>& not_computed,
                           Doubts& doubts) {
  Thresholds thresholds;
  const TomlTable* table = root.table("thresholds");
  if (table == nullptr) return thresholds;
  TomlReader reader(*table, toml_name, "[thresholds]", doubts);
  const auto read = [&reader](const char* key, double& value) {
    const auto v = reader.number(key);
    if (!v) return;
    value = *v;
    if (*v > 0 && *v <= 1) return;
    reader.problem(key, "out_of_range", "the threshold cannot be used", fmt::format("{:g}", *v),
                   "more than 0, at most 1");
  };
  read("clogged_below", thresholds.clogged_below);
  read("low_below", thresholds.low_below);
  read("crop_low_below", thresholds.crop_low_below);
  if (!reader.quantities("rating_classes", Dimension::fraction).empty()) {
    not_computed.emplace_back("[thresholds] rating_classes is read by no part of this version");
  }
  if (thresholds.clogged_below > thresholds.low_below) {
    doubts.push_back({"thresholds_swapped", Severity::doubt, reader.place_of("clogged_below"),
                      "clogged_below is above low_below",
                      fmt::format("{:g}", thresholds.clogged_below),
                      fmt::format("at most {:g}", thresholds.low_below), "Check both"});
  }
  reader.finish();
  return thresholds;
}

Analysis analysis_from(TomlReader& root, Doubts& doubts) {
  Analysis analysis;
  const TomlTable* table = root.table("analysis");
  if (table == nullptr) return analysis;
  TomlReader reader(*table, toml_name, "[analysis]", doubts);
  if (const auto v = reader.quantity("cell", Dimension::length)) {
    analysis.cell_m = *v;
    check(reader, "cell", *v,
          {Dimension::length, 0.01, 1000, 0.1, 50, {{"m", "cm"}, {"m", "mm"}, {"m", "ft"}}},
          doubts);
  }
  if (const auto v = reader.quantity("smallest_area", Dimension::area)) {
    analysis.smallest_area_m2 = *v * 10'000;
    if (*v < 0) {
      reader.problem("smallest_area", "out_of_range", "an area cannot be negative",
                     fmt::format("{:g} ha", *v), "0 or more");
    }
  }
  if (const auto v = reader.integer("neighbours")) {
    analysis.neighbours = static_cast<int>(std::clamp<std::int64_t>(*v, 1, 100'000));
    if (analysis.neighbours != *v) {
      reader.problem("neighbours", "out_of_range", "the number of neighbours cannot be used",
                     fmt::format("{}", *v), "1 to 100000");
    }
  }
  const auto method = reader.text("method");
  if (method == "kriging") {
    analysis.method = SurfaceMethod::kriging;
  } else if (method == "inverse_distance") {
    analysis.method = SurfaceMethod::inverse_distance;
  } else if (method && method != "automatic") {
    reader.problem("method", "unknown_method", "there is no such method", *method,
                   "automatic, kriging or inverse_distance");
  }
  reader.finish();
  return analysis;
}

}  // namespace evendrip
