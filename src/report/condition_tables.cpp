// SPDX-License-Identifier: Apache-2.0
#include "condition_tables.hpp"

#include "evendrip/geo/line.hpp"

#include "condition_figures.hpp"
#include "condition_why.hpp"
#include "table_cells.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <memory>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

using Shape = ResultLayer::Shape;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

void add_judged_fields(std::vector<LayerField>& fields, const std::string& name,
                       const std::string& what) {
  fields.push_back(number(name, what));
  fields.push_back(number(name + "_sd", "its standard error"));
  fields.push_back(number(name + "_lower_90", "lower limit of 90 %"));
  fields.push_back(number(name + "_upper_90", "upper limit of 90 %"));
}

void add_water_fields(std::vector<LayerField>& fields) {
  add_judged_fields(fields, "performance",
                    "discharge over that of a clean emitter at its own pressure");
  add_judged_fields(fields, "delivery", "discharge over that of a clean system there");
  fields.push_back(number("p_clogged",
                          "probability that an emitter there performs below "
                          "clogged_below; none without holes"));
  fields.push_back(number("p_low",
                          "probability that an emitter there delivers below low_below; "
                          "none without holes"));
  fields.push_back(integer("known", "1: a verdict is possible; 0: not known, dig or gauge there"));
  fields.push_back(text("verdict", "enough, low, not known"));
  fields.push_back(number("crop_by_water",
                          "without holes: relative crop that water's shape "
                          "explains, not verified"));
}

void add_judged(const Judged& judged, std::vector<CellValue>& values) {
  for (const double one : {judged.value, judged.sd, judged.lower_90, judged.upper_90})
    values.push_back(cell(one));
}

/// As add_water_fields; nulls where a zone tells no such segment.
void add_water(const Story& story, const ConditionPlaces::Found& found,
               std::vector<CellValue>& values) {
  const bool without_holes = told_without_holes(*found.zone);
  if (found.segment == nullptr) {
    values.resize(values.size() + 12);
  } else {
    add_judged(found.segment->performance, values);
    add_judged(found.segment->delivery, values);
    values.push_back(without_holes ? CellValue{} : cell(found.segment->p_clogged));
    values.push_back(without_holes ? CellValue{} : cell(found.segment->p_low));
    const WaterVerdict verdict = without_holes ? WaterVerdict::not_known
                                               : verdict_on(*found.segment, story.field.thresholds);
    values.push_back(cell(verdict == WaterVerdict::not_known ? 0 : 1));
    values.push_back(CellValue{to_text(verdict)});
  }
  values.push_back(cell(water_shaped_crop(*found.zone, found.row, found.station)));
}

bool is_told(const ZoneState& zone) {
  return zone.grid.segments() > 0 && (!zone.segments.empty() || told_without_holes(zone));
}

/// Laterals of the zones that are told, with the number of emitters before each.
struct EmitterRows {
  ConditionPlaces places;
  std::vector<int> laterals;
  std::vector<std::size_t> before;
  std::size_t all = 0;
};

std::shared_ptr<const EmitterRows> emitter_rows(const Story& story) {
  auto rows = std::make_shared<EmitterRows>(EmitterRows{{story.field, story.condition}, {}, {}, 0});
  for (const ZoneState& zone : story.condition.zones) {
    if (!is_told(zone)) continue;
    for (const int lateral : zone.grid.laterals) {
      rows->laterals.push_back(lateral);
      rows->before.push_back(rows->all);
      rows->all += at(story.field.laterals[at(lateral)].emitters);
    }
  }
  return rows;
}

void add_water_at(const Story& story, const ConditionPlaces& places, int lateral, double station_m,
                  std::vector<CellValue>& values) {
  const auto found = places.at(lateral, station_m);
  if (!found) throw std::out_of_range("no zone that is told holds the lateral");
  add_water(story, *found, values);
}

LayerRow emitter_row(const Story& story, const EmitterRows& rows, std::size_t number) {
  const auto after = std::upper_bound(rows.before.begin(), rows.before.end(), number);
  const auto k = static_cast<std::size_t>(after - rows.before.begin()) - 1;
  const int lateral = rows.laterals[k];
  const int emitter = static_cast<int>(number - rows.before[k]) + 1;
  const int zone = story.field.laterals[at(lateral)].zone;
  const double station_m = emitter_station_m(story.field.zones[at(zone)].emitter, emitter);
  LayerRow row{place_on_lateral(story.field, lateral, station_m),
               {id_of(story.field.zones, zone), id_of(story.field.laterals, lateral), cell(emitter),
                cell(station_m)}};
  add_water_at(story, rows.places, lateral, station_m, row.values);
  return row;
}

ResultLayer emitters_layer(const Story& story) {
  ResultLayer layer{"condition_emitters",
                    "Every emitter: performance, delivery, probabilities",
                    Shape::point,
                    {text("zone", "zone"), text("lateral", "lateral"),
                     integer("emitter", "number from the supply end"),
                     number("station_m", "distance from the supply end, m")},
                    {}};
  add_water_fields(layer.fields);
  const auto rows = emitter_rows(story);
  layer.made_rows = rows->all;
  layer.make_row = [&story, rows](std::size_t number) { return emitter_row(story, *rows, number); };
  return layer;
}

std::vector<LayerField> parts_fields() {
  return {number("level", "part of performance: of the whole zone"),
          number("station", "part of performance: along the laterals alike"),
          number("lateral_part", "part of performance: of its lateral alone"),
          number("group_part", "part of performance: of its lateral with its neighbours"),
          number("local", "part of performance: of a few laterals from somewhere on"),
          number("company", "part of performance: emitters plugged in company"),
          number("network", "change of delivery by the faults found"),
          number("from_holes",
                 "what the holes moved, in sum with the next three the parts but network"),
          number("from_crop", "what the crop moved"),
          number("from_meter", "what the meter moved"),
          number("from_spread", "what other parameters that fit nearly as well moved")};
}

void add_parts(const WaterParts& parts, std::vector<CellValue>& values) {
  for (const double part :
       {parts.level, parts.station, parts.lateral, parts.group, parts.local, parts.company,
        parts.network, parts.by_holes, parts.by_crop, parts.by_meter, parts.by_spread})
    values.push_back(cell(part));
}

void add_segment_row(const Story& story, const ConditionPlaces& places, const ZoneState& zone,
                     int row, int station, ResultLayer& layer) {
  const SegmentGrid& grid = zone.grid;
  const Lateral& lateral = story.field.laterals[at(grid.laterals[at(row)])];
  const bool last = station + 1 == grid.stations() || !grid.present(row, station + 1);
  const double from_m = station * grid.step_m;
  const double to_m = last ? grid.lengths_m[at(row)] : (station + 1) * grid.step_m;
  const double scale = story.field.scale_factor;
  std::vector<CellValue> values = {id_of(story.field.zones, lateral.zone), CellValue{lateral.id},
                                   cell(from_m), cell(to_m)};
  add_water_at(story, places, grid.laterals[at(row)], grid.stations_m[at(station)], values);
  if (zone.judged) {
    add_parts(parts_at(zone, row, station), values);
  } else {
    values.resize(values.size() + parts_fields().size());
  }
  layer.rows.push_back({part_of(lateral.line, from_m * scale, to_m * scale), std::move(values)});
}

ResultLayer segments_layer(const Story& story) {
  ResultLayer layer{"condition_segments",
                    "Condition by segments of the laterals, with the parts that moved it",
                    Shape::line,
                    {text("zone", "zone"), text("lateral", "lateral"),
                     number("from_m", "station from the supply end, m"),
                     number("to_m", "station from the supply end, m")},
                    {}};
  add_water_fields(layer.fields);
  for (LayerField& field : parts_fields()) layer.fields.push_back(std::move(field));
  const ConditionPlaces places(story.field, story.condition);
  for (const ZoneState& zone : story.condition.zones) {
    if (!is_told(zone)) continue;
    for (int row = 0; row < zone.grid.rows(); ++row)
      for (int station = 0; station < zone.grid.stations(); ++station)
        if (zone.grid.present(row, station))
          add_segment_row(story, places, zone, row, station, layer);
  }
  return layer;
}

std::vector<LayerField> zone_fields() {
  std::vector<LayerField> fields = {
      text("zone", "zone"),
      text("judged_by", "what it was judged by"),
      text("layer_used", "crop layer in the estimate"),
      integer("verified", "1: the crop was verified by holes"),
      text("told", "what the meter says of it"),
      text("doubtful", "why verdicts of the crop alone do not stand"),
      text("done_since", "work on it that the log has after the survey"),
      integer("holes", "dug emitters in the estimate"),
      number("plugged_share", "share of emitters that is plugged, by the holes"),
      integer("emitters_enough", "emitters that get enough water"),
      integer("emitters_low", "emitters that are low"),
      integer("emitters_not_known", "emitters of which it is not known"),
      text("reference", "delivery is discharge over this")};
  add_judged_fields(fields, "uniformity_emitters",
                    "low-quarter distribution uniformity of all emitters, by the model");
  add_judged_fields(fields, "uniformity_plants",
                    "the same of plants: means over the emitters of a root zone");
  for (LayerField one :
       {number("uniformity_sample", "the same of the dug emitters alone"),
        number("crop_share_station", "share of the crop's variance: along the laterals alike"),
        number("crop_share_lateral", "... of whole laterals, each for itself"),
        number("crop_share_group", "... of whole laterals with their neighbours"),
        number("crop_share_local", "... of a few laterals from somewhere on"),
        number("crop_share_network", "... of faults found in the network"),
        number("crop_share_soil", "... of the soil"),
        number("crop_share_edge", "... of the ends of the laterals, whatever it is"),
        number("crop_share_ground", "... of what elevation and soil map explain"),
        number("crop_share_error", "... of the crop's own error"),
        text("network", "what the network explains"),
        number("gauge_gain", "what the gauges add to the log-likelihood of the faults")})
    fields.push_back(std::move(one));
  return fields;
}

void add_uniformity(const ZoneState& zone, std::vector<CellValue>& values) {
  if (zone.uniformity.draws == 0) {
    values.resize(values.size() + 9);
    return;
  }
  add_judged(zone.uniformity.emitters, values);
  add_judged(zone.uniformity.plants, values);
  values.push_back(cell(zone.uniformity.sample));
}

void add_shares(const ZoneState& zone, std::vector<CellValue>& values) {
  const CropShares& shares = zone.shares;
  const bool known = has_crop_shares(zone);
  for (const double share :
       {shares.water_station, shares.water_lateral, shares.water_group, shares.water_local,
        shares.network, shares.soil, shares.edge, shares.ground, shares.error})
    values.push_back(known ? cell(share) : CellValue{});
}

ResultLayer zones_layer(const Story& story) {
  ResultLayer layer{"condition_zones",
                    "How each zone was judged, and its uniformity",
                    Shape::polygon,
                    zone_fields(),
                    {}};
  for (std::size_t z = 0; z < story.condition.zones.size(); ++z) {
    const ZoneState& zone = story.condition.zones[z];
    const bool by_holes = zone.judged && !told_without_holes(zone);
    const VerdictCounts counts = by_holes ? verdicts_in(story.field, zone) : VerdictCounts{};
    std::vector<CellValue> values = {
        CellValue{story.field.zones[z].id},
        CellValue{judged_by(zone)},
        zone.layer_used.empty() ? CellValue{} : CellValue{zone.layer_used},
        cell(zone.verified ? 1 : 0),
        CellValue{zone.told},
        CellValue{zone.doubtful},
        CellValue{zone.done_since},
        cell(zone.grid.segments() > 0 ? holes_of(story, zone).size() : 0),
        by_holes ? cell(zone.condition.plugged_share) : CellValue{},
        by_holes ? cell(counts.enough) : CellValue{},
        by_holes ? cell(counts.low) : CellValue{},
        by_holes ? cell(counts.not_known) : CellValue{},
        CellValue{to_text(reference_in(story, static_cast<int>(z)))}};
    add_uniformity(zone, values);
    add_shares(zone, values);
    values.push_back(CellValue{zone.network.told});
    values.push_back(cell(zone.network.gauge_gain));
    layer.rows.push_back({story.field.zones[z].area, std::move(values)});
  }
  return layer;
}

std::vector<LayerField> voice_fields() {
  return {text("zone", "zone"),
          text("layer", "crop layer"),
          integer("data", "pixels or records in the zone"),
          integer("used", "1: it speaks in the estimate"),
          text("why", "why it does or does not"),
          integer("sees_single_laterals", "1: no wider than two spacings"),
          number("smallest_width_m", "narrowest strip whose deficit of a tenth it shows, m"),
          number("smallest_length_m", "shortest one along the laterals, m"),
          integer("before_irrigation", "1: taken before irrigation"),
          integer("machine_stripes", "1: stripes at an implement width stand in it"),
          integer("placebo_layouts", "layouts turned or shifted that were tried"),
          integer("placebo_better", "of them, that explain the crop as well as the true one"),
          number("placebo_gain", "log-likelihood that the true layout gains"),
          number("placebo_p", "rank of the true layout as a probability"),
          text("placebo", "the rank in words")};
}

ResultLayer voices_layer(const Story& story) {
  ResultLayer layer{"condition_crop_layers",
                    "What each crop layer may say in each zone, and why",
                    Shape::none,
                    voice_fields(),
                    {}};
  for (std::size_t z = 0; z < story.condition.zones.size(); ++z) {
    for (const CropVoice& voice : story.condition.zones[z].voices) {
      std::vector<CellValue> values = {CellValue{story.field.zones[z].id},
                                       CellValue{voice.layer},
                                       cell(voice.data),
                                       cell(voice.used ? 1 : 0),
                                       CellValue{voice.why},
                                       cell(voice.fine_enough ? 1 : 0),
                                       cell(voice.smallest_width_m),
                                       cell(voice.smallest_length_m),
                                       cell(voice.before_irrigation ? 1 : 0),
                                       cell(voice.machine ? 1 : 0)};
      if (voice.placebo) {
        const PlaceboRank& rank = *voice.placebo;
        for (CellValue value : {cell(rank.layouts), cell(rank.better), cell(rank.gain),
                                cell(rank.p), CellValue{rank.told}})
          values.push_back(std::move(value));
      }
      values.resize(layer.fields.size());
      layer.rows.push_back({{}, std::move(values)});
    }
  }
  return layer;
}

ResultLayer faults_layer(const Story& story) {
  ResultLayer layer{
      "network_faults",
      "Faults of pipes that the data ask for",
      Shape::point,
      {text("id", "fault"), text("zone", "zone"), text("pipe", "lateral or manifold"),
       text("line", "its name; of several laterals the one in their middle"),
       integer("laterals", "laterals that have it alike; 0 on a manifold"),
       number("station_m", "from the line's first point, m"), text("kind", "shut, pinch, cut"),
       number("severity", "share of the bore's area lost, or opening over it"),
       number("log_odds", "against none, the search allowed for"),
       number("delivery", "mean of the segments that it touches, over clean"),
       text("runner_up", "next best explanation"), text("told", "in words")},
      {}};
  for (std::size_t z = 0; z < story.condition.zones.size(); ++z) {
    const std::vector<FoundFault>& faults = story.condition.zones[z].network.faults;
    for (std::size_t i = 0; i < faults.size(); ++i) {
      const FoundFault& one = faults[i];
      const bool severity_counts = one.fault.kind != FaultKind::shut;
      layer.rows.push_back(
          {fault_place(story.field, one.fault),
           {CellValue{fault_name(story.condition, z, i)}, CellValue{story.field.zones[z].id},
            CellValue{std::string(one.fault.on_lateral ? "lateral" : "manifold")},
            one.fault.on_lateral ? id_of(story.field.laterals, one.fault.line)
                                 : id_of(story.field.manifolds, one.fault.line),
            cell(static_cast<int>(one.laterals.size())), cell(one.fault.station_m),
            CellValue{to_text(one.fault.kind)},
            severity_counts ? cell(one.fault.severity) : CellValue{}, cell(one.log_odds),
            cell(one.delivery), CellValue{one.runner_up}, CellValue{one.told}}});
    }
  }
  return layer;
}

}  // namespace

std::vector<ResultLayer> condition_layers(const Story& story) {
  if (story.condition.zones.empty()) return {};
  return {emitters_layer(story), segments_layer(story), zones_layer(story),
          voices_layer(story),   faults_layer(story),   condition_why_layer(story)};
}

}  // namespace evendrip
