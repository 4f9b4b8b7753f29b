// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/meter.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "zone_expectation.hpp"

namespace evendrip {
namespace {

constexpr std::array<double, 3> tested_lph = {1, 2, 4};
constexpr std::array<double, 3> tested_ratio = {0.905, 0.825, 0.704};
constexpr double smallest_sd = 0.05;
constexpr double largest_sd = 0.12;
constexpr double reference_gauge_frac = 0.02;  // of a commissioning pressure; common practice,
                                               // no source

/// The zones of one reading together.
struct Together {
  double free_lph = 0;
  double in_soil_lph = 0;
  double pressure_sd2_lph2 = 0;  ///< of free_lph; gauges differ between zones
  double soil_sd_lph = 0;        ///< of in_soil_lph; one soil: its error is common
  double rated_sd_lph = 0;       ///< of in_soil_lph; emitters of one make
  double inlet_kpa = 0;          ///< weighted by flow, as what follows
  double inlet_sd_kpa = 0;
  double exponent = 0;
};

Together together(const Field& field, const Expectation& expectation,
                  const std::vector<int>& zones) {
  Together sum;
  for (const int index : zones) {
    const ExpectedZone& zone = expectation.zones[static_cast<std::size_t>(index)];
    const EmitterSpec& emitter = field.zones[static_cast<std::size_t>(index)].emitter;
    const Estimate& inlet = zone.gauges.inlet_kpa;
    const Estimate ratio = in_soil_ratio(emitter.discharge_lph);
    const double exponent = local_exponent(curve_of(emitter), inlet.value);
    sum.free_lph += zone.total_lph;
    sum.in_soil_lph += ratio.value * zone.total_lph;
    sum.pressure_sd2_lph2 += std::pow(zone.total_lph * exponent * inlet.sd / inlet.value, 2);
    sum.soil_sd_lph += ratio.sd * zone.total_lph;
    sum.rated_sd_lph += zone.rated_tolerance_frac * ratio.value * zone.total_lph;
    sum.inlet_kpa += zone.total_lph * inlet.value;
    sum.inlet_sd_kpa = std::hypot(sum.inlet_sd_kpa, zone.total_lph * inlet.sd);
    sum.exponent += zone.total_lph * exponent;
  }
  if (sum.free_lph > 0) {
    sum.inlet_kpa /= sum.free_lph;
    sum.inlet_sd_kpa /= sum.free_lph;
    sum.exponent /= sum.free_lph;
  }
  return sum;
}

std::optional<Estimate> against_commissioning(const MeterReading& reading, const Together& zones) {
  const auto& flow = reading.reference_flow_lph;
  const auto& kpa = reading.reference_pressure_kpa;
  if (!flow || !kpa || !(*flow > 0) || !(*kpa > 0)) return std::nullopt;
  const double ratio =
      reading.flow_lph / corrected_flow(*flow, *kpa, zones.inlet_kpa, zones.exponent);
  // The meter was read twice, the pressure gauged twice.
  const double of_pressure =
      zones.exponent * std::hypot(zones.inlet_sd_kpa / zones.inlet_kpa, reference_gauge_frac);
  return Estimate{ratio, ratio * std::hypot(std::sqrt(2.0) * reading.accuracy_frac, of_pressure)};
}

MeterComparison comparison(const Field& field, const Expectation& expectation,
                           const MeterReading& reading, int index) {
  const Together zones = together(field, expectation, reading.zones);
  MeterComparison result;
  result.reading = index;
  result.zones = reading.zones;
  result.measured_lph = reading.flow_lph;
  result.measured_sd_lph = reading.accuracy_frac * reading.flow_lph;
  const double pressure_sd_frac = std::sqrt(zones.pressure_sd2_lph2) / zones.free_lph;
  result.expected_free_lph = {zones.free_lph, pressure_sd_frac * zones.free_lph};
  result.expected_in_soil_lph = {zones.in_soil_lph,
                                 std::hypot(std::hypot(zones.soil_sd_lph, zones.rated_sd_lph),
                                            pressure_sd_frac * zones.in_soil_lph)};
  result.ratio = reading.flow_lph / zones.in_soil_lph;
  result.ratio_sd = result.ratio * std::hypot(reading.accuracy_frac,
                                              result.expected_in_soil_lph.sd / zones.in_soil_lph);
  result.against_commissioning = against_commissioning(reading, zones);
  return result;
}

/// Empty if the reading can be compared.
std::string why_not_compared(const Field& field, const Expectation& expectation,
                             const MeterReading& reading) {
  if (reading.zones.empty()) return "the row names no zone that is known";
  double total_lph = 0;
  for (const int index : reading.zones) {
    const ExpectedZone& zone = expectation.zones[static_cast<std::size_t>(index)];
    if (!zone.computed) {
      return fmt::format("zone {} is not computed: {}",
                         field.zones[static_cast<std::size_t>(index)].id, zone.why_not);
    }
    total_lph += zone.total_lph;
  }
  return total_lph > 0 ? "" : "no emitter of these zones has any pressure";
}

Place place_of(const Field& field, const Survey& survey, const MeterReading& reading) {
  Place place;
  for (const SurveySource& source : field.surveys) {
    if (source.id == survey.id && source.meter) place.file = source.meter->as_written;
  }
  place.row = reading.row;
  place.column = "zones";
  return place;
}

}  // namespace

Estimate in_soil_ratio(double discharge_lph) {
  const double q = std::clamp(discharge_lph, tested_lph.front(), tested_lph.back());
  const std::size_t i = q < tested_lph[1] ? 0 : 1;
  const double share = std::log(q / tested_lph[i]) / std::log(tested_lph[i + 1] / tested_lph[i]);
  const double whole =
      std::log(q / tested_lph.front()) / std::log(tested_lph.back() / tested_lph.front());
  return {tested_ratio[i] + share * (tested_ratio[i + 1] - tested_ratio[i]),
          smallest_sd + whole * (largest_sd - smallest_sd)};
}

std::vector<MeterComparison> compare_meter(const Field& field, const Survey& survey,
                                           const Expectation& expectation, Doubts& doubts) {
  std::vector<MeterComparison> result;
  for (std::size_t i = 0; i < survey.meter.size(); ++i) {
    const MeterReading& reading = survey.meter[i];
    const std::string why_not = why_not_compared(field, expectation, reading);
    if (why_not.empty()) {
      result.push_back(comparison(field, expectation, reading, static_cast<int>(i)));
      continue;
    }
    doubts.push_back({"meter_not_compared", Severity::doubt, place_of(field, survey, reading),
                      "the meter reading is not compared with the emitters", why_not,
                      "zones that are all computed", "Complete what the zones need"});
  }
  return result;
}

double corrected_flow(double reference_flow, double reference_kpa, double kpa, double exponent) {
  return reference_flow * std::pow(kpa / reference_kpa, exponent);
}

}  // namespace evendrip
