// SPDX-License-Identifier: Apache-2.0
// What the evaluation concludes, in sentences.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "evaluation_parts.hpp"

namespace evendrip {
namespace {

std::string part_name(const EvaluatedPart& part) {
  return part.zone < 0 ? part.name : "zone " + part.name;
}

void add(std::vector<std::string>& all, std::string text) {
  if (text.empty()) return;
  text.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(text.front())));
  if (text.back() != '.' && text.back() != '!') text += ".";
  if (std::find(all.begin(), all.end(), text) == all.end()) all.push_back(std::move(text));
}

/// Statements that several zones share are told once, with all their names.
void add_of_zones(std::vector<std::string>& all, const Evaluation& evaluation,
                  std::vector<std::string> EvaluatedPart::*kind) {
  std::size_t most = 0;
  for (const EvaluatedPart& zone : evaluation.zones) most = std::max(most, (zone.*kind).size());
  for (std::size_t i = 0; i < most; ++i) {
    for (const EvaluatedPart& zone : evaluation.zones) {
      if (i >= (zone.*kind).size()) continue;
      const std::string& text = (zone.*kind)[i];
      std::string names;
      for (const EvaluatedPart& other : evaluation.zones) {
        const auto& theirs = other.*kind;
        if (std::find(theirs.begin(), theirs.end(), text) == theirs.end()) continue;
        names += (names.empty() ? "" : ", ") + other.name;
      }
      add(all, names.append(": ").append(text));
    }
  }
}

}  // namespace

std::string verdict_of(const Evaluation& evaluation, const EvaluatedPart& part) {
  const EvaluatedLevel& level = part.emitters;
  if (!level.told) {
    return fmt::format("Uniformity of the {} is not told: {}", part_name(part), level.why_not);
  }
  const MeasureLimits* limits = level.limits_of(Measure::low_quarter);
  std::string text = fmt::format("Low-quarter distribution uniformity of the {}: {:.0f} %",
                                 part_name(part), 100 * level.low_quarter_frac);
  if (limits != nullptr && limits->two_part.known) {
    text += fmt::format(" ({:.0f} to {:.0f}, {:g} % limits)", 100 * limits->two_part.lower,
                        100 * limits->two_part.upper, 100 * evaluation.options.confidence);
  }
  if (!part.ratings.empty() && part.ratings.front().rating.rated) {
    text += ": " + part.ratings.front().rating.text;
  }
  return text;
}

std::vector<std::string> conclusions_of(const Evaluation& evaluation, Conclusions kind) {
  std::vector<std::string> all;
  add_of_zones(all, evaluation, &EvaluatedPart::statements);
  std::string few;
  for (const EvaluatedPart& zone : evaluation.zones) {
    const bool told =
        std::any_of(zone.statements.begin(), zone.statements.end(), [](const std::string& text) {
          return text.find("rest on the model") != std::string::npos;
        });
    if (zone.emitters.count == 0 || !zone.rest_on_model || told) continue;
    few += (few.empty() ? "" : ", ") + zone.name;
  }
  if (!few.empty()) {
    add(all, fmt::format("{}: fewer than six laterals were dug on: these limits rest on the model",
                         few));
  }
  const auto dug = std::count_if(evaluation.zones.begin(), evaluation.zones.end(),
                                 [](const EvaluatedPart& z) { return z.emitters.told; });
  if (dug > 0 && dug < static_cast<std::ptrdiff_t>(evaluation.zones.size())) {
    add(all, fmt::format("The figures of the field are of the {} zones that can be told", dug));
  }
  if (evaluation.zones.size() > 1) {
    for (const std::string& text : evaluation.whole.statements) add(all, "Field: " + text);
  }
  if (evaluation.selection) {
    for (const std::string& text : evaluation.selection->statements) add(all, "Selection: " + text);
  }
  std::string missing;
  for (const std::string& text : evaluation.not_computed) {
    missing += (missing.empty() ? "Not computed: " : "; ") + text;
  }
  add(all, missing);
  if (kind == Conclusions::without_details) return all;
  add_of_zones(all, evaluation, &EvaluatedPart::details);
  if (evaluation.selection) {
    for (const std::string& text : evaluation.selection->details) add(all, "Selection: " + text);
  }
  return all;
}

std::vector<std::string> evaluation_cautions() {
  return {
      "Figures are of emitters dug free, from few holes; buried ones give less, and what was not "
      "dug is not known.",
      "Before digging have buried utilities located and marked. Shut the water off and let the "
      "pressure go before a line is opened.",
      "Chemicals are injected by their label and the law, with backflow prevention in place.",
      "Local codes and licensed practice come first."};
}

}  // namespace evendrip
