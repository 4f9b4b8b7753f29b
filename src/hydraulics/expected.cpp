// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/expected.hpp"

#include <algorithm>
#include <functional>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "doubt_places.hpp"
#include "evendrip/geo/index.hpp"
#include "judged_emitters.hpp"
#include "zone_expectation.hpp"

namespace evendrip {
namespace {

/// Once without witnesses of wear, then with those of the time before.
constexpr int meetings = 3;

std::string words(FrictionLaw law) {
  switch (law) {
    case FrictionLaw::darcy_weisbach:
      return "Darcy-Weisbach";
    case FrictionLaw::laminar_blasius:
      return "laminar and Blasius";
    case FrictionLaw::blasius:
      return "Blasius";
    case FrictionLaw::hazen_williams:
      return "Hazen-Williams";
  }
  return to_text(law);
}

std::string method_of(const Field& field, const HydraulicOptions& options) {
  std::string laws;
  std::set<std::string> named;
  for (const Zone& zone : field.zones) {
    const bool own_c = zone.lateral.hazen_williams_c > 0;
    const std::string law = words(own_c ? FrictionLaw::hazen_williams : options.law);
    if (named.insert(law).second) laws += (laws.empty() ? "" : " and ") + law;
  }
  return fmt::format(
      "expected discharge by hydraulics ({}, water {:g} degC), clean system at the inlet pressure "
      "that the gauges say",
      laws.empty() ? words(options.law) : laws, options.water_temperature_c);
}

/// `work` of one part out of several, its progress told as a share of the whole.
Work part_of_work(const Work& work, int part, int parts) {
  Work result = work;
  if (work.progress) {
    result.progress = [progress = work.progress, part, parts](double done) {
      progress((part + done) / parts);
    };
  }
  return result;
}

void for_each_zone(const Work& work, std::vector<ZoneWork>& works,
                   const std::function<void(ZoneWork&)>& body) {
  for_each_chunk(work, works.size(), 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) body(works[i]);
  });
}

/// Witnesses of every zone at the pressures found so far.
std::vector<std::vector<WearWitness>> all_witnesses(const Field& field, const Survey& survey,
                                                    const std::vector<ZoneWork>& works,
                                                    Doubts& doubts) {
  const auto judged = judge_emitters(field, survey, works);
  std::vector<std::vector<WearWitness>> result(works.size());
  for (std::size_t i = 0; i < works.size(); ++i) {
    if (!works[i].zone.computed) continue;
    result[i] = wear_witnesses(field, survey, judged, works, static_cast<int>(i), doubts);
  }
  return result;
}

/// What zones have in common is told once.
void append(Doubts& doubts, const Doubts& more) {
  for (const Doubt& doubt : more) tell_once(doubts, doubt);
}

}  // namespace

/// Laterals of every computed zone by place.
struct Expectation::Index {
  struct OfZone {
    LineIndex lines;
    std::vector<int> laterals;  ///< positions in ExpectedZone::laterals, by line of `lines`
  };
  std::vector<std::unique_ptr<OfZone>> zones;  ///< null where not computed
  std::vector<std::pair<int, int>> lateral;    ///< of each lateral of the field: zone, position
  double scale_factor = 1;
  std::string method;
};

Expectation::Expectation() = default;
Expectation::~Expectation() = default;
Expectation::Expectation(Expectation&&) noexcept = default;
Expectation& Expectation::operator=(Expectation&&) noexcept = default;

namespace {

std::unique_ptr<Expectation::Index> index_of(const Field& field,
                                             const std::vector<ExpectedZone>& zones) {
  auto index = std::make_unique<Expectation::Index>();
  index->scale_factor = field.scale_factor;
  index->lateral.assign(field.laterals.size(), {-1, -1});
  for (const ExpectedZone& zone : zones) {
    index->zones.push_back(nullptr);
    if (!zone.computed) continue;
    std::vector<Line> lines;
    std::vector<int> laterals;
    for (std::size_t i = 0; i < zone.laterals.size(); ++i) {
      const auto lateral = static_cast<std::size_t>(zone.laterals[i].lateral);
      index->lateral[lateral] = {zone.zone, static_cast<int>(i)};
      if (zone.laterals[i].station_m.empty()) continue;
      lines.push_back(field.laterals[lateral].line);
      laterals.push_back(static_cast<int>(i));
    }
    index->zones.back() = std::make_unique<Expectation::Index::OfZone>(
        Expectation::Index::OfZone{LineIndex(lines), std::move(laterals)});
  }
  return index;
}

Expectation::Value value_at(const ExpectedLateral& lateral, double station_m) {
  return {along_lateral(lateral, lateral.pressure_kpa, station_m),
          along_lateral(lateral, lateral.discharge_lph, station_m)};
}

}  // namespace

std::optional<Expectation::Value> Expectation::at(Point place, int zone) const {
  if (!index || zone < 0 || static_cast<std::size_t>(zone) >= index->zones.size()) {
    return std::nullopt;
  }
  const auto& of_zone = index->zones[static_cast<std::size_t>(zone)];
  if (!of_zone) return std::nullopt;
  const auto near = of_zone->lines.nearest(place, 1);
  if (near.empty()) return std::nullopt;
  const int position = of_zone->laterals[static_cast<std::size_t>(near.front().line)];
  const auto& laterals = zones[static_cast<std::size_t>(zone)].laterals;
  return value_at(laterals[static_cast<std::size_t>(position)],
                  near.front().projection.station_m / index->scale_factor);
}

std::optional<Expectation::Value> Expectation::at_station(int lateral, double station_m) const {
  if (!index || lateral < 0 || static_cast<std::size_t>(lateral) >= index->lateral.size()) {
    return std::nullopt;
  }
  const auto [zone, position] = index->lateral[static_cast<std::size_t>(lateral)];
  if (zone < 0) return std::nullopt;
  const auto& known =
      zones[static_cast<std::size_t>(zone)].laterals[static_cast<std::size_t>(position)];
  if (known.station_m.empty()) return std::nullopt;
  return value_at(known, station_m);
}

std::string Expectation::method_text() const {
  return index ? index->method : "";
}

Expectation expect(const Field& field, const Survey& survey, const HydraulicOptions& options,
                   const Work& work) {
  const Terrain terrain(field);
  std::vector<ZoneWork> works(field.zones.size());
  for (std::size_t i = 0; i < works.size(); ++i) works[i].zone.zone = static_cast<int>(i);
  const int parts = meetings + 2;
  for_each_zone(part_of_work(work, 0, parts), works, [&](ZoneWork& zone) {
    zone = build_zone(field, survey, zone.zone.zone, terrain, options);
  });
  std::vector<std::vector<WearWitness>> witnesses(works.size());
  Doubts of_witnesses;
  for (int i = 0; i < meetings; ++i) {
    for_each_zone(part_of_work(work, 1 + i, parts), works, [&](ZoneWork& zone) {
      meet_zone(field, survey, witnesses[static_cast<std::size_t>(zone.zone.zone)], zone);
    });
    if (i + 1 == meetings) break;
    of_witnesses.clear();
    witnesses = all_witnesses(field, survey, works, of_witnesses);
  }
  for_each_zone(part_of_work(work, parts - 1, parts), works,
                [&](ZoneWork& zone) { finish_zone(field, zone); });

  Expectation result;
  for (const JudgedHole& hole : judge_emitters(field, survey, works)) {
    result.emitters.push_back(hole.emitter);
  }
  for (ZoneWork& zone : works) {
    append(result.doubts, zone.of_network);
    append(result.doubts, zone.of_gauges);
    append(result.doubts, zone.of_result);
    result.zones.push_back(std::move(zone.zone));
  }
  append(result.doubts, of_witnesses);
  result.index = index_of(field, result.zones);
  result.index->method = method_of(field, options);
  return result;
}

HydraulicOptions hydraulic_options(const Field& field, const std::string& survey_id) {
  HydraulicOptions options;
  const SurveySource* chosen = nullptr;
  for (const SurveySource& source : field.surveys) {
    const bool latest = survey_id.empty() && (!chosen || source.date >= chosen->date);
    if (source.id == survey_id || latest) chosen = &source;
  }
  if (chosen) options.water_temperature_c = chosen->water_temperature_c;
  return options;
}

}  // namespace evendrip
