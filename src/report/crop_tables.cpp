// SPDX-License-Identifier: Apache-2.0
#include <cmath>
#include <stdexcept>
#include <utility>

#include "crop_over_dates.hpp"
#include "crop_statistics_cells.hpp"
#include "doubts_table.hpp"
#include "evendrip/geo/line.hpp"
#include "evendrip/maps/crop_sheets.hpp"
#include "evendrip/report/crop_story.hpp"
#include "table_cells.hpp"

namespace evendrip {
namespace {

using Shape = ResultLayer::Shape;

LayerRow row_of(const HeardLayer& layer, const MappedHarvest& harvest, std::size_t number) {
  const HarvestLog& log = harvest.log;
  const CleanedLog& cleaned = harvest.cleaned;
  const auto machine = static_cast<std::size_t>(log.machine.empty() ? 0 : log.machine[number]);
  return {
      log.places[number],
      {CellValue{layer.layer.id}, cell(log.lines[number]),
       CellValue{record_class(cleaned.step[number])}, CellValue{to_text(cleaned.step[number])},
       cell(cleaned.pass[number]), cell(log.yield_t_ha[number]), cell(cleaned.yield_t_ha[number]),
       cell(cleaned.cut_width_m[number]), cell(log.swath_m[number]),
       cell(cleaned.heading_deg[number]), cell(log.time_s[number]), cell(log.moisture_frac[number]),
       machine < log.machines.size() ? CellValue{log.machines[machine]} : CellValue{}}};
}

/// Row `number` of the records of all logs, one log after the other.
LayerRow record_row(const HeardCrop& heard, std::size_t number) {
  for (const HeardLayer& one : heard.layers) {
    if (!one.harvest) continue;
    if (number < one.harvest->log.size()) return row_of(one, *one.harvest, number);
    number -= one.harvest->log.size();
  }
  throw std::out_of_range("no log holds the record");
}

ResultLayer records_layer(const HeardCrop& heard) {
  ResultLayer layer{
      "yield_records", "Every record of the yield logs; none is deleted", Shape::point, {}, {}};
  layer.fields = {text("crop", "crop layer"),
                  integer("row", "line, feature or record of the file"),
                  text("step", "kept, or the step that set it aside"),
                  text("told", "the same in words"),
                  integer("pass", "pass, from 0 in order of time"),
                  number("logged_t_ha", "yield as logged, t/ha"),
                  number("yield_t_ha", "yield by travel time and true cut width, t/ha"),
                  number("cut_width_m", "width that was really cut, m"),
                  number("swath_m", "width as logged, m"),
                  number("heading_deg", "of travel, degrees from north"),
                  number("time_s", "since the first record, s"),
                  number("moisture_frac", "moisture, 0-1"),
                  text("machine", "machine")};
  for (const HeardLayer& one : heard.layers) {
    if (one.harvest) layer.made_rows += one.harvest->log.size();
  }
  layer.make_row = [&heard](std::size_t row) { return record_row(heard, row); };
  return layer;
}

ResultLayer steps_layer(const HeardCrop& heard) {
  ResultLayer layer{"cleaning_steps", "What each step set aside and why", Shape::none, {}, {}};
  layer.fields = {text("crop", "crop layer"),
                  integer("turn", "order of the steps"),
                  text("step", "step"),
                  integer("records", "records that it set aside"),
                  text("told", "what and by which threshold"),
                  text("source", "where the test comes from")};
  for (const HeardLayer& one : heard.layers) {
    if (!one.harvest) continue;
    int turn = 0;
    for (const CleaningStep& step : one.harvest->cleaned.steps) {
      layer.rows.push_back(
          {{},
           {CellValue{one.layer.id}, cell(++turn), CellValue{record_class(step.step)},
            cell(step.records), CellValue{step.told}, CellValue{step.source}}});
    }
  }
  return layer;
}

ResultLayer crop_zones_layer(const HeardCrop& heard) {
  ResultLayer layer{"crop_zones", "Crop by zone, exact shares of cells", Shape::polygon, {}, {}};
  layer.fields = statistics_fields("id", "zone");
  for (const HeardLayer& one : heard.layers) {
    for (const CropStatistics& s : one.zones) {
      layer.rows.push_back({heard.field.zones[static_cast<std::size_t>(s.zone)].area,
                            statistics_values(one.layer, s)});
    }
  }
  return layer;
}

ResultLayer crop_laterals_layer(const HeardCrop& heard) {
  ResultLayer layer{
      "crop_laterals", "Crop by strip of each lateral, exact shares of cells", Shape::line, {}, {}};
  layer.fields = statistics_fields("id", "lateral");
  for (const HeardLayer& one : heard.layers) {
    for (const CropStatistics& s : one.laterals) {
      layer.rows.push_back({heard.field.laterals[static_cast<std::size_t>(s.lateral)].line,
                            statistics_values(one.layer, s)});
    }
  }
  return layer;
}

ResultLayer segments_layer(const HeardCrop& heard) {
  ResultLayer layer{"crop_segments",
                    "Crop by segment of each lateral: to look at, not to be used as data beside "
                    "the layer",
                    Shape::line,
                    {},
                    {}};
  layer.fields = {text("crop", "crop layer"),
                  text("lateral", "lateral"),
                  number("from_m", "station from the supply end, m"),
                  number("to_m", "station from the supply end, m"),
                  number("relative_mean", "mean over the median of the field"),
                  number("missing_share", "share of its ground without a value, 0-1")};
  for (const HeardLayer& one : heard.layers) {
    for (const CropSegment& segment : one.segments) {
      const Lateral& lateral = heard.field.laterals[static_cast<std::size_t>(segment.lateral)];
      const double grid = heard.field.scale_factor;
      layer.rows.push_back({part_of(lateral.line, segment.from_m * grid, segment.to_m * grid),
                            {CellValue{one.layer.id}, CellValue{lateral.id}, cell(segment.from_m),
                             cell(segment.to_m), cell(segment.mean), cell(segment.missing_share)}});
    }
  }
  return layer;
}

ResultLayer profile_layer(const HeardCrop& heard) {
  ResultLayer layer{
      "lateral_profile", "Crop against the station, averaged over laterals", Shape::none, {}, {}};
  layer.fields = {text("crop", "crop layer"),
                  text("zone", "zone"),
                  number("station_m", "middle, from the supply end, m"),
                  number("mean", "over the median of the field"),
                  number("lower_90", "lower limit of 90 %"),
                  number("upper_90", "upper limit of 90 %"),
                  integer("laterals", "laterals in it")};
  for (const HeardLayer& one : heard.layers) {
    for (const LateralProfile& profile : one.profiles) {
      for (const ProfileBin& bin : profile.bins) {
        layer.rows.push_back(
            {{},
             {CellValue{one.layer.id}, id_of(heard.field.zones, profile.zone), cell(bin.station_m),
              cell(bin.mean), cell(bin.lower_90), cell(bin.upper_90), cell(bin.laterals)}});
      }
    }
  }
  return layer;
}

ResultLayer patches_layer(const HeardCrop& heard) {
  ResultLayer layer{"patches", "Where to look first", Shape::polygon, {}, {}};
  layer.fields = {text("crop", "crop layer"),
                  integer("number", "from the one to look at first"),
                  text("class", "what its shape follows"),
                  text("zone", "zone"),
                  text("first_lateral", "first lateral"),
                  text("last_lateral", "last lateral"),
                  integer("laterals", "laterals that it spans"),
                  number("from_m", "station from the supply end, m"),
                  number("to_m", "station from the supply end, m"),
                  integer("to_the_end", "1: runs to the far end"),
                  number("area_m2", "on the ground, m2"),
                  number("level", "mean crop over that of the ground beside it"),
                  number("deficit_m2", "(1 - level) x area, m2"),
                  number("p", "that so low a patch comes by chance, adjusted"),
                  number("shape_p", "rank of the true layout among turned and moved ones"),
                  integer("runs_with_passes", "1: not told, as passes of a machine run alike"),
                  integer("at_field_limit", "1: not told, as the limit of the field lies beside"),
                  text("told", "what it looks like and what to look at first")};
  for (const HeardLayer& one : heard.layers) {
    int turn = 0;
    for (const CropPatch& patch : one.screening.patches) {
      layer.rows.push_back(
          {patch.area,
           {CellValue{one.layer.id}, cell(++turn), CellValue{patch_class(patch.shape)},
            id_of(heard.field.zones, patch.zone), id_of(heard.field.laterals, patch.first_lateral),
            id_of(heard.field.laterals, patch.last_lateral), cell(patch.laterals),
            cell(patch.from_m), cell(patch.to_m), cell(patch.to_the_end ? 1 : 0),
            cell(patch.area_m2), cell(patch.level), cell(patch.deficit_m2), cell(patch.p),
            cell(patch.shape_p), cell(patch.runs_with_passes ? 1 : 0),
            cell(patch.at_field_limit ? 1 : 0), CellValue{patch.told}}});
    }
  }
  return layer;
}

ResultLayer association_layer(const HeardCrop& heard) {
  ResultLayer layer{"association", "Crop and discharge at the dug emitters", Shape::point, {}, {}};
  layer.fields = {
      text("crop", "crop layer"),
      text("name", "record of the emitter"),
      number("relative_discharge", "discharge over its reference"),
      number("relative_crop", "crop over the median of the field, mean over the piece of strip"),
      number("water_part", "crop less what the field explains, plus 1"),
      number("along_m", "length of the piece of strip, m"),
      text("class", "how both go together here"),
      number("local_p", "by chance, adjusted for all emitters")};
  for (const HeardLayer& one : heard.layers) {
    if (!one.association || !heard.discharge) continue;
    const LayerAssociation& pairs = *one.association;
    const MeasuredDischarge& discharge = *heard.discharge;
    for (std::size_t i = 0; i < pairs.emitters.size(); ++i) {
      const std::size_t emitter = pairs.emitters[i];
      const bool local = i < pairs.with_crop.local.size();
      layer.rows.push_back(
          {discharge.places[emitter],
           {CellValue{one.layer.id}, CellValue{discharge.names[emitter]},
            cell(discharge.relative[emitter]), cell(pairs.crop[i]), cell(pairs.rest[i]),
            cell(pairs.along_m),
            local ? CellValue{association_class(pairs.with_crop.local[i])} : CellValue{},
            local ? cell(pairs.with_crop.local_p[i]) : CellValue{}}});
    }
  }
  return layer;
}

LayerRow row_of(const HeardLayer& layer, const EvidenceDatum& datum) {
  return {datum.place,
          {CellValue{layer.layer.id}, cell(datum.value), cell(datum.error),
           cell(static_cast<double>(datum.along_m)), cell(static_cast<double>(datum.across_m)),
           cell(static_cast<double>(datum.blur_m)), cell(static_cast<double>(datum.heading_deg)),
           cell(datum.marked ? 1 : 0), CellValue{to_text(datum.mark)},
           cell(static_cast<double>(datum.taken_out))}};
}

LayerRow evidence_row(const HeardCrop& heard, std::size_t number) {
  for (const HeardLayer& one : heard.layers) {
    if (!one.evidence) continue;
    if (number < one.evidence->data.size()) return row_of(one, one.evidence->data[number]);
    number -= one.evidence->data.size();
  }
  throw std::out_of_range("no layer holds the evidence");
}

ResultLayer evidence_layer(const HeardCrop& heard) {
  ResultLayer layer{"evidence", "Pixels and records with what each one sees", Shape::point, {}, {}};
  layer.fields = {text("crop", "crop layer"),
                  number("value", "in the unit of the layer"),
                  number("error", "standard deviation of its own error"),
                  number("along_m", "length of what it sees, m"),
                  number("across_m", "width of it, m"),
                  number("blur_m", "standard deviation of the blur, m"),
                  number("heading_deg", "direction of its length, degrees from north"),
                  integer("marked", "1: headland or machine stripe"),
                  text("mark", "which of them"),
                  number("taken_out", "stripe of a machine that was taken out of the value")};
  for (const HeardLayer& one : heard.layers) {
    if (one.evidence) layer.made_rows += one.evidence->data.size();
  }
  layer.make_row = [&heard](std::size_t row) { return evidence_row(heard, row); };
  return layer;
}

}  // namespace

std::vector<ResultLayer> crop_result_layers(const HeardCrop& heard) {
  std::vector<ResultLayer> layers = {records_layer(heard),    steps_layer(heard),
                                     crop_zones_layer(heard), crop_laterals_layer(heard),
                                     segments_layer(heard),   profile_layer(heard),
                                     patches_layer(heard),    association_layer(heard)};
  for (ResultLayer& layer : over_dates_layers(heard)) layers.push_back(std::move(layer));
  layers.push_back(evidence_layer(heard));
  layers.push_back(doubts_layer(doubts_of(heard)));
  return layers;
}

}  // namespace evendrip
