// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/error.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

std::string joined(const Doubts& problems) {
  std::string text;
  for (const Doubt& problem : problems) {
    if (!text.empty()) text += '\n';
    text += to_text(problem);
  }
  return text;
}

Doubts only_problems(const Doubts& doubts) {
  Doubts problems;
  std::copy_if(doubts.begin(), doubts.end(), std::back_inserter(problems),
               [](const Doubt& d) { return d.severity == Severity::problem; });
  return problems;
}

Doubt as_problem(Doubt doubt) {
  doubt.severity = Severity::problem;
  return doubt;
}

}  // namespace

std::string to_text(const Place& place) {
  std::string text = place.file;
  const auto add = [&text](const std::string& part) {
    if (part.empty()) return;
    if (!text.empty()) text += ", ";
    text += part;
  };
  add(place.layer);
  if (place.row > 0) add(fmt::format("row {}", place.row));
  if (!place.column.empty()) add("column " + place.column);
  return text;
}

std::string to_text(Severity severity) {
  switch (severity) {
    case Severity::note:
      return "note";
    case Severity::doubt:
      return "doubt";
    case Severity::problem:
      return "problem";
  }
  return "";
}

std::string to_text(const Doubt& doubt) {
  std::string text = to_text(doubt.place);
  if (!text.empty()) text += ": ";
  text += doubt.text;
  if (!doubt.found.empty() && !doubt.expected.empty()) {
    text += fmt::format(" (found \"{}\", expected {})", doubt.found, doubt.expected);
  } else if (!doubt.found.empty()) {
    text += fmt::format(" (found \"{}\")", doubt.found);
  } else if (!doubt.expected.empty()) {
    text += fmt::format(" (expected {})", doubt.expected);
  }
  if (!doubt.remedy.empty()) text += ". " + doubt.remedy;
  return text;
}

bool has_problem(const Doubts& doubts) {
  return std::any_of(doubts.begin(), doubts.end(),
                     [](const Doubt& d) { return d.severity == Severity::problem; });
}

Error::Error(ExitCode exit_code, Doubts problems)
    : std::runtime_error(joined(problems)), exit_code_(exit_code), problems_(std::move(problems)) {}

InputError::InputError(Doubts problems) : Error(ExitCode::input, std::move(problems)) {}

InputError::InputError(Doubt problem) : InputError(Doubts{as_problem(std::move(problem))}) {}

InputError InputError::missing_file(const std::string& file, const std::string& needed_for) {
  return InputError(Doubt{"missing_file",
                          Severity::problem,
                          {file, "", 0, ""},
                          "there is no such file; " + needed_for + " names it",
                          "",
                          "",
                          "Put the file there or correct the name in field.toml"});
}

InputError InputError::missing_column(const std::string& file, const std::string& column) {
  return InputError(Doubt{"missing_column",
                          Severity::problem,
                          {file, "", 1, column},
                          "the table has no such column",
                          "",
                          "",
                          "Add the column, or name your own heading for it under [columns]"});
}

InputError InputError::bad_value(Place place, const std::string& found, const std::string& expected,
                                 const std::string& remedy) {
  return InputError(Doubt{"bad_value", Severity::problem, std::move(place),
                          "the value cannot be used", found, expected, remedy});
}

FileError::FileError(const std::string& code, const std::string& file, const std::string& text,
                     const std::string& remedy)
    : Error(ExitCode::file,
            {Doubt{code, Severity::problem, {file, "", 0, ""}, text, "", "", remedy}}) {}

UsageError::UsageError(const std::string& text, const std::string& remedy)
    : Error(ExitCode::usage, {Doubt{"usage", Severity::problem, {}, text, "", "", remedy}}) {}

Interrupted::Interrupted()
    : Error(ExitCode::interrupted, {Doubt{"interrupted",
                                          Severity::problem,
                                          {},
                                          "stopped before the end",
                                          "",
                                          "",
                                          "Nothing was changed; run the command again"}}) {}

void throw_if_problem(const Doubts& doubts) {
  if (has_problem(doubts)) throw InputError(only_problems(doubts));
}

}  // namespace evendrip
