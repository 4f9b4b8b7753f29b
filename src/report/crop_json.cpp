// SPDX-License-Identifier: Apache-2.0
#include <algorithm>

#include <nlohmann/json.hpp>

#include "evendrip/maps/crop_sheets.hpp"
#include "evendrip/report/crop_story.hpp"
#include "evendrip/report/summary.hpp"

#include "json_values.hpp"
#include "look_first.hpp"

namespace evendrip {
namespace {

using Json = nlohmann::ordered_json;

template <class Items>
Json name_in(const Items& items, int index) {
  if (index < 0) return nullptr;
  return items[static_cast<std::size_t>(index)].id;
}

Json lags_json(const std::vector<VariogramLag>& lags) {
  Json list = Json::array();
  for (const VariogramLag& lag : lags) {
    list.push_back({{"distance_m", lag.mean_distance_m},
                    {"semivariance", finite(lag.semivariance)},
                    {"pairs", lag.pairs}});
  }
  return list;
}

Json travel_json(const TravelTime& travel) {
  Json curve = Json::array();
  for (std::size_t i = 0; i < travel.tried_s.size(); ++i) {
    curve.push_back(
        {{"tried_s", travel.tried_s[i]}, {"disagreement_frac", finite(travel.disagreement[i])}});
  }
  return {{"used_s", travel.used_s},
          {"estimated", travel.estimated},
          {"told", travel.why},
          {"curve", std::move(curve)}};
}

Json harvest_json(const std::optional<MappedHarvest>& harvest) {
  if (!harvest) return nullptr;
  const CleanedLog& cleaned = harvest->cleaned;
  Json steps = Json::array();
  for (const CleaningStep& step : cleaned.steps) {
    steps.push_back({{"step", record_class(step.step)},
                     {"records", step.records},
                     {"told", step.told},
                     {"source", step.source}});
  }
  return {{"records", harvest->log.size()},
          {"without_place", harvest->log.set_aside},
          {"kept", cleaned.kept()},
          {"read", harvest->log.method_text},
          {"moisture_basis_frac", harvest->log.basis_frac},
          {"travel_time", travel_json(cleaned.travel_time)},
          {"steps", std::move(steps)},
          {"opposite_pass_difference_before_frac", finite(cleaned.opposite_pass_difference_before)},
          {"opposite_pass_difference_after_frac", finite(cleaned.opposite_pass_difference_after)},
          {"variogram_before", lags_json(cleaned.before)},
          {"variogram_after", lags_json(cleaned.after)},
          {"variogram_model",
           {{"shape", to_text(harvest->map.variogram.shape)},
            {"nugget", harvest->map.variogram.nugget},
            {"partial_sill", harvest->map.variogram.partial_sill},
            {"range_m", harvest->map.variogram.range_m}}},
          {"summary", cleaned.summary}};
}

Json index_json(const std::optional<IndexLayer>& index) {
  if (!index) return nullptr;
  return {{"name", index->name},
          {"pixel_m", finite(index->pixel_m)},
          {"saturated_share_frac", index->saturated_share}};
}

Json waves_json(const std::vector<MachineWave>& waves) {
  Json list = Json::array();
  for (const MachineWave& wave : waves) {
    list.push_back({{"width_m", wave.width_m},
                    {"amplitude_frac", wave.amplitude},
                    {"amplitude_error_frac", finite(wave.amplitude_error)},
                    {"told", wave.told}});
  }
  return list;
}

std::size_t marked_as(const CropEvidence& evidence, Mark mark) {
  return static_cast<std::size_t>(
      std::count_if(evidence.data.begin(), evidence.data.end(),
                    [mark](const EvidenceDatum& datum) { return datum.mark == mark; }));
}

Json evidence_json(const std::optional<CropEvidence>& evidence) {
  if (!evidence) return nullptr;
  return {{"data", evidence->data.size()},
          {"median", finite(evidence->median)},
          {"relative_error_frac", finite(evidence->relative_error)},
          {"along_m", evidence->typical.along_m},
          {"across_m", evidence->typical.across_m},
          {"blur_m", evidence->typical.blur_m},
          {"laterals_seen", finite(evidence->laterals_seen)},
          {"smallest_width_m", finite(evidence->smallest_width_m)},
          {"smallest_length_m", finite(evidence->smallest_length_m)},
          {"days_since_water", finite(evidence->days_since_water)},
          {"marked_headland", marked_as(*evidence, Mark::headland)},
          {"marked_machine", marked_as(*evidence, Mark::machine)},
          {"machine_waves", waves_json(evidence->waves)},
          {"told", evidence->told}};
}

Json stripes_json(const std::vector<MachineStripe>& stripes) {
  Json list = Json::array();
  for (const MachineStripe& stripe : stripes) {
    list.push_back({{"width_m", stripe.width_m},
                    {"amplitude_frac", stripe.amplitude},
                    {"p", stripe.p},
                    {"crosses_zones", stripe.crosses_zones},
                    {"stated", stripe.stated},
                    {"told", stripe.told}});
  }
  return list;
}

Json water_json(const WaterPart& water) {
  Json explained = Json::array();
  for (const ExplainedShare& share : water.explained) {
    explained.push_back({{"by", share.by},
                         {"share_frac", finite(share.share)},
                         {"left_in_frac", finite(share.left_in)}});
  }
  return {{"explained", std::move(explained)},
          {"index_sd_frac", finite(water.index_sd)},
          {"rest_sd_frac", finite(water.rest_sd)},
          {"method", water.method_text}};
}

Json profiles_json(const Field& field, const std::vector<LateralProfile>& profiles) {
  Json list = Json::array();
  for (const LateralProfile& profile : profiles) {
    Json bins = Json::array();
    for (const ProfileBin& bin : profile.bins) {
      bins.push_back({{"station_m", bin.station_m},
                      {"mean", finite(bin.mean)},
                      {"lower_90", finite(bin.lower_90)},
                      {"upper_90", finite(bin.upper_90)},
                      {"laterals", bin.laterals}});
    }
    list.push_back({{"zone", name_in(field.zones, profile.zone)},
                    {"change_frac", finite(profile.fall)},
                    {"change_lower_90_frac", finite(profile.fall_lower_90)},
                    {"change_upper_90_frac", finite(profile.fall_upper_90)},
                    {"tail_level", finite(profile.tail_level)},
                    {"verdict", profile.verdict},
                    {"bins", std::move(bins)}});
  }
  return list;
}

Json zones_json(const std::vector<CropStatistics>& zones) {
  Json list = Json::array();
  for (const CropStatistics& zone : zones) {
    const bool known = zone.values.weight_cells > 0;
    list.push_back({{"zone", zone.name},
                    {"mean", known ? finite(zone.values.mean) : Json()},
                    {"sd", known ? finite(zone.values.sd) : Json()},
                    {"relative_mean", known ? finite(zone.relative_mean) : Json()}});
  }
  return list;
}

Json with_json(const Association& association) {
  const ModifiedTTest& test = association.test;
  const SpatialRegression& regression = association.regression;
  return {{"correlation", finite(test.correlation)},
          {"lower_90", finite(test.lower_90)},
          {"upper_90", finite(test.upper_90)},
          {"effective_pairs", finite(test.effective_pairs)},
          {"p", finite(test.p)},
          {"slope", finite(regression.slope)},
          {"slope_error", finite(regression.slope_error)},
          {"slope_p", finite(regression.slope_p)},
          {"slope_found", regression.converged},
          {"verdict", association.verdict}};
}

Json association_json(const HeardCrop& heard, const std::optional<LayerAssociation>& pairs) {
  if (!pairs || !heard.discharge) return nullptr;
  return {{"survey", heard.discharge->survey},
          {"pairs", pairs->emitters.size()},
          {"neighbours_within_m", pairs->neighbours_within_m},
          {"crop_over_m", pairs->along_m},
          {"with_crop", with_json(pairs->with_crop)},
          {"with_water_part", pairs->with_rest ? with_json(*pairs->with_rest) : Json()}};
}

Json layer_json(const HeardCrop& heard, const HeardLayer& one) {
  return {{"id", one.layer.id},
          {"kind", one.layer.kind},
          {"date", one.layer.date},
          {"unit", one.layer.unit},
          {"median", finite(one.layer.median)},
          {"method", one.layer.method_text},
          {"harvest", harvest_json(one.harvest)},
          {"index", index_json(one.index)},
          {"sees", evidence_json(one.evidence)},
          {"headland",
           {{"width_m", one.headland.width_m},
            {"level", finite(one.headland.level)},
            {"told", one.headland.why}}},
          {"machine_stripes", stripes_json(one.stripes)},
          {"water_part", water_json(one.water)},
          {"zones", zones_json(one.zones)},
          {"profiles", profiles_json(heard.field, one.profiles)},
          {"association", association_json(heard, one.association)},
          {"look_first", look_first_json(heard.field, one.screening.patches)},
          {"look_first_told", one.screening.summary}};
}

/// Of seasons of yield.
Json stability_json(const std::vector<CropOverDates>& all) {
  for (const CropOverDates& joined : all) {
    if (joined.kind != "yield") continue;
    return {{"seasons", joined.stability.seasons}, {"method", joined.stability.method_text}};
  }
  return nullptr;
}

Json places_json(const char* what, const std::vector<PlaceOverDates>& places) {
  Json list = Json::array();
  for (const PlaceOverDates& place : places) {
    Json each = Json::array();
    for (const double value : place.each) each.push_back(finite(value));
    list.push_back({{what, place.name},
                    {"dates", place.dates},
                    {"low_dates", place.low},
                    {"level", place.dates > 0 ? finite(place.level) : Json()},
                    {"variation_frac", finite(place.variation)},
                    {"each", std::move(each)}});
  }
  return list;
}

Json over_dates_json(const CropOverDates& joined) {
  Json dates = Json::array();
  for (const JoinedDate& date : joined.dates)
    dates.push_back({{"date", date.name}, {"layers", date.layers}});
  return {{"id", joined.id},
          {"kind", joined.kind},
          {"season", joined.season.empty() ? Json() : Json(joined.season)},
          {"dates", std::move(dates)},
          {"share_low_on_frac", joined.share_low_on},
          {"steady_share_frac", joined.steady_share},
          {"median_variation_frac", finite(joined.median_variation)},
          {"zones", places_json("zone", joined.zones)},
          {"laterals", places_json("lateral", joined.laterals)},
          {"method", joined.stability.method_text}};
}

}  // namespace

std::string crop_json(const HeardCrop& heard) {
  Json out = {{"schema", "evendrip-crop/1"},
              {"version", heard.version},
              {"libraries", heard.libraries},
              {"seed", heard.seed},
              {"field", heard.field.name},
              {"crs", {{"name", heard.field.crs.name}, {"code", heard.field.crs.code}}},
              {"cell_m", heard.grid.cell_m},
              {"inputs", Json::array()},
              {"layers", Json::array()}};
  for (const InputFile& input : heard.field.inputs) {
    out["inputs"].push_back({{"file", input.as_written}, {"sha256", input.sha256}});
  }
  for (const HeardLayer& one : heard.layers) out["layers"].push_back(layer_json(heard, one));
  out["stability"] = stability_json(heard.over_dates);
  out["over_dates"] = Json::array();
  for (const CropOverDates& joined : heard.over_dates)
    out["over_dates"].push_back(over_dates_json(joined));
  out["why_no_discharge"] = heard.discharge ? Json(nullptr) : Json(heard.why_no_discharge);
  out["doubts"] = Json::parse(doubts_json(doubts_of(heard)))["doubts"];
  return out.dump(1) + "\n";
}

}  // namespace evendrip
