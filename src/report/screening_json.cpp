// SPDX-License-Identifier: Apache-2.0

#include <nlohmann/json.hpp>

#include "evendrip/report/screening_text.hpp"
#include "evendrip/report/summary.hpp"

#include "json_values.hpp"
#include "look_first.hpp"

namespace evendrip {
namespace {

using Json = nlohmann::ordered_json;

const std::string& zone_id(const Field& field, int zone) {
  return field.zones[static_cast<std::size_t>(zone)].id;
}

Json lateral_id(const Field& field, int lateral) {
  if (lateral < 0) return nullptr;
  return field.laterals[static_cast<std::size_t>(lateral)].id;
}

Json change_json(const Change& change) {
  const char* unit = change.dimension == Dimension::discharge ? "_lph" : "_kpa";
  return {{"name", to_text(change.evidence)},
          {"change_frac", finite(change.change)},
          {"sd_frac", finite(change.sd)},
          {"instrument_sd_frac", finite(change.instrument_sd)},
          {"against", to_text(change.against)},
          {std::string("measured") + unit, finite(change.measured)},
          {std::string("reference") + unit, finite(change.reference)},
          {"told", change.told}};
}

Json zone_json(const Field& field, const ScreenedZone& zone) {
  Json out = {{"zone", zone_id(field, zone.zone)},
              {"urgency", zone.urgency},
              {"told", !zone.not_told},
              {"state", state_code(zone.beliefs.front().state)},
              {"probability", zone.beliefs.front().probability},
              {"verdict", zone.verdict},
              {"check_first", zone.check_first},
              {"states", Json::array()},
              {"changes", Json::array()}};
  for (const StateBelief& belief : zone.beliefs) {
    out["states"].push_back({{"state", state_code(belief.state)},
                             {"name", to_text(belief.state)},
                             {"probability", belief.probability}});
  }
  for (const Change& change : zone.changes) out["changes"].push_back(change_json(change));
  return out;
}

Json flush_json(const Field& field, const std::optional<FlushCheck>& flush) {
  if (!flush) return nullptr;
  return {{"inlet_pressure_kpa", flush->inlet_pressure_kpa},
          {"lines_open", flush->lines_open},
          {"smallest_velocity_m_s", flush->smallest_velocity_m_s},
          {"slowest_lateral", lateral_id(field, flush->slowest_lateral)},
          {"inflow_lph", flush->inflow_lph},
          {"reaches_0_3_m_s", flush->reaches_0_3},
          {"reaches_0_5_m_s", flush->reaches_0_5},
          {"needed_inlet_kpa", finite(flush->needed_inlet_kpa)},
          {"lines_at_once", flush->lines_at_once}};
}

Json design_json(const Field& field, const DesignCheck& check) {
  const double limit = field.zones[static_cast<std::size_t>(check.zone)].lateral.max_pressure_kpa;
  return {{"zone", zone_id(field, check.zone)},
          {"emission_uniformity_frac", check.emission_uniformity},
          {"flow_variation_frac", check.flow_variation},
          {"smallest_lph", check.smallest_lph},
          {"mean_lph", check.mean_lph},
          {"largest_lph", check.largest_lph},
          {"lowest_kpa", check.lowest_kpa},
          {"lowest_lateral", lateral_id(field, check.lowest_lateral)},
          {"lowest_station_m", check.lowest_station_m},
          {"highest_kpa", check.highest_kpa},
          {"highest_lateral", lateral_id(field, check.highest_lateral)},
          {"highest_station_m", check.highest_station_m},
          {"max_pressure_kpa", limit > 0 ? Json(limit) : Json(nullptr)},
          {"passes_tape_limit", check.passes_tape_limit},
          {"largest_metered_flow_lph", check.supply_lph > 0 ? Json(check.supply_lph) : Json()},
          {"flush", flush_json(field, check.flush)}};
}

Json crop_json(const Field& field, const HeardLayer& heard) {
  return {{"id", heard.layer.id},
          {"kind", heard.layer.kind},
          {"date", heard.layer.date},
          {"look_first", look_first_json(field, heard.screening.patches)},
          {"look_first_told", heard.screening.summary}};
}

Json not_computed(const ScreeningStory& story) {
  Json list = Json::array();
  for (const ExpectedZone& zone : story.expectation.zones) {
    if (zone.computed) continue;
    list.push_back({{"zone", zone_id(story.field, zone.zone)}, {"why", zone.why_not}});
  }
  return list;
}

}  // namespace

std::string screening_json(const ScreeningStory& story) {
  Json out = {{"schema", "evendrip-screening/1"},
              {"version", story.version},
              {"libraries", story.libraries},
              {"field", story.field.name},
              {"survey", {{"id", story.survey.id}, {"date", story.survey.date}}}};
  for (const InputFile& input : story.field.inputs) {
    out["inputs"].push_back({{"file", input.as_written}, {"sha256", input.sha256}});
  }
  out["commissioning_date"] = story.commissioning ? Json(story.commissioning->date) : Json(nullptr);
  out["method"] = story.expectation.method_text();
  out["zones"] = Json::array();
  for (const ScreenedZone& zone : story.screening.zones) {
    out["zones"].push_back(zone_json(story.field, zone));
  }
  out["design"] = Json::array();
  for (const DesignCheck& check : story.design) {
    out["design"].push_back(design_json(story.field, check));
  }
  out["crops"] = Json::array();
  for (const HeardLayer& layer : story.crops) out["crops"].push_back(crop_json(story.field, layer));
  out["not_computed"] = not_computed(story);
  out["season_start_checks"] = season_start_checks();
  out["season_end_checks"] = season_end_checks();
  out["commissioning_written"] = story.written
                                     ? Json{{"file", commissioning_file},
                                            {"date", story.written->date},
                                            {"pressures", story.written->pressures.size()},
                                            {"flows", story.written->flows.size()}}
                                     : Json(nullptr);
  out["doubts"] = Json::parse(doubts_json(story.doubts))["doubts"];
  return out.dump(1) + "\n";
}

}  // namespace evendrip
