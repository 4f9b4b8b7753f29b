// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/story.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <string>
#include <tuple>

#include <fmt/format.h>

namespace evendrip {
namespace {

void append(Doubts& all, const Doubts& more) {
  all.insert(all.end(), more.begin(), more.end());
}

}  // namespace

Doubts doubts_of(const Story& story) {
  Doubts all = story.field.doubts;
  append(all, story.survey.doubts);
  append(all, story.expectation.doubts);
  append(all, story.hydraulics_doubts);
  append(all, story.uniformity.doubts);
  append(all, story.surface.doubts());
  for (const CropStory& crop : story.crops) append(all, crop.layer.doubts);
  append(all, story.condition.doubts);
  append(all, story.findings.doubts);
  return all;
}

std::vector<std::string> not_computed_of(const Story& story) {
  std::vector<std::string> all = story.field.not_computed;
  for (const ExpectedZone& zone : story.expectation.zones) {
    if (zone.computed) continue;
    all.push_back(fmt::format("hydraulics of zone {}: {}",
                              story.field.zones[static_cast<std::size_t>(zone.zone)].id,
                              zone.why_not));
  }
  return all;
}

JudgedZone judged_zone(const Story& story, int zone) {
  std::vector<double> deliveries;
  std::vector<double> performances;
  for (const JudgedEmitter& judged : story.expectation.emitters) {
    const MeasuredEmitter& emitter =
        story.survey.emitters[static_cast<std::size_t>(judged.emitter)];
    if (!emitter.usable() || emitter.site.zone != zone) continue;
    if (std::isfinite(judged.delivery)) deliveries.push_back(judged.delivery);
    if (std::isfinite(judged.performance)) performances.push_back(judged.performance);
  }
  const auto mean = [](const std::vector<double>& values) {
    return values.empty() ? std::nan("") : mean_of(values);
  };
  const auto low = [&mean](const std::vector<double>& values) {
    return values.empty() ? std::nan("") : mean(values) * low_quarter_uniformity(values);
  };
  return {static_cast<int>(deliveries.size()),   mean(deliveries),   low(deliveries),
          static_cast<int>(performances.size()), mean(performances), low(performances)};
}

bool any_zone_computed(const Story& story) {
  const auto& zones = story.expectation.zones;
  return std::any_of(zones.begin(), zones.end(),
                     [](const ExpectedZone& zone) { return zone.computed; });
}

ReferenceKind reference_in(const Story& story, int zone) {
  if (zone < 0) return ReferenceKind::zone_median;
  return story.surface.zones()[static_cast<std::size_t>(zone)].reference;
}

Doubts summarised(const Doubts& doubts, std::size_t most) {
  struct Kind {
    std::size_t count = 0;
    std::size_t last_told = 0;  ///< index in `told`
  };
  std::map<std::tuple<Severity, std::string, std::string>, Kind> kinds;
  Doubts told;
  for (const Doubt& doubt : doubts) {
    Kind& kind = kinds[{doubt.severity, doubt.code, doubt.place.file}];
    if (++kind.count > most) continue;
    kind.last_told = told.size();
    told.push_back(doubt);
  }
  for (const auto& [name, kind] : kinds) {
    if (kind.count <= most) continue;
    told[kind.last_told].text += fmt::format(" (and {} more like it)", kind.count - most);
  }
  return told;
}

}  // namespace evendrip
