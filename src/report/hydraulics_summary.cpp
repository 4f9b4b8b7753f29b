// SPDX-License-Identifier: Apache-2.0
#include "hydraulics_summary.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "json_values.hpp"

namespace evendrip {
namespace {

using Json = nlohmann::ordered_json;

Json estimate_json(const Estimate& estimate) {
  return {{"value", finite(estimate.value)}, {"sd", finite(estimate.sd)}};
}

const std::string& zone_id(const Story& story, int zone) {
  return story.field.zones[static_cast<std::size_t>(zone)].id;
}

Json lateral_json(const Story& story, int lateral) {
  if (lateral < 0) return nullptr;
  return story.field.laterals[static_cast<std::size_t>(lateral)].id;
}

Json ports_json(const Story& story, const ZoneGauges& gauges) {
  Json list = Json::array();
  for (const PortComparison& port : gauges.ports) {
    list.push_back({{"port", story.field.ports[static_cast<std::size_t>(port.port)].id},
                    {"measured_kpa", finite(port.measured_kpa)},
                    {"modelled_kpa", finite(port.modelled_kpa)},
                    {"gauge_sd_kpa", finite(port.gauge_sd_kpa)},
                    {"standardised", finite(port.standardised)},
                    {"flagged", port.flagged}});
  }
  return list;
}

Json zone_json(const Story& story, const ExpectedZone& zone) {
  Json out = {{"zone", zone_id(story, zone.zone)},
              {"computed", zone.computed},
              {"relative_to", to_text(reference_in(story, zone.zone))}};
  if (!zone.computed) {
    out["why_not"] = zone.why_not;
    return out;
  }
  const ZoneGauges& gauges = zone.gauges;
  const JudgedZone judged = judged_zone(story, zone.zone);
  out.update({{"inlet_kpa", estimate_json(gauges.inlet_kpa)},
              {"inlet_source", gauges.inlet_source},
              {"loss_factor", estimate_json(gauges.loss_factor)},
              {"loss_estimated", gauges.loss_estimated},
              {"wear_factor", estimate_json(gauges.wear_factor)},
              {"expected_total_lph", zone.total_lph},
              {"expected_mean_lph", zone.mean_lph},
              {"expected_smallest_lph", zone.smallest_lph},
              {"expected_relative_sd", finite(zone.relative_sd)},
              {"rated_tolerance_frac", zone.rated_tolerance_frac},
              {"delivery",
               {{"emitters", judged.emitters},
                {"mean", finite(judged.mean_delivery)},
                {"low_quarter", finite(judged.low_delivery)}}},
              {"performance",
               {{"emitters", judged.with_performance},
                {"mean", finite(judged.mean_performance)},
                {"low_quarter", finite(judged.low_performance)}}},
              {"ports", ports_json(story, gauges)}});
  return out;
}

Json meter_json(const Story& story, const MeterComparison& m) {
  Json zones = Json::array();
  for (const int zone : m.zones) zones.push_back(zone_id(story, zone));
  const auto& record = m.against_commissioning;
  return {{"meter", story.survey.meter[static_cast<std::size_t>(m.reading)].meter},
          {"zones", zones},
          {"measured_lph", finite(m.measured_lph)},
          {"measured_sd_lph", finite(m.measured_sd_lph)},
          {"expected_free_lph", estimate_json(m.expected_free_lph)},
          {"expected_in_soil_lph", estimate_json(m.expected_in_soil_lph)},
          {"ratio", finite(m.ratio)},
          {"ratio_sd", finite(m.ratio_sd)},
          {"against_commissioning", record ? estimate_json(*record) : Json(nullptr)}};
}

Json design_json(const Story& story, const DesignCheck& d) {
  Json out = {{"zone", zone_id(story, d.zone)},
              {"emission_uniformity_frac", finite(d.emission_uniformity)},
              {"flow_variation_frac", finite(d.flow_variation)},
              {"smallest_lph", finite(d.smallest_lph)},
              {"mean_lph", finite(d.mean_lph)},
              {"largest_lph", finite(d.largest_lph)},
              {"lowest_kpa", finite(d.lowest_kpa)},
              {"lowest_lateral", lateral_json(story, d.lowest_lateral)},
              {"lowest_station_m", finite(d.lowest_station_m)},
              {"highest_kpa", finite(d.highest_kpa)},
              {"passes_tape_limit", d.passes_tape_limit},
              {"supply_lph", d.supply_lph > 0 ? Json(d.supply_lph) : Json(nullptr)},
              {"flush", nullptr}};
  if (d.flush) {
    out["flush"] = {{"inlet_kpa", finite(d.flush->inlet_pressure_kpa)},
                    {"lines_open", d.flush->lines_open},
                    {"smallest_velocity_m_s", finite(d.flush->smallest_velocity_m_s)},
                    {"slowest_lateral", lateral_json(story, d.flush->slowest_lateral)},
                    {"inflow_lph", finite(d.flush->inflow_lph)},
                    {"reaches_0_3_m_s", d.flush->reaches_0_3},
                    {"reaches_0_5_m_s", d.flush->reaches_0_5},
                    {"needed_inlet_kpa", finite(d.flush->needed_inlet_kpa)},
                    {"lines_at_once", d.flush->lines_at_once}};
  }
  return out;
}

/// Speaks in the report units of the field.
struct Units {
  UnitSystem system;
  std::string quantity(double value, Dimension dimension) const {
    return format_quantity(value, dimension, system, 3);
  }
  std::string pressure(double kpa) const { return quantity(kpa, Dimension::pressure); }
  std::string discharge(double lph) const { return quantity(lph, Dimension::discharge); }
  std::string flow(double lph) const {
    const char* unit = system == UnitSystem::metric ? "m3/h" : "gpm";
    return fmt::format("{:.4g} {}", from_canonical(lph, unit, Dimension::discharge), unit);
  }
  std::string gauge(double kpa) const {
    const auto unit = report_unit(Dimension::pressure, system);
    return fmt::format("{:.1f} {}", from_canonical(kpa, unit, Dimension::pressure), unit);
  }
  /// "108 +/- 0.8 kPa", the error to its first two figures.
  std::string pressure(const Estimate& estimate) const {
    const auto unit = report_unit(Dimension::pressure, system);
    return fmt::format("{:.1f} +/- {:.2g} {}",
                       from_canonical(estimate.value, unit, Dimension::pressure),
                       from_canonical(estimate.sd, unit, Dimension::pressure), unit);
  }
};

std::string factor(const Estimate& estimate) {
  return fmt::format("{:.2f} +/- {:.2f}", estimate.value, estimate.sd);
}

std::string judged_text(const char* what, int emitters, double mean, double low) {
  if (emitters == 0) return "";
  return fmt::format("      dug emitters, {}: mean {:.2f}, lowest quarter {:.2f} (n = {})\n", what,
                     mean, low, emitters);
}

std::string zone_text(const Story& story, const ExpectedZone& zone, const Units& units) {
  const ZoneGauges& gauges = zone.gauges;
  std::string out = fmt::format("  {}: inlet {} ({})\n", zone_id(story, zone.zone),
                                units.pressure(gauges.inlet_kpa), gauges.inlet_source);
  out += fmt::format(
      "      friction {} of clean pipes{}; emitters {} of their rating, by the "
      "gauges and the holes\n",
      factor(gauges.loss_factor), gauges.loss_estimated ? "" : " (assumed: the gauges hardly tell)",
      factor(gauges.wear_factor));
  out += fmt::format(
      "      a clean system gives {}, {} an emitter (smallest {}); standard error "
      "{:.1f} %, besides {:.0f} % of rated tolerance common to the zone\n",
      units.flow(zone.total_lph), units.discharge(zone.mean_lph),
      units.discharge(zone.smallest_lph), 100 * zone.relative_sd, 100 * zone.rated_tolerance_frac);
  const auto flagged = std::count_if(gauges.ports.begin(), gauges.ports.end(),
                                     [](const PortComparison& port) { return port.flagged; });
  for (const PortComparison& port : gauges.ports) {
    if (!port.flagged) continue;
    out += fmt::format("      port {}: {} measured, {} modelled: look there\n",
                       story.field.ports[static_cast<std::size_t>(port.port)].id,
                       units.gauge(port.measured_kpa), units.gauge(port.modelled_kpa));
  }
  if (flagged == 0 && !gauges.ports.empty())
    out += fmt::format("      gauges: {} of {} agree with the model\n", gauges.ports.size(),
                       gauges.ports.size());
  const JudgedZone judged = judged_zone(story, zone.zone);
  out += judged_text("delivery (of what a clean system would give)", judged.emitters,
                     judged.mean_delivery, judged.low_delivery);
  out += judged_text("performance (of a sound emitter at its pressure)", judged.with_performance,
                     judged.mean_performance, judged.low_performance);
  return out;
}

std::string meter_text(const Story& story, const MeterComparison& m, const Units& units) {
  std::string zones;
  for (const int zone : m.zones) zones += (zones.empty() ? "" : ", ") + zone_id(story, zone);
  std::string out = fmt::format(
      "  meter {} ({}): {} measured, {} expected with the emitters in the soil: ratio {:.2f} +/- "
      "{:.2f}",
      story.survey.meter[static_cast<std::size_t>(m.reading)].meter, zones,
      units.flow(m.measured_lph), units.flow(m.expected_in_soil_lph.value), m.ratio, m.ratio_sd);
  if (m.against_commissioning)
    out += fmt::format("; {} of the commissioning record at this pressure",
                       factor(*m.against_commissioning));
  return out + "\n";
}

std::string flush_text(const Story& story, const FlushCheck& f, double supply_lph,
                       const Units& units) {
  const std::string opened =
      f.lines_open > 0 ? fmt::format("{} lines open", f.lines_open) : "the flush valve open";
  std::string out = fmt::format(
      "      flushing with {} at {}: slowest far end {}{}, takes {}", opened,
      units.pressure(f.inlet_pressure_kpa),
      units.quantity(f.smallest_velocity_m_s, Dimension::velocity),
      f.slowest_lateral < 0
          ? ""
          : " (lateral " + story.field.laterals[static_cast<std::size_t>(f.slowest_lateral)].id +
                ")",
      units.flow(f.inflow_lph));
  out += fmt::format(", {} {}", f.reaches_0_3 ? "reaches" : "does not reach",
                     units.quantity(0.3, Dimension::velocity));
  if (supply_lph > 0 && f.inflow_lph > supply_lph)
    out += fmt::format("; more than the {} metered so far", units.flow(supply_lph));
  return out + "\n";
}

std::string design_text(const Story& story, const DesignCheck& d, const Units& units) {
  std::string out = fmt::format(
      "  {}: design emission uniformity {:.1f} %, flow variation {:.1f} %, pressure {} to {}",
      zone_id(story, d.zone), 100 * d.emission_uniformity, 100 * d.flow_variation,
      units.pressure(d.lowest_kpa), units.pressure(d.highest_kpa));
  if (d.lowest_lateral >= 0)
    out += fmt::format(" (lowest on lateral {} at {})",
                       story.field.laterals[static_cast<std::size_t>(d.lowest_lateral)].id,
                       units.quantity(d.lowest_station_m, Dimension::length));
  if (d.passes_tape_limit) out += "; beyond what the lines stand";
  out += "\n";
  if (d.flush) out += flush_text(story, *d.flush, d.supply_lph, units);
  return out;
}

}  // namespace

Json hydraulics_json(const Story& story) {
  Json out;
  const auto& zones = story.expectation.zones;
  out["method"] = any_zone_computed(story) ? Json(story.expectation.method_text()) : Json(nullptr);
  out["zones"] = Json::array();
  out["meter"] = Json::array();
  out["design"] = Json::array();
  for (const ExpectedZone& zone : zones) out["zones"].push_back(zone_json(story, zone));
  for (const MeterComparison& m : story.meter) out["meter"].push_back(meter_json(story, m));
  for (const DesignCheck& d : story.design) out["design"].push_back(design_json(story, d));
  return out;
}

std::string hydraulics_text(const Story& story) {
  const Units units{story.field.report_units};
  std::string zones;
  for (const ExpectedZone& zone : story.expectation.zones)
    if (zone.computed) zones += zone_text(story, zone, units);
  if (zones.empty()) return "";
  std::string out = "Hydraulics: " + story.expectation.method_text() + ".\n";
  out += zones;
  if (!story.meter.empty()) out += "Flow meter\n";
  for (const MeterComparison& m : story.meter) out += meter_text(story, m, units);
  if (!story.design.empty()) out += "Design, of the clean system\n";
  for (const DesignCheck& d : story.design) out += design_text(story, d, units);
  return out;
}

}  // namespace evendrip
