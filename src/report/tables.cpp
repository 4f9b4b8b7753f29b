// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/tables.hpp"

#include "condition_tables.hpp"
#include "crop_statistics_cells.hpp"
#include "doubts_table.hpp"
#include "hydraulics_tables.hpp"
#include "surface_tables.hpp"
#include "table_cells.hpp"

#include <cmath>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

using Shape = ResultLayer::Shape;

std::string state_name(const MeasuredEmitter& emitter) {
  if (emitter.placement == Placement::ambiguous) return "ambiguous";
  if (emitter.placement == Placement::outside) return "outside";
  return to_text(emitter.state);
}

ResultLayer zones_layer(const Story& story) {
  ResultLayer layer{"zones", "Zones with their uniformity", Shape::polygon, {}, {}};
  layer.fields = {text("id", "zone"),
                  number("area_ha", "area on the ground, ha"),
                  integer("emitters", "emitters used"),
                  integer("plugged", "emitters without discharge"),
                  integer("damaged", "damaged by digging, not counted"),
                  integer("not_found", "emitters not found"),
                  number("mean_lph", "mean discharge, L/h"),
                  number("median_lph", "median discharge, L/h"),
                  number("cv", "coefficient of variation"),
                  number("low_quarter_frac", "low-quarter distribution uniformity, 0-1"),
                  number("christiansen_frac", "Christiansen's coefficient, 0-1"),
                  number("statistical_frac", "statistical uniformity, 0-1"),
                  text("surface", "how the zone was mapped"),
                  text("reference", "relative discharge is discharge over this")};
  for (std::size_t i = 0; i < story.field.zones.size(); ++i) {
    const UniformityResult& u = story.uniformity.zones[i];
    const bool known = u.emitters > 0;
    const double none = std::nan("");
    layer.rows.push_back(
        {story.field.zones[i].area,
         {CellValue{story.field.zones[i].id}, cell(u.area_ha), cell(u.emitters), cell(u.plugged),
          cell(u.damaged), cell(u.not_found), cell(known ? u.mean_lph : none),
          cell(known ? u.median_lph : none), cell(known ? u.cv : none),
          cell(known ? u.low_quarter_frac : none), cell(known ? u.christiansen_frac : none),
          cell(known ? u.statistical_frac : none), CellValue{story.surface.zones()[i].why},
          CellValue{to_text(story.surface.zones()[i].reference)}}});
  }
  return layer;
}

ResultLayer laterals_layer(const Story& story) {
  ResultLayer layer{"laterals", "Laterals from their supply end", Shape::line, {}, {}};
  layer.fields = {text("id", "lateral"), text("zone", "zone"),
                  number("length_m", "length on the ground, m"),
                  integer("emitters", "emitters by spacing and first offset")};
  for (const Lateral& lateral : story.field.laterals) {
    layer.rows.push_back({lateral.line,
                          {CellValue{lateral.id}, id_of(story.field.zones, lateral.zone),
                           cell(lateral.length_m), cell(lateral.emitters)}});
  }
  return layer;
}

/// Discharge over the reference of the zone, NaN where there is none.
double relative_of(const Story& story, std::size_t number) {
  const MeasuredEmitter& emitter = story.survey.emitters[number];
  if (emitter.site.zone < 0 || !emitter.usable()) return std::nan("");
  if (reference_in(story, emitter.site.zone) == ReferenceKind::clean_system)
    return story.expectation.emitters[number].delivery;
  const double median =
      story.uniformity.zones[static_cast<std::size_t>(emitter.site.zone)].median_lph;
  return median > 0 ? emitter.discharge_lph / median : std::nan("");
}

std::vector<LayerField> emitter_fields() {
  return {text("name", "record of the first replicate"),
          text("zone", "zone"),
          text("lateral", "lateral, if it could be told"),
          number("station_m", "distance from the supply end, m"),
          number("discharge_lph", "discharge, L/h"),
          number("relative", "discharge over the reference"),
          text("reference", "what relative is relative to"),
          integer("replicates", "catches"),
          text("state", "state when dug, or ambiguous"),
          number("lateral_probability", "probability of the lateral given"),
          text("pit", "pit"),
          number("expected_lph", "discharge of a clean system there, L/h"),
          number("delivery", "discharge over expected_lph: what the plant gets"),
          number("pressure_kpa", "pressure at the emitter as the system is, kPa"),
          integer("pressure_measured", "1: measured in the pit; 0: modelled"),
          number("performance", "discharge over that of a sound emitter at pressure_kpa"),
          number("performance_sd", "its standard error, without the rated tolerance")};
}

/// Nothing of an emitter that digging damaged or that was not found.
void add_judgement(const Story& story, std::size_t number, std::vector<CellValue>& values) {
  if (number >= story.expectation.emitters.size() || !story.survey.emitters[number].usable()) {
    values.resize(values.size() + 6);
    return;
  }
  const JudgedEmitter& judged = story.expectation.emitters[number];
  const bool known = judged.pressure_measured || std::isfinite(judged.expected_lph);
  values.push_back(cell(judged.expected_lph));
  values.push_back(cell(judged.delivery));
  values.push_back(known ? cell(judged.pressure_kpa) : CellValue{});
  values.push_back(known ? cell(judged.pressure_measured ? 1 : 0) : CellValue{});
  values.push_back(cell(judged.performance));
  values.push_back(std::isfinite(judged.performance) ? cell(judged.performance_sd) : CellValue{});
}

ResultLayer emitters_layer(const Story& story) {
  ResultLayer layer{
      "emitters", "Measured emitters, means of their replicates", Shape::point, {}, {}};
  layer.fields = emitter_fields();
  for (std::size_t i = 0; i < story.survey.emitters.size(); ++i) {
    const MeasuredEmitter& emitter = story.survey.emitters[i];
    const bool placed = emitter.site.lateral >= 0;
    const bool zoned = emitter.site.zone >= 0;
    std::vector<CellValue> values = {
        CellValue{emitter.name},
        id_of(story.field.zones, emitter.site.zone),
        id_of(story.field.laterals, emitter.site.lateral),
        placed ? cell(emitter.site.station_m) : CellValue{},
        cell(emitter.discharge_lph),
        cell(relative_of(story, i)),
        zoned ? CellValue{to_text(reference_in(story, emitter.site.zone))} : CellValue{},
        cell(emitter.replicates),
        CellValue{state_name(emitter)},
        cell(emitter.lateral_probability),
        CellValue{emitter.pit}};
    add_judgement(story, i, values);
    layer.rows.push_back({emitter.site.place, std::move(values)});
  }
  return layer;
}

ResultLayer findings_layer(const Story& story) {
  ResultLayer layer{"findings", "Low places, most urgent first", Shape::polygon, {}, {}};
  layer.fields = {text("id", "finding"),
                  text("kind", "what is low"),
                  text("zone", "zone that holds most of it"),
                  number("area_ha", "area on the ground, ha"),
                  number("mean_relative", "mean relative discharge"),
                  number("mean_discharge_lph", "mean discharge, L/h"),
                  number("mean_crop", "mean crop index over the field's median"),
                  text("advice", "what to do first")};
  for (const Finding& finding : story.findings.list) {
    layer.rows.push_back({finding.outline,
                          {CellValue{finding.id}, CellValue{to_text(finding.kind)},
                           id_of(story.field.zones, finding.zone), cell(finding.area_ha),
                           cell(finding.mean_relative), cell(finding.mean_discharge_lph),
                           cell(finding.mean_crop), CellValue{advice_for(finding.kind)}}});
  }
  return layer;
}

ResultLayer visits_layer(const Story& story) {
  ResultLayer layer{"visits", "Places to visit, in walking order", Shape::point, {}, {}};
  layer.fields = {text("name", "waypoint"),
                  integer("turn", "place in the walking order"),
                  text("finding", "finding"),
                  text("lateral", "lateral"),
                  number("station_m", "from the supply end, m"),
                  text("task", "what to do there"),
                  text("caution", "what to beware of")};
  int turn = 0;
  for (const Visit& visit : story.visits.visits) {
    layer.rows.push_back(
        {visit.place,
         {CellValue{visit.name}, cell(++turn), id_of(story.findings.list, visit.finding),
          id_of(story.field.laterals, visit.lateral),
          visit.lateral >= 0 ? cell(visit.station_m) : CellValue{}, CellValue{visit.task},
          CellValue{visit.caution}}});
  }
  return layer;
}

ResultLayer crop_layer(const Story& story, const std::string& name,
                       std::vector<CropStatistics> CropStory::*which) {
  ResultLayer layer{name, "Crop statistics with exact shares of cells", Shape::none, {}, {}};
  layer.fields = statistics_fields("name", "zone or lateral");
  for (const CropStory& crop : story.crops) {
    for (const CropStatistics& s : crop.*which)
      layer.rows.push_back({{}, statistics_values(crop.layer, s)});
  }
  return layer;
}

}  // namespace

std::vector<ResultLayer> result_layers(const Story& story) {
  std::vector<ResultLayer> layers = {zones_layer(story),
                                     laterals_layer(story),
                                     emitters_layer(story),
                                     expected_emitters_layer(story),
                                     pipes_layer(story),
                                     ports_layer(story),
                                     zone_hydraulics_layer(story),
                                     meter_layer(story),
                                     design_layer(story),
                                     findings_layer(story),
                                     visits_layer(story),
                                     crop_layer(story, "crop_by_zone", &CropStory::zones),
                                     crop_layer(story, "crop_by_lateral", &CropStory::laterals),
                                     segments_layer(story),
                                     surface_models_layer(story),
                                     surface_parameters_layer(story),
                                     variogram_layer(story),
                                     cross_validation_layer(story),
                                     unlike_emitters_layer(story),
                                     influence_layer(story),
                                     areas_below_layer(story),
                                     doubts_layer(doubts_of(story))};
  for (ResultLayer& layer : condition_layers(story)) layers.push_back(std::move(layer));
  return layers;
}

std::vector<std::pair<std::string, std::string>> record_of(const Story& story) {
  std::vector<std::pair<std::string, std::string>> record = {
      {"program", "evendrip " + story.version},
      {"libraries", story.libraries},
      {"field", story.field.name},
      {"survey", story.survey.id},
      {"survey_date", story.survey.date},
      {"method", story.surface.method_text()},
      {"hydraulics", any_zone_computed(story) ? story.expectation.method_text() : "not computed"},
      {"seed", fmt::format("{}", story.seed)},
      {"crs", story.field.crs.code.empty() ? story.field.crs.name : story.field.crs.code}};
  for (const InputFile& input : story.field.inputs) {
    record.emplace_back("sha256 " + input.as_written, input.sha256);
  }
  return record;
}

}  // namespace evendrip
