// SPDX-License-Identifier: Apache-2.0
#include "condition_json.hpp"

#include "condition_figures.hpp"
#include "condition_why.hpp"
#include "json_values.hpp"

#include <cmath>
#include <limits>

namespace evendrip {
namespace {

using Json = nlohmann::ordered_json;

Json judged_json(const Judged& judged) {
  return {{"value", finite(judged.value)},
          {"standard_error", finite(judged.sd)},
          {"limits_90", {finite(judged.lower_90), finite(judged.upper_90)}}};
}

Json uniformity_json(const ModelUniformity& uniformity) {
  if (uniformity.draws == 0) return nullptr;
  return {{"emitters_frac", judged_json(uniformity.emitters)},
          {"plants_frac", judged_json(uniformity.plants)},
          {"sample_frac", finite(uniformity.sample)},
          {"draws", uniformity.draws}};
}

Json shares_json(const ZoneState& zone) {
  if (!has_crop_shares(zone)) return nullptr;
  const CropShares& shares = zone.shares;
  return {{"station_frac", finite(shares.water_station)},
          {"lateral_frac", finite(shares.water_lateral)},
          {"group_frac", finite(shares.water_group)},
          {"local_frac", finite(shares.water_local)},
          {"network_frac", finite(shares.network)},
          {"soil_frac", finite(shares.soil)},
          {"edge_frac", finite(shares.edge)},
          {"ground_frac", finite(shares.ground)},
          {"error_frac", finite(shares.error)}};
}

Json placebo_json(const std::optional<PlaceboRank>& rank) {
  if (!rank) return nullptr;
  return {{"layouts", rank->layouts},       {"better", rank->better},
          {"gain", finite(rank->gain)},     {"p", finite(rank->p)},
          {"stands_out", rank->stands_out}, {"told", rank->told}};
}

Json voices_json(const ZoneState& zone) {
  Json list = Json::array();
  for (const CropVoice& voice : zone.voices)
    list.push_back({{"layer", voice.layer},
                    {"used", voice.used},
                    {"why", voice.why},
                    {"data", voice.data},
                    {"sees_single_laterals", voice.fine_enough},
                    {"smallest_width_m", finite(voice.smallest_width_m)},
                    {"smallest_length_m", finite(voice.smallest_length_m)},
                    {"before_irrigation", voice.before_irrigation},
                    {"machine_stripes", voice.machine},
                    {"taken_out", voice.taken_out},
                    {"moved_m", voice.moved_m},
                    {"place", voice.place},
                    {"reach", voice.reach},
                    {"age", voice.age},
                    {"placebo", placebo_json(voice.placebo)}});
  return list;
}

Json ids_of(const Field& field, const std::vector<int>& laterals) {
  Json ids = Json::array();
  for (const int lateral : laterals)
    ids.push_back(field.laterals[static_cast<std::size_t>(lateral)].id);
  return ids;
}

Json may_lie_json(const Field& field, const FoundFault& found) {
  Json list = Json::array();
  for (const LikelyPlace& place : found.places) {
    const Fault& fault = place.shared.fault;
    const auto line = static_cast<std::size_t>(fault.line);
    list.push_back({{"line", fault.on_lateral ? field.laterals[line].id : field.manifolds[line].id},
                    {"laterals", ids_of(field, place.shared.laterals)},
                    {"station_m", fault.station_m},
                    {"probability", finite(place.weight)}});
  }
  return list;
}

Json faults_json(const Story& story, std::size_t z) {
  Json list = Json::array();
  const NetworkExplanation& network = story.condition.zones[z].network;
  for (std::size_t i = 0; i < network.faults.size(); ++i) {
    const FoundFault& one = network.faults[i];
    const auto line = static_cast<std::size_t>(one.fault.line);
    list.push_back(
        {{"id", fault_name(story.condition, z, i)},
         {"kind", to_text(one.fault.kind)},
         {"pipe", one.fault.on_lateral ? "lateral" : "manifold"},
         {"line",
          one.fault.on_lateral ? story.field.laterals[line].id : story.field.manifolds[line].id},
         {"laterals", ids_of(story.field, one.laterals)},
         {"station_m", one.fault.station_m},
         {"severity_frac",
          one.fault.kind == FaultKind::shut ? Json(nullptr) : finite(one.fault.severity)},
         {"log_odds", finite(one.log_odds)},
         {"delivery_frac", finite(one.delivery)},
         {"runner_up", one.runner_up},
         {"told", one.told},
         {"may_lie", may_lie_json(story.field, one)}});
  }
  return list;
}

Json place_json(const Field& field, const SegmentGrid& grid, const SegmentPatch& patch) {
  const auto id = [&](int row) {
    return field.laterals[static_cast<std::size_t>(grid.laterals[static_cast<std::size_t>(row)])]
        .id;
  };
  return {{"first_lateral", id(patch.first_row)},
          {"last_lateral", id(patch.last_row)},
          {"from_m", patch.from_m},
          {"to_m", patch.to_m}};
}

Json patches_json(const Field& field, const ZoneState& zone, WaterVerdict verdict) {
  Json list = Json::array();
  for (const ToldPatch& one : patches_of(field, zone, verdict)) {
    Json patch = place_json(field, zone.grid, one.patch);
    patch["emitters"] = one.emitters;
    patch["delivery_frac"] = finite(one.delivery);
    patch["performance_frac"] = finite(one.performance);
    list.push_back(std::move(patch));
  }
  return list;
}

Json sharp_patches_json(const Field& field, const ZoneState& zone) {
  Json list = Json::array();
  for (const ToldSharpPatch& one : sharp_patches(zone)) {
    Json patch = place_json(field, zone.grid, one.patch);
    patch["water"] = !one.of_soil;
    list.push_back(std::move(patch));
  }
  return list;
}

Json crop_patches_json(const Field& field, const ZoneState& zone) {
  Json list = Json::array();
  for (const CropPatchTold& one : low_crop_patches(field, zone)) {
    Json patch = place_json(field, zone.grid, one.patch);
    patch["relative_crop"] = finite(one.relative);
    list.push_back(std::move(patch));
  }
  return list;
}

Json contradictions_json(const Field& field, const ZoneState& zone) {
  Json list = Json::array();
  for (const LayerContradiction& one : zone.contradictions)
    for (const SegmentPatch& patch : contradicted_patches(zone, one)) {
      Json place = place_json(field, zone.grid, patch);
      place["layer"] = one.layer;
      list.push_back(std::move(place));
    }
  return list;
}

Json before_json(const Field& field, const ZoneState& zone) {
  Json list = Json::array();
  for (const SegmentPatch& patch : low_before_patches(field, zone)) {
    Json place = place_json(field, zone.grid, patch);
    place["layer"] = zone.layer_before;
    list.push_back(std::move(place));
  }
  return list;
}

Json counts_json(const VerdictCounts& counts) {
  return {{"all", counts.all()},
          {"enough", counts.enough},
          {"low", counts.low},
          {"not_known", counts.not_known},
          {"low_one_by_one", counts.low_one_by_one}};
}

Json zone_json(const Story& story, std::size_t z) {
  const ZoneState& zone = story.condition.zones[z];
  const bool by_holes = zone.judged && !told_without_holes(zone);
  Json out = {
      {"zone", story.field.zones[z].id},
      {"judged", zone.judged},
      {"judged_by", judged_by(zone)},
      {"why_not", zone.why_not},
      {"layer_used", zone.layer_used.empty() ? Json(nullptr) : Json(zone.layer_used)},
      {"verified", zone.verified},
      {"told", zone.told},
      {"doubtful", zone.doubtful},
      {"done_since", zone.done_since},
      {"relative_to", to_text(reference_in(story, static_cast<int>(z)))},
      {"holes", zone.grid.segments() > 0 ? holes_of(story, zone).size() : 0},
      {"plugged_share_frac", by_holes ? finite(zone.condition.plugged_share) : Json(nullptr)}};
  out["emitters"] = by_holes ? counts_json(verdicts_in(story.field, zone)) : Json(nullptr);
  out["uniformity"] = uniformity_json(zone.uniformity);
  out["low"] = by_holes ? patches_json(story.field, zone, WaterVerdict::low) : Json::array();
  out["not_known"] =
      by_holes ? patches_json(story.field, zone, WaterVerdict::not_known) : Json::array();
  out["crop_low_by_shape"] = crop_patches_json(story.field, zone);
  out["crop_contradicts"] = contradictions_json(story.field, zone);
  out["low_before_irrigation"] = before_json(story.field, zone);
  out["crop_ends_sharply"] = sharp_patches_json(story.field, zone);
  out["crop_bends_at_delivery_frac"] = zone.bend ? Json(zone.bend->need) : Json(nullptr);
  out["crop_shares"] = shares_json(zone);
  out["crop_layers"] = voices_json(zone);
  out["network"] = {{"told", zone.network.told},
                    {"gauge_gain", finite(zone.network.gauge_gain)},
                    {"faults", faults_json(story, z)}};
  return out;
}

Json moved_json(const Story& story) {
  Json list = Json::array();
  for (const Moved& one : what_moved(story))
    list.push_back({{"place", one.place},
                    {"kind", one.finding ? "finding" : "lateral"},
                    {"zone", story.field.zones[static_cast<std::size_t>(one.zone)].id},
                    {"performance_frac", finite(one.performance)},
                    {"delivery_frac", finite(one.delivery)},
                    {"level", one.parts.level},
                    {"station", one.parts.station},
                    {"lateral", one.parts.lateral},
                    {"group", one.parts.group},
                    {"local", one.parts.local},
                    {"company", one.parts.company},
                    {"network", one.parts.network},
                    {"from_holes", one.parts.by_holes},
                    {"from_crop", one.parts.by_crop},
                    {"from_meter", one.parts.by_meter},
                    {"from_spread", one.parts.by_spread},
                    {"holes", one.holes},
                    {"caught_frac", finite(one.caught)},
                    {"plugged", one.holes > 0 ? finite(one.plugged) : Json(nullptr)},
                    {"told", one.told}});
  return list;
}

}  // namespace

Json condition_json(const Story& story) {
  if (story.condition.zones.empty()) return nullptr;
  Json out = {{"schema", "evendrip-condition/1"}, {"method", condition_method(story)}};
  out["zones"] = Json::array();
  for (std::size_t z = 0; z < story.condition.zones.size(); ++z)
    out["zones"].push_back(zone_json(story, z));
  out["what_moved"] = moved_json(story);
  return out;
}

}  // namespace evendrip
