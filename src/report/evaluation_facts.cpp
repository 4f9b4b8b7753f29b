// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "evendrip/report/evaluation.hpp"

namespace evendrip {
namespace {

std::string quantity(const Field& field, double canonical, Dimension dimension, int digits = 3) {
  return format_quantity(canonical, dimension, field.report_units, digits);
}

/// Figures that are known to as many digits as are shown.
std::string precise(const Field& field, double canonical, Dimension dimension) {
  return format_quantity(canonical, dimension, field.report_units, 3, EndZeros::kept);
}

std::string ends_text(LateralEnds ends) {
  if (ends == LateralEnds::flush_manifold) return "flush manifold";
  return ends == LateralEnds::closed ? "closed ends" : "fed from both ends";
}

std::string system_text(const Evaluation& evaluation) {
  const Field& field = evaluation.field;
  const LateralSpec& lateral = field.zones.front().lateral;
  std::string text = fmt::format(
      "{} {}, {}; {} laterals", field.zones.size(), field.zones.size() == 1 ? "zone" : "zones",
      precise(field, evaluation.whole.area_ha, Dimension::area), field.laterals.size());
  if (lateral.spacing_m > 0) {
    text += fmt::format(" {} apart", quantity(field, lateral.spacing_m, Dimension::length));
  }
  if (lateral.depth_m > 0) {
    text += fmt::format(", {} deep", quantity(field, lateral.depth_m, Dimension::length));
  }
  if (lateral.installed_year > 0) text += fmt::format(", of {}", lateral.installed_year);
  std::map<std::string, std::string> ends;
  for (const Zone& zone : field.zones) {
    std::string& ids = ends[ends_text(zone.lateral.ends)];
    ids += (ids.empty() ? "" : ", ") + zone.id;
  }
  for (const auto& [kind, ids] : ends) {
    text += "; " + kind + (ends.size() > 1 ? " (" + ids + ")" : "");
  }
  return text;
}

std::string emitter_text(const Field& field) {
  const EmitterSpec& spec = field.zones.front().emitter;
  std::string text = fmt::format("{} at {}, every {}; discharge goes with pressure to the {:g}",
                                 precise(field, spec.discharge_lph, Dimension::discharge),
                                 quantity(field, spec.pressure_kpa, Dimension::pressure),
                                 quantity(field, spec.spacing_m, Dimension::length), spec.exponent);
  if (spec.manufacturing_cv > 0) {
    text += fmt::format("; maker's scatter {:.0f} %", 100 * spec.manufacturing_cv);
  }
  text += fmt::format("; rating good to {:.0f} %", 100 * spec.rated_tolerance_frac);
  return text;
}

std::string counted(std::size_t count, const std::string& what) {
  return fmt::format("{} {}{}", count, what, count == 1 ? "" : "s");
}

std::string counts_text(const Evaluation& evaluation) {
  const EvaluatedPart& whole = evaluation.whole;
  std::string text = counted(whole.sample.emitters.size(), "emitter") + " used, on " +
                     counted(static_cast<std::size_t>(whole.laterals), "lateral");
  if (whole.pits > 0) text += " in " + counted(static_cast<std::size_t>(whole.pits), "pit");
  return text + fmt::format("; not counted: {} damaged by digging, {} not found", whole.damaged,
                            whole.not_found);
}

std::string selection_text(const Evaluation& evaluation) {
  if (!evaluation.selection || !evaluation.options.selection) return "";
  const EvaluatedPart& part = *evaluation.selection;
  return fmt::format("{}; {}, {} on {}", evaluation.options.selection->text,
                     precise(evaluation.field, part.area_ha, Dimension::area),
                     counted(part.sample.emitters.size(), "emitter"),
                     counted(static_cast<std::size_t>(part.laterals), "lateral"));
}

std::string measuring_text(const Evaluation& evaluation) {
  std::string text = "volume over time of dug emitters";
  for (const SurveySource& source : evaluation.field.surveys) {
    if (source.id != evaluation.survey.id) continue;
    if (source.volume_graduation_ml > 0) {
      text +=
          ", read to " + quantity(evaluation.field, source.volume_graduation_ml, Dimension::volume);
    }
    if (source.water_temperature_stated) {
      text += ", water " +
              quantity(evaluation.field, source.water_temperature_c, Dimension::temperature);
    }
  }
  if (evaluation.whole.measuring_cv > 0) {
    text += fmt::format("; replicates differ by {:.1f} % of a reading",
                        100 * evaluation.whole.measuring_cv);
  }
  return text;
}

std::string limits_text(const EvaluationOptions& options) {
  std::string text = fmt::format(
      "{:g} %: plugged share by binomial limits that allow for clusters on laterals; the rest by "
      "a studentised bootstrap over laterals, pits and emitters, {} draws, seed {}",
      100 * options.confidence, options.draws, options.seed);
  if (const auto simulated = simulated_coverage(LimitMethod::two_part)) {
    text += fmt::format(
        ". In simulated zones of many kinds nominal 95 % limits held the true low-quarter "
        "uniformity in {:.0f} to {:.0f} %",
        100 * simulated->least_frac, 100 * simulated->most_frac);
  }
  return text;
}

}  // namespace

std::vector<LabelledText> evaluation_facts(const Evaluation& evaluation) {
  std::vector<LabelledText> facts;
  if (!evaluation.field.zones.empty()) {
    facts.emplace_back("System", system_text(evaluation));
    facts.emplace_back("Emitters", emitter_text(evaluation.field));
  }
  facts.emplace_back("Measured", measuring_text(evaluation));
  facts.emplace_back("Counts", counts_text(evaluation));
  if (evaluation.selection) facts.emplace_back("Selection", selection_text(evaluation));
  const bool any =
      std::any_of(evaluation.expectation.zones.begin(), evaluation.expectation.zones.end(),
                  [](const ExpectedZone& zone) { return zone.computed; });
  facts.emplace_back("Expected", any ? evaluation.expectation.method_text()
                                     : std::string("not computed, see below; the map is relative "
                                                   "to the mean of the zone"));
  facts.emplace_back("Quarter", to_text(evaluation.options.rule));
  facts.emplace_back("Limits", limits_text(evaluation.options));
  return facts;
}

}  // namespace evendrip
