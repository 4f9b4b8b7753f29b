// SPDX-License-Identifier: Apache-2.0
#include "flow_changes.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

/// Pipe losses where the pipes are not known, as a share of the flow; common practice, no source.
constexpr double unknown_pipes_sd_frac = 0.05;
/// Of emitters counted by area: headlands and lanes have none; common practice, no source.
constexpr double counted_by_area_sd_frac = 0.1;

/// The reading over fewest zones that this zone is among; of equal ones the last.
const MeterReading* meter_of(const Survey& survey, int zone) {
  const MeterReading* best = nullptr;
  for (const MeterReading& reading : survey.meter) {
    const auto& zones = reading.zones;
    if (std::find(zones.begin(), zones.end(), zone) == zones.end()) continue;
    if (best == nullptr || zones.size() <= best->zones.size()) best = &reading;
  }
  return best;
}

std::string together(const ScreeningInput& in, const MeterReading& reading) {
  if (reading.zones.size() < 2) return "";
  std::string ids;
  for (const int zone : reading.zones) ids += (ids.empty() ? "" : " and ") + zone_of(in, zone).id;
  return fmt::format(" ({} together)", ids);
}

/// (P/Pref)^x over the zones of a reading: mean and error; nothing if no inlet was read both times.
std::optional<Reading> pressure_factor(const ScreeningInput& in, const MeterReading& reading,
                                       const std::optional<double>& stated_reference_kpa) {
  double sum = 0;
  double variance = 0;
  double n = 0;
  for (const int zone : reading.zones) {
    const InletReadings inlet = inlet_of(in, zone);
    auto then = inlet.record;
    if (stated_reference_kpa) then = Reading{*stated_reference_kpa, 0};
    if (!inlet.today || !then || !(then->value > 0) || !(inlet.today->value > 0)) continue;
    const double x = flow_exponent(zone_of(in, zone), inlet.today->value);
    const double factor = corrected_flow(1, then->value, inlet.today->value, x);
    const double sd =
        x * factor * std::hypot(inlet.today->sd / inlet.today->value, then->sd / then->value);
    sum += factor;
    variance += sd * sd;
    n += 1;
  }
  if (n == 0) return std::nullopt;
  return Reading{sum / n, std::sqrt(variance) / n};
}

Change flow_change(const MeterReading& reading, Reading reference,
                   const std::optional<Reading>& factor, Change::Against against) {
  if (factor) {
    const double share = std::hypot(reference.sd / reference.value, factor->sd / factor->value);
    reference = {reference.value * factor->value, share * reference.value * factor->value};
  }
  const Reading today{reading.flow_lph, reading.accuracy_frac * reading.flow_lph};
  Change made = ratio_change(factor ? Evidence::flow_at_pressure : Evidence::flow_as_metered,
                             {today, reference}, against);
  made.dimension = Dimension::discharge;
  return made;
}

bool same_zones(std::vector<int> a, std::vector<int> b) {
  std::sort(a.begin(), a.end());
  std::sort(b.begin(), b.end());
  return a == b;
}

std::optional<Change> flow_against_record(const ScreeningInput& in, const MeterReading& reading) {
  std::optional<Reading> then;
  if (in.commissioning != nullptr) {
    for (const CommissioningFlow& flow : in.commissioning->flows) {
      const bool same_meter =
          flow.meter.empty() || reading.meter.empty() || flow.meter == reading.meter;
      if (!same_meter || !same_zones(flow.zones, reading.zones)) continue;
      const double sd = flow.accuracy_lph > 0 ? flow.accuracy_lph : 0.03 * flow.flow_lph;
      then = Reading{flow.flow_lph, sd};
    }
  }
  std::optional<double> reference_kpa;
  std::string source = then ? of_record(in) : std::string();
  if (!then && reading.reference_flow_lph && *reading.reference_flow_lph > 0) {
    then =
        Reading{*reading.reference_flow_lph, reading.accuracy_frac * *reading.reference_flow_lph};
    reference_kpa = reading.reference_pressure_kpa;
    source = "in the meter table's reference";
  }
  if (!then) return std::nullopt;
  const auto factor = pressure_factor(in, reading, reference_kpa);
  Change made = flow_change(reading, *then, factor, Change::Against::commissioning);
  made.told = fmt::format(
      "{} metered{}, {} {}", zone_flow_text(reading.flow_lph, in.field.report_units),
      together(in, reading), zone_flow_text(then->value, in.field.report_units), source);
  if (factor) {
    made.told += fmt::format(", which is {} at today's inlet pressure",
                             zone_flow_text(made.reference, in.field.report_units));
  }
  return made;
}

/// The expectation stands at inlet pressures that all gauges of a zone agree on; this brings it to
/// those read at the inlets, for a leak or a pinch must not hide in the estimate.
double to_read_inlet(const ScreeningInput& in, const MeterReading& reading) {
  double at_estimate = 0;
  double at_reading = 0;
  for (const int zone : reading.zones) {
    const ExpectedZone& expected = in.expectation.zones[static_cast<std::size_t>(zone)];
    const double estimate = expected.gauges.inlet_kpa.value;
    const InletReadings inlet = inlet_of(in, zone);
    const double read = inlet.today ? at_line(in.field, inlet.port, *inlet.today).value : estimate;
    if (!(estimate > 0) || !(read > 0)) continue;
    at_estimate += expected.total_lph;
    at_reading +=
        corrected_flow(expected.total_lph, estimate, read, flow_exponent(zone_of(in, zone), read));
  }
  return at_estimate > 0 ? at_reading / at_estimate : 1;
}

std::optional<Change> flow_against_model(const ScreeningInput& in, const MeterReading& reading) {
  const auto index = static_cast<int>(&reading - in.survey.meter.data());
  for (const MeterComparison& comparison : in.meter) {
    if (comparison.reading != index || !(comparison.ratio > 0)) continue;
    const bool inlet_read = std::all_of(reading.zones.begin(), reading.zones.end(), [&](int zone) {
      return inlet_of(in, zone).today.has_value();
    });
    Change made;
    made.evidence = inlet_read ? Evidence::flow_at_pressure : Evidence::flow_as_metered;
    made.dimension = Dimension::discharge;
    made.measured = comparison.measured_lph;
    const double scale = to_read_inlet(in, reading);
    made.reference = scale * comparison.expected_in_soil_lph.value;
    made.change = comparison.measured_lph / made.reference - 1;
    made.sd = comparison.ratio_sd / scale;
    made.instrument_sd = std::min(made.sd, comparison.measured_sd_lph / made.reference);
    made.told =
        fmt::format("{} metered{}, {} expected of clean emitters in the soil at these pressures",
                    zone_flow_text(made.measured, in.field.report_units), together(in, reading),
                    zone_flow_text(made.reference, in.field.report_units));
    return made;
  }
  return std::nullopt;
}

struct EmitterCount {
  double count = 0;
  double sd_frac = 0;
};

/// Of the zone's laterals, else by its area and the spacings.
EmitterCount emitters_of(const Field& field, int zone) {
  EmitterCount emitters;
  for (const Lateral& lateral : field.laterals) {
    if (lateral.zone == zone) emitters.count += lateral.emitters;
  }
  const Zone& spec = field.zones[static_cast<std::size_t>(zone)];
  const double cell_m2 = spec.lateral.spacing_m * spec.emitter.spacing_m;
  if (emitters.count > 0 || !(cell_m2 > 0)) return emitters;
  constexpr double square_metres_per_hectare = 10'000;
  return {square_metres_per_hectare * field.zone_area_ha(zone) / cell_m2, counted_by_area_sd_frac};
}

/// Emitters of one zone at the inlet pressure, in the soil, by their rating.
std::optional<Reading> rated_flow(const ScreeningInput& in, int zone) {
  const Zone& spec = zone_of(in, zone);
  const InletReadings inlet = inlet_of(in, zone);
  const Reading kpa =
      inlet.today ? at_line(in.field, inlet.port, *inlet.today) : stated_inlet(spec);
  const EmitterCount emitters = emitters_of(in.field, zone);
  if (!(kpa.value > 0) || !(emitters.count > 0)) return std::nullopt;
  const Estimate soil = in_soil_ratio(spec.emitter.discharge_lph);
  const double flow =
      emitters.count * discharge_lph(curve_of(spec.emitter), kpa.value) * soil.value;
  const double of_emitters = std::hypot(spec.emitter.rated_tolerance_frac, soil.sd / soil.value);
  const double of_pressure =
      std::hypot(unknown_pipes_sd_frac, flow_exponent(spec, kpa.value) * kpa.sd / kpa.value);
  return Reading{flow, std::hypot(of_emitters, of_pressure, emitters.sd_frac) * flow};
}

/// Without pipes; the zones of one reading share soil and make of emitters, so errors add up.
std::optional<Change> flow_against_rating(const ScreeningInput& in, const MeterReading& reading) {
  Reading expected;
  bool inlet_read = true;
  bool inlet_stated = true;
  bool counted = true;
  for (const int zone : reading.zones) {
    const auto flow = rated_flow(in, zone);
    if (!flow) return std::nullopt;
    expected = {expected.value + flow->value, expected.sd + flow->sd};
    counted = counted && emitters_of(in.field, zone).sd_frac == 0;
    const bool read = inlet_of(in, zone).today.has_value();
    inlet_read = inlet_read && read;
    inlet_stated = inlet_stated && (read || zone_of(in, zone).inlet_pressure_kpa > 0);
  }
  Change made = flow_change(reading, expected, std::nullopt, Change::Against::rating);
  if (inlet_read) made.evidence = Evidence::flow_at_pressure;
  made.told = fmt::format(
      "{} metered{}, about {} by the emitters' rating {}; pipe losses not known{}",
      zone_flow_text(reading.flow_lph, in.field.report_units), together(in, reading),
      zone_flow_text(expected.value, in.field.report_units),
      inlet_stated ? "at the inlet pressure" : "at their rated pressure, the inlet's not known",
      counted ? "" : ", emitters counted by area");
  return made;
}

}  // namespace

void add_flow(const ScreeningInput& in, int zone, std::vector<Change>& changes) {
  const MeterReading* reading = meter_of(in.survey, zone);
  if (reading == nullptr || !(reading->flow_lph > 0)) return;
  auto made = flow_against_record(in, *reading);
  if (!made) made = flow_against_model(in, *reading);
  if (!made) made = flow_against_rating(in, *reading);
  if (made) changes.push_back(std::move(*made));
}

}  // namespace evendrip
