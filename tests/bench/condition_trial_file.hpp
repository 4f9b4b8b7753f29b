// SPDX-License-Identifier: Apache-2.0
// Trials in a CSV, a line each, so that a proof of many fields can be made in parts and told whole.
#pragma once

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "condition_figures.hpp"

namespace evendrip::bench {

struct TrialColumn {
  std::string name;
  std::function<double(const ConditionTrial&)> get;
  std::function<void(ConditionTrial&, double)> set;  ///< none of what the field's number tells
};

template <class Value>
TrialColumn column_of(std::string name, Value ConditionTrial::*member) {
  return {std::move(name), [=](const auto& t) { return static_cast<double>(t.*member); },
          [=](auto& t, double v) { t.*member = static_cast<Value>(v); }};
}
inline TrialColumn column_of(std::string name, double ConditionParameters::*member) {
  return {std::move(name), [=](const auto& t) { return t.parameters.*member; },
          [=](auto& t, double v) { t.parameters.*member = v; }};
}
inline TrialColumn column_of(std::string name, double Explained::*member) {
  return {std::move(name), [=](const auto& t) { return t.explained.*member; },
          [=](auto& t, double v) { t.explained.*member = v; }};
}
template <class Value>
TrialColumn column_of(std::string name, Value ConditionScenario::*member) {
  return {std::move(name), [=](const auto& t) { return static_cast<double>(t.scenario.*member); },
          nullptr};
}

/// The kind of trouble and the number of the field come first, then the severity.
inline std::vector<TrialColumn> trial_columns() {
  std::vector<TrialColumn> columns = {
      column_of("kind", &ConditionScenario::trouble),
      column_of("number", &ConditionScenario::number),
      column_of("severity", &ConditionScenario::severity),
      column_of("closed", &ConditionScenario::closed),
      column_of("pixel", &ConditionScenario::pixel_over_spacing),
      column_of("harvester", &ConditionScenario::harvester),
      column_of("holes", &ConditionScenario::holes),
      column_of("noise", &ConditionScenario::crop_noise),
      column_of("data", &ConditionTrial::crop_data),
      column_of("crop_used", &ConditionTrial::crop_used),
      column_of("stripes", &ConditionTrial::stripes),
      column_of("emitters", &ConditionTrial::emitters),
      column_of("mean", &ConditionTrial::mean_delivery),
      column_of("deepest", &ConditionTrial::deepest),
      column_of("floor", &ConditionTrial::floor),
      column_of("bias", &ConditionTrial::bias),
      column_of("error_r", &ConditionTrial::error_r),
      column_of("coverage", &ConditionTrial::coverage),
      column_of("called", &ConditionTrial::called_low),
      column_of("low", &ConditionTrial::truly_low),
      column_of("missed", &ConditionTrial::missed_emitters),
      column_of("missed_called", &ConditionTrial::missed_called),
      column_of("log_score", &ConditionTrial::log_score),
      column_of("share_score", &ConditionTrial::share_log_score),
      column_of("faults", &ConditionTrial::faults),
      column_of("manifold_faults", &ConditionTrial::manifold_faults),
      column_of("soil_share", &ConditionTrial::soil_share),
      column_of("network_part", &Explained::network),
      column_of("soil_part", &Explained::soil),
      column_of("seconds", &ConditionTrial::seconds),
      column_of("made", &ConditionTrial::seconds_made),
      column_of("along", &ConditionParameters::along),
      column_of("own", &ConditionParameters::own),
      column_of("group", &ConditionParameters::group),
      column_of("local", &ConditionParameters::local),
      column_of("emitter", &ConditionParameters::emitter),
      column_of("soil_short", &ConditionParameters::soil_short),
      column_of("soil_long", &ConditionParameters::soil_long),
      column_of("crop_error", &ConditionParameters::crop_error),
      column_of("response", &ConditionParameters::response)};
  for (std::size_t m = 0; m < condition_methods.size(); ++m)
    columns.push_back({condition_methods[m], [m](const auto& t) { return t.errors[m]; },
                       [m](auto& t, double v) { t.errors[m] = v; }});
  return columns;
}

inline std::string heading_of(const std::vector<TrialColumn>& columns) {
  std::string text = "trouble";
  for (const TrialColumn& column : columns) text += "," + column.name;
  return text;
}

inline void write_trials(const Trials& trials, const std::string& file) {
  const std::vector<TrialColumn> columns = trial_columns();
  std::ofstream out(file);
  out << heading_of(columns) << '\n';
  for (const ConditionTrial& trial : trials) {
    out << '"' << to_text(trial.scenario.trouble) << '"';
    for (const TrialColumn& column : columns) out << fmt::format(",{:.8g}", column.get(trial));
    out << '\n';
  }
  if (!out.flush()) throw std::runtime_error(file + " cannot be written");
}

inline ConditionTrial trial_of(const std::vector<double>& values,
                               const std::vector<TrialColumn>& columns, std::uint64_t set_seed) {
  ConditionTrial trial;
  trial.scenario =
      condition_scenario(set_seed, static_cast<ConditionTrouble>(static_cast<int>(values[0])),
                         static_cast<int>(values[1]));
  for (std::size_t i = 0; i < columns.size(); ++i)
    if (columns[i].set) columns[i].set(trial, values[i]);
  return trial;
}

/// Of the set that is named: a file does not tell. Throws std::runtime_error where a line is not
/// what write_trials() writes.
inline Trials read_trials(const std::string& file, std::uint64_t set_seed) {
  const std::vector<TrialColumn> columns = trial_columns();
  std::ifstream in(file);
  std::string line;
  if (!std::getline(in, line) || line != heading_of(columns))
    throw std::runtime_error(file + " has no heading of trials");
  Trials trials;
  while (std::getline(in, line)) {
    std::istringstream words(line.substr(line.rfind('"') + 2));
    std::vector<double> values;
    for (std::string word; std::getline(words, word, ',');)
      values.push_back(std::strtod(word.c_str(), nullptr));
    if (values.size() != columns.size() || !(values[0] >= 0) ||
        !(values[0] < static_cast<double>(condition_trouble_names.size())))
      throw std::runtime_error(fmt::format("{}: a line is not a trial: {}", file, line));
    trials.push_back(trial_of(values, columns, set_seed));
  }
  return trials;
}

}  // namespace evendrip::bench
