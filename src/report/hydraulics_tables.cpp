// SPDX-License-Identifier: Apache-2.0
#include "hydraulics_tables.hpp"

#include "evendrip/geo/line.hpp"
#include "evendrip/hydraulics/water.hpp"
#include "evendrip/maps/pressure_sheet.hpp"

#include "table_cells.hpp"

#include <algorithm>
#include <span>
#include <utility>

namespace evendrip {
namespace {

using Shape = ResultLayer::Shape;

constexpr double lph_per_m3_s = 3.6e6;

/// Null where the zone is not computed.
const ZoneNetwork* clean_network(const ExpectedZone& zone) {
  return zone.computed && zone.network ? &*zone.network : nullptr;
}

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Laterals with the number of emitters before each, so that a row finds its emitter.
struct EmitterCount {
  std::vector<const ExpectedLateral*> laterals;
  std::vector<std::size_t> before;
  std::size_t all = 0;
};

EmitterCount count_emitters(const Story& story) {
  EmitterCount count;
  for (const ExpectedZone& zone : story.expectation.zones) {
    if (!zone.computed) continue;
    for (const ExpectedLateral& lateral : zone.laterals) {
      count.laterals.push_back(&lateral);
      count.before.push_back(count.all);
      count.all += lateral.station_m.size();
    }
  }
  return count;
}

LayerRow emitter_row(const Story& story, const EmitterCount& count, std::size_t number) {
  const auto after = std::upper_bound(count.before.begin(), count.before.end(), number);
  const auto k = static_cast<std::size_t>(after - count.before.begin()) - 1;
  const ExpectedLateral& lateral = *count.laterals[k];
  const std::size_t i = number - count.before[k];
  return {place_on_lateral(story.field, lateral.lateral, lateral.station_m[i]),
          {id_of(story.field.laterals, lateral.lateral), cell(i + 1), cell(lateral.station_m[i]),
           cell(lateral.elevation_m[i]), cell(lateral.pressure_kpa[i]),
           cell(lateral.discharge_lph[i])}};
}

LayerRow lateral_row(const Story& story, const ExpectedZone& zone, const Network& network,
                     const NetworkLateral& lateral) {
  const std::size_t last = lateral.nodes.size() - 2;
  const Pipe& first = network.pipes[at(lateral.first_pipe)];
  const double inflow = zone.state.flow_m3_s[at(lateral.first_pipe)];
  const double outflow = zone.state.flow_m3_s[at(lateral.first_pipe) + last];
  const double lost =
      zone.state.head_m[at(lateral.nodes.front())] - zone.state.head_m[at(lateral.nodes.back())];
  return {story.field.laterals[at(lateral.lateral)].line,
          {id_of(story.field.laterals, lateral.lateral), CellValue{std::string("lateral")},
           id_of(story.field.zones, zone.zone), cell(lateral.stations_m.front()),
           cell(lateral.stations_m.back()), cell(1000 * first.diameter_m),
           cell(inflow * lph_per_m3_s), cell(outflow * lph_per_m3_s),
           cell(velocity_m_s(inflow, first.diameter_m)), cell(pressure_kpa(lost))}};
}

LayerRow section_row(const Story& story, const ExpectedZone& zone, const Network& network,
                     const NetworkSection& section) {
  const Manifold& manifold = story.field.manifolds[at(section.manifold)];
  const Pipe& pipe = network.pipes[at(section.pipe)];
  const double flow = zone.state.flow_m3_s[at(section.pipe)];
  const double lost = zone.state.head_m[at(pipe.from)] - zone.state.head_m[at(pipe.to)];
  const double scale = story.field.scale_factor;
  return {part_of(manifold.line, section.from_m * scale, section.to_m * scale),
          {CellValue{manifold.id}, CellValue{std::string(manifold.supply ? "supply" : "flush")},
           id_of(story.field.zones, zone.zone), cell(section.from_m), cell(section.to_m),
           cell(1000 * pipe.diameter_m), cell(flow * lph_per_m3_s), cell(flow * lph_per_m3_s),
           cell(velocity_m_s(flow, pipe.diameter_m)), cell(pressure_kpa(lost))}};
}

std::optional<double> clean_pressure_at(const ExpectedZone& zone, int port) {
  const ZoneNetwork* clean = clean_network(zone);
  if (clean == nullptr) return std::nullopt;
  for (const NetworkPort& known : clean->ports)
    if (known.port == port) return zone.state.pressure_kpa(clean->network, known.node);
  return std::nullopt;
}

LayerRow port_row(const Story& story, int number, const ExpectedZone& zone) {
  const Port& port = story.field.ports[at(number)];
  const auto& ports = zone.gauges.ports;
  const auto compared = std::find_if(ports.begin(), ports.end(),
                                     [number](const auto& p) { return p.port == number; });
  const auto number_or_null = [](const std::optional<double>& value) {
    return value ? cell(*value) : CellValue{};
  };
  const std::span<const PortComparison> comparison(compared, compared == ports.end() ? 0 : 1);
  std::vector<CellValue> values = {CellValue{port.id},
                                   CellValue{port.kind},
                                   id_of(story.field.zones, zone.zone),
                                   CellValue{port_class(comparison)},
                                   number_or_null(irrigating_reading_kpa(story.survey, number)),
                                   number_or_null(clean_pressure_at(zone, number))};
  if (compared == ports.end()) {
    values.resize(values.size() + 5);
  } else {
    for (const double value : {compared->measured_kpa, compared->gauge_sd_kpa,
                               compared->modelled_kpa, compared->standardised})
      values.push_back(cell(value));
    values.push_back(cell(compared->flagged ? 1 : 0));
  }
  return {port.place, std::move(values)};
}

std::vector<LayerField> zone_hydraulics_fields() {
  return {text("zone", "zone"),
          text("not_computed", "why it is not computed"),
          number("inlet_kpa", "inlet pressure, kPa"),
          number("inlet_sd_kpa", "its standard error, kPa"),
          text("inlet_source", "where it comes from"),
          number("loss_factor", "friction over that of clean pipes"),
          number("loss_factor_sd", "its standard error"),
          number("wear_factor", "mean performance of the emitters, by the gauges"),
          number("wear_factor_sd", "its standard error"),
          number("expected_total_lph", "all emitters of the clean system, L/h"),
          number("expected_mean_lph", "an emitter of the clean system, L/h"),
          number("expected_smallest_lph", "the smallest of them, L/h"),
          number("expected_relative_sd", "standard error of an expected discharge over it"),
          integer("judged", "dug emitters with a delivery"),
          number("delivery_mean", "mean delivery of the dug emitters"),
          number("delivery_low", "mean of their lowest quarter"),
          number("performance_mean", "mean performance of the dug emitters"),
          number("performance_low", "mean of their lowest quarter")};
}

std::vector<LayerField> design_fields() {
  return {
      text("zone", "zone"),
      number("emission_uniformity_frac", "design emission uniformity, 0-1"),
      number("flow_variation_frac", "largest less smallest over largest discharge"),
      number("smallest_lph", "L/h"),
      number("mean_lph", "L/h"),
      number("largest_lph", "L/h"),
      number("lowest_kpa", "lowest pressure, kPa"),
      text("lowest_lateral", "lateral where it is"),
      number("lowest_station_m", "station where it is, m"),
      number("highest_kpa", "highest pressure, kPa"),
      integer("passes_tape_limit", "1: beyond the pressure that the lines stand"),
      number("flush_inlet_kpa", "inlet pressure of the flush, kPa"),
      integer("flush_lines_open", "lines flushed at once; all of them through a flush manifold"),
      number("flush_smallest_velocity_m_s", "slowest open far end, m/s"),
      text("flush_slowest_lateral", "lateral where it is"),
      number("flush_inflow_lph", "flow that the flush takes, L/h"),
      number("flush_needed_inlet_kpa", "inlet pressure for 0.3 m/s, kPa"),
      number("supply_lph", "largest metered flow, L/h")};
}

LayerRow zone_row(const Story& story, const ExpectedZone& zone) {
  const ZoneGauges& gauges = zone.gauges;
  const JudgedZone judged = judged_zone(story, zone.zone);
  return {
      {},
      {id_of(story.field.zones, zone.zone), CellValue{}, cell(gauges.inlet_kpa.value),
       cell(gauges.inlet_kpa.sd), CellValue{gauges.inlet_source}, cell(gauges.loss_factor.value),
       cell(gauges.loss_factor.sd), cell(gauges.wear_factor.value), cell(gauges.wear_factor.sd),
       cell(zone.total_lph), cell(zone.mean_lph), cell(zone.smallest_lph), cell(zone.relative_sd),
       cell(judged.emitters), cell(judged.mean_delivery), cell(judged.low_delivery),
       cell(judged.mean_performance), cell(judged.low_performance)}};
}

LayerRow design_row(const Story& story, const DesignCheck& d) {
  std::vector<CellValue> values = {id_of(story.field.zones, d.zone),
                                   cell(d.emission_uniformity),
                                   cell(d.flow_variation),
                                   cell(d.smallest_lph),
                                   cell(d.mean_lph),
                                   cell(d.largest_lph),
                                   cell(d.lowest_kpa),
                                   id_of(story.field.laterals, d.lowest_lateral),
                                   cell(d.lowest_station_m),
                                   cell(d.highest_kpa),
                                   cell(d.passes_tape_limit ? 1 : 0)};
  if (d.flush) {
    const FlushCheck& f = *d.flush;
    values.insert(values.end(),
                  {cell(f.inlet_pressure_kpa), cell(f.lines_open), cell(f.smallest_velocity_m_s),
                   id_of(story.field.laterals, f.slowest_lateral), cell(f.inflow_lph),
                   cell(f.needed_inlet_kpa)});
  } else {
    values.resize(values.size() + 6);
  }
  values.push_back(d.supply_lph > 0 ? cell(d.supply_lph) : CellValue{});
  return {{}, std::move(values)};
}

}  // namespace

ResultLayer expected_emitters_layer(const Story& story) {
  ResultLayer layer{"expected_emitters",
                    "Every emitter of a clean system at the measured inlet pressure",
                    Shape::point,
                    {},
                    {}};
  layer.fields = {text("lateral", "lateral"),
                  integer("emitter", "number from the supply end, from 1"),
                  number("station_m", "distance from the supply end, m"),
                  number("elevation_m", "height of the buried line, m; 0 where no height is known"),
                  number("pressure_kpa", "pressure of the clean system, kPa"),
                  number("expected_lph", "discharge of the clean system, L/h")};
  EmitterCount count = count_emitters(story);
  layer.made_rows = count.all;
  layer.make_row = [&story, count = std::move(count)](std::size_t row) {
    return emitter_row(story, count, row);
  };
  return layer;
}

ResultLayer pipes_layer(const Story& story) {
  ResultLayer layer{"pipes",
                    "Pipes of the clean system: laterals end to end, manifolds by section",
                    Shape::line,
                    {},
                    {}};
  layer.fields = {
      text("id", "lateral or manifold"),
      text("kind", "lateral, supply or flush"),
      text("zone", "zone"),
      number("from_m", "station where it begins, m"),
      number("to_m", "station where it ends, m"),
      number("diameter_mm", "inside diameter, mm"),
      number("flow_lph", "flow where it begins, L/h; below 0 against the stations"),
      number("end_flow_lph", "flow where it ends, L/h; below 0 against the stations"),
      number("velocity_m_s", "velocity where it begins, m/s"),
      number("loss_kpa", "head lost from its begin to its end, heights left aside, kPa")};
  for (const ExpectedZone& zone : story.expectation.zones) {
    const ZoneNetwork* clean = clean_network(zone);
    if (clean == nullptr) continue;
    for (const NetworkLateral& lateral : clean->laterals) {
      if (lateral.nodes.size() < 2) continue;
      layer.rows.push_back(lateral_row(story, zone, clean->network, lateral));
    }
    for (const NetworkSection& section : clean->sections) {
      if (!(section.to_m > section.from_m)) continue;
      layer.rows.push_back(section_row(story, zone, clean->network, section));
    }
  }
  return layer;
}

ResultLayer ports_layer(const Story& story) {
  ResultLayer layer{"ports", "Gauge ports: measured against modelled", Shape::point, {}, {}};
  layer.fields = {text("id", "port"),
                  text("kind", "kind of port"),
                  text("zone", "zone"),
                  text("state", "agrees, disagrees or not_compared"),
                  number("reading_kpa", "gauge as read, mean of the readings, kPa"),
                  number("clean_kpa", "clean system at the measured inlet pressure, kPa"),
                  number("measured_kpa", "at the height of the line, kPa"),
                  number("gauge_sd_kpa", "standard deviation of the gauge, kPa"),
                  number("modelled_kpa", "with friction and wear as the gauges say, kPa"),
                  number("standardised", "measured less modelled, over its standard deviation"),
                  integer("flagged", "1: beyond 3 standard deviations")};
  for (std::size_t number = 0; number < story.field.ports.size(); ++number)
    for (const int zone : story.field.ports[number].zones)
      if (zone >= 0 && at(zone) < story.expectation.zones.size())
        layer.rows.push_back(
            port_row(story, static_cast<int>(number), story.expectation.zones[at(zone)]));
  return layer;
}

ResultLayer zone_hydraulics_layer(const Story& story) {
  ResultLayer layer{
      "zone_hydraulics", "What gauges and pipes say of each zone", Shape::none, {}, {}};
  layer.fields = zone_hydraulics_fields();
  for (const ExpectedZone& zone : story.expectation.zones) {
    if (!zone.computed) {
      std::vector<CellValue> values = {id_of(story.field.zones, zone.zone),
                                       CellValue{zone.why_not}};
      values.resize(layer.fields.size());
      layer.rows.push_back({{}, std::move(values)});
      continue;
    }
    layer.rows.push_back(zone_row(story, zone));
  }
  return layer;
}

ResultLayer meter_layer(const Story& story) {
  ResultLayer layer{"meter", "Flow meter against the sum of the emitters", Shape::none, {}, {}};
  layer.fields = {text("meter", "meter"),
                  text("zones", "zones that ran together"),
                  number("measured_lph", "L/h"),
                  number("measured_sd_lph", "standard error, L/h"),
                  number("expected_free_lph", "clean system, emitters dug free, L/h"),
                  number("expected_in_soil_lph", "clean system, emitters in the soil, L/h"),
                  number("expected_in_soil_sd_lph", "standard error, L/h"),
                  number("ratio", "measured over expected in the soil"),
                  number("ratio_sd", "standard error"),
                  number("against_commissioning", "over the corrected commissioning record"),
                  number("against_commissioning_sd", "standard error")};
  for (const MeterComparison& m : story.meter) {
    std::string zones;
    for (const int zone : m.zones)
      zones += (zones.empty() ? "" : ";") + story.field.zones[at(zone)].id;
    const auto& record = m.against_commissioning;
    layer.rows.push_back(
        {{},
         {CellValue{story.survey.meter[at(m.reading)].meter}, CellValue{zones},
          cell(m.measured_lph), cell(m.measured_sd_lph), cell(m.expected_free_lph.value),
          cell(m.expected_in_soil_lph.value), cell(m.expected_in_soil_lph.sd), cell(m.ratio),
          cell(m.ratio_sd), record ? cell(record->value) : CellValue{},
          record ? cell(record->sd) : CellValue{}}});
  }
  return layer;
}

ResultLayer design_layer(const Story& story) {
  ResultLayer layer{"design", "Design and flushing of the clean system", Shape::none, {}, {}};
  layer.fields = design_fields();
  for (const DesignCheck& d : story.design) layer.rows.push_back(design_row(story, d));
  return layer;
}

}  // namespace evendrip
