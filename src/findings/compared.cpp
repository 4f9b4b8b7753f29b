// SPDX-License-Identifier: Apache-2.0
#include "compared.hpp"

#include <cmath>

#include <fmt/format.h>

namespace evendrip {

const Zone& zone_of(const ScreeningInput& in, int zone) {
  return in.field.zones[static_cast<std::size_t>(zone)];
}

double flow_exponent(const Zone& zone, double kpa) {
  const EmitterCurve curve = curve_of(zone.emitter);
  const double flow_lph = discharge_lph(curve, kpa);
  return flow_lph > 0 ? discharge_slope(curve, kpa) * kpa / flow_lph : zone.emitter.exponent;
}

Reading stated_inlet(const Zone& zone) {
  const double stated = zone.inlet_pressure_kpa;
  if (stated > 0) return {stated, statement_sd_frac * stated};
  return {zone.emitter.pressure_kpa, rated_pressure_sd_frac * zone.emitter.pressure_kpa};
}

std::string pressure_text(const ScreeningInput& in, double kpa) {
  return format_quantity(kpa, Dimension::pressure, in.field.report_units, 3);
}

std::string zone_flow_text(double lph, UnitSystem units) {
  const char* unit = units == UnitSystem::us ? "gpm" : "m3/h";
  return fmt::format("{:.4g} {}", from_canonical(lph, unit, Dimension::discharge), unit);
}

std::string of_record(const ScreeningInput& in) {
  const std::string& date = in.commissioning->date;
  return date.empty() ? "in the commissioning record" : fmt::format("at commissioning ({})", date);
}

Change ratio_change(Evidence evidence, const Compared& both, Change::Against against) {
  Change made;
  made.evidence = evidence;
  made.against = against;
  made.measured = both.reading.value;
  made.reference = both.reference.value;
  const double ratio = both.reading.value / both.reference.value;
  made.change = ratio - 1;
  made.instrument_sd = both.reading.sd / both.reference.value;
  made.sd = std::hypot(made.instrument_sd, ratio * both.reference.sd / both.reference.value);
  return made;
}

InletReadings inlet_of(const ScreeningInput& in, int zone) {
  for (const char* kind : {"zone_inlet", "valve_out"}) {
    for (const int port : ports_of(in.field, zone, kind)) {
      InletReadings inlet{port, reading_at(in.field, in.survey, port, zone), std::nullopt};
      if (!inlet.today) continue;
      if (in.commissioning != nullptr) inlet.record = recorded_at(*in.commissioning, port, zone);
      return inlet;
    }
  }
  return {};
}

}  // namespace evendrip
