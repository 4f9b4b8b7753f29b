// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/sample_doubts.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

namespace evendrip {
namespace {

constexpr double pressure_effect = 1.05;
constexpr double unmeasured_share = 0.1;

Doubt about_survey(const Survey& survey, std::string code, Severity severity, std::string text,
                   std::string remedy) {
  return {std::move(code),  severity, {"", "survey " + survey.id, 0, ""}, std::move(text), "", "",
          std::move(remedy)};
}

std::vector<const MeasuredEmitter*> emitters_in(const Survey& survey, int zone) {
  std::vector<const MeasuredEmitter*> emitters;
  for (const MeasuredEmitter& e : survey.emitters) {
    if (e.placement != Placement::outside && e.site.zone == zone) emitters.push_back(&e);
  }
  return emitters;
}

void judge_pressures(const Zone& zone, const std::vector<const MeasuredEmitter*>& emitters,
                     const Survey& survey, Doubts& doubts) {
  std::vector<double> pressures_kpa;
  for (const MeasuredEmitter* e : emitters) {
    if (!e->usable()) continue;
    for (const std::size_t record : e->records) {
      const auto pressure_kpa = survey.records.at(record).pressure_kpa;
      if (pressure_kpa && *pressure_kpa > 0) pressures_kpa.push_back(*pressure_kpa);
    }
  }
  if (pressures_kpa.size() < 2) return;
  const auto [low, high] = std::minmax_element(pressures_kpa.begin(), pressures_kpa.end());
  const double effect = std::pow(*high / *low, zone.emitter.exponent);
  if (!(effect > pressure_effect)) return;
  doubts.push_back(about_survey(
      survey, "mixed_test_pressures", Severity::note,
      fmt::format("catches of zone {} were taken at {:.0f} to {:.0f} kPa: pressure alone makes "
                  "discharges differ by {:.0f} %, and the uniformity holds it",
                  zone.id, *low, *high, 100 * (effect - 1)),
      "Read the division of variation, which takes pressure apart from the emitters"));
}

void judge_counts(const Field& field, const std::vector<const MeasuredEmitter*>& emitters,
                  const Survey& survey, Doubts& doubts) {
  std::map<int, int> dug;
  for (const MeasuredEmitter* e : emitters) {
    if (e->site.lateral >= 0) ++dug[e->site.lateral];
  }
  for (const auto& [number, count] : dug) {
    const Lateral& lateral = field.laterals.at(static_cast<std::size_t>(number));
    if (lateral.emitters <= 0 || count <= lateral.emitters) continue;
    doubts.push_back(about_survey(
        survey, "more_emitters_than_lateral", Severity::doubt,
        fmt::format("lateral {} has {} emitters, but {} were measured on it: some were measured "
                    "twice or stand elsewhere, and their limits are too narrow",
                    lateral.id, lateral.emitters, count),
        "Give repeated catches of one emitter the same place and a replicate number"));
  }
}

void judge_unmeasured(const Zone& zone, const std::vector<const MeasuredEmitter*>& emitters,
                      const Survey& survey, Doubts& doubts) {
  const auto unmeasured =
      std::count_if(emitters.begin(), emitters.end(), [](const MeasuredEmitter* e) {
        return e->state == EmitterState::dug_damage || e->state == EmitterState::not_found;
      });
  const auto looked_for = static_cast<double>(emitters.size());
  if (unmeasured == 0 || static_cast<double>(unmeasured) < unmeasured_share * looked_for) return;
  doubts.push_back(about_survey(
      survey, "many_not_measured", Severity::doubt,
      fmt::format("{} of {} emitters looked for in zone {} were damaged or not found: they are not "
                  "taken for clogged, but if they differ from the rest the figures do too",
                  unmeasured, emitters.size(), zone.id),
      "Dig others in their place"));
}

}  // namespace

Doubts judge_sample(const Field& field, const Survey& survey, int zone) {
  const Zone& judged = field.zones.at(static_cast<std::size_t>(zone));
  const std::vector<const MeasuredEmitter*> emitters = emitters_in(survey, zone);
  Doubts doubts;
  judge_pressures(judged, emitters, survey, doubts);
  judge_counts(field, emitters, survey, doubts);
  judge_unmeasured(judged, emitters, survey, doubts);
  return doubts;
}

}  // namespace evendrip
