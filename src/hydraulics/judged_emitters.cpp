// SPDX-License-Identifier: Apache-2.0
#include "judged_emitters.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <string>

#include <fmt/format.h>

#include "evendrip/hydraulics/meter.hpp"
#include "evendrip/hydraulics/water.hpp"

namespace evendrip {
namespace {

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
constexpr double prior_scatter = 0.15;     // of performance between holes
constexpr double prior_scatter_holes = 2;  // what it weighs
constexpr double uncertain_pressure = 0.1;
constexpr double zones_differ_sd = 0.1;
constexpr double apart = 3;
constexpr double pit_gauge_frac = 0.02;    // common practice, no source
constexpr double least_pit_gauge_kpa = 1;  // likewise

/// Mean of the gauge readings in the pit, if there are any.
std::optional<double> pit_pressure_kpa(const Survey& survey, const MeasuredEmitter& emitter) {
  double sum = 0;
  int readings = 0;
  for (const std::size_t record : emitter.records) {
    const auto& kpa = survey.records[record].pressure_kpa;
    if (!kpa || !std::isfinite(*kpa)) continue;
    sum += *kpa;
    ++readings;
  }
  if (readings == 0) return std::nullopt;
  return sum / readings;
}

bool lies_on(const ZoneNetwork& network, const PortComparison& compared, int lateral) {
  const auto port = std::find_if(network.ports.begin(), network.ports.end(),
                                 [&](const NetworkPort& p) { return p.port == compared.port; });
  if (port == network.ports.end()) return false;
  return std::any_of(
      network.laterals.begin(), network.laterals.end(), [&](const NetworkLateral& known) {
        return known.lateral == lateral &&
               std::find(known.nodes.begin(), known.nodes.end(), port->node) != known.nodes.end();
      });
}

/// How far the gauges set aside are from the model: those on the lateral, and if the most of the
/// zone's gauges away from the inlet are set aside, the nearest of them for every lateral.
double gauge_gap_kpa(const ExpectedZone& zone, int lateral) {
  if (!zone.network) return 0;
  double on_lateral = 0;
  double smallest = std::numeric_limits<double>::infinity();
  int set_aside = 0;
  int away_from_inlet = 0;
  for (const PortComparison& compared : zone.gauges.ports) {
    if (compared.at_inlet) continue;
    ++away_from_inlet;
    if (!compared.set_aside) continue;
    ++set_aside;
    const double gap = std::abs(compared.measured_kpa - compared.modelled_kpa);
    smallest = std::min(smallest, gap);
    if (lies_on(*zone.network, compared, lateral)) on_lateral = std::max(on_lateral, gap);
  }
  return 2 * set_aside > away_from_inlet ? std::max(on_lateral, smallest) : on_lateral;
}

/// Errors of inlet, heights and loss are taken as independent, which errs on the safe side.
double modelled_sd_kpa(const ExpectedZone& zone, int lateral, double kpa) {
  const double inlet = zone.gauges.inlet_kpa.value;
  const Estimate& loss = zone.gauges.loss_factor;
  const double of_loss = std::abs(inlet - kpa) * loss.sd / loss.value;
  const double heights_m = zone.network ? zone.network->elevation_sd_m : 0;
  return std::hypot(std::hypot(zone.gauges.inlet_kpa.sd, of_loss),
                    std::hypot(pressure_kpa(heights_m), gauge_gap_kpa(zone, lateral)));
}

JudgedHole not_judged(int index) {
  return {{index, unknown, unknown, unknown, false, unknown, unknown}, unknown};
}

JudgedHole judged_hole(const Field& field, const Survey& survey, const ZoneWork& work, int index) {
  const MeasuredEmitter& emitter = survey.emitters[static_cast<std::size_t>(index)];
  const ExpectedZone& zone = work.zone;
  JudgedHole hole = not_judged(index);
  JudgedEmitter& result = hole.emitter;
  result.expected_lph = zone.mean_lph;
  double sd_kpa = unknown;
  if (const ExpectedLateral* lateral = lateral_of(zone, emitter.site.lateral)) {
    const double station_m = emitter.site.station_m;
    result.expected_lph = along_lateral(*lateral, lateral->discharge_lph, station_m);
    if (result.expected_lph > 0) result.delivery = emitter.discharge_lph / result.expected_lph;
    result.pressure_kpa = along_lateral(*lateral, lateral->as_is_pressure_kpa, station_m);
    sd_kpa = modelled_sd_kpa(zone, lateral->lateral, result.pressure_kpa);
  }
  if (const auto kpa = pit_pressure_kpa(survey, emitter)) {
    result.pressure_kpa = *kpa;
    result.pressure_measured = true;
    sd_kpa = std::max(least_pit_gauge_kpa, pit_gauge_frac * *kpa);
  }
  if (!(result.pressure_kpa > 0)) return hole;
  const EmitterCurve curve = curve_of(field.zones[static_cast<std::size_t>(zone.zone)].emitter);
  hole.pressure_sd_frac = local_exponent(curve, result.pressure_kpa) * sd_kpa / result.pressure_kpa;
  result.performance = emitter.discharge_lph / discharge_lph(curve, result.pressure_kpa);
  result.performance_sd = result.performance * hole.pressure_sd_frac;
  return hole;
}

/// What the emitters of a zone would give free at the pressures as they are, if none were worn.
double free_at_as_is_lph(const Field& field, const ExpectedZone& zone) {
  const EmitterCurve curve = curve_of(field.zones[static_cast<std::size_t>(zone.zone)].emitter);
  double total = 0;
  for (const ExpectedLateral& lateral : zone.laterals) {
    for (const double kpa : lateral.as_is_pressure_kpa) total += discharge_lph(curve, kpa);
  }
  return total;
}

std::optional<Estimate> meter_factor(const Field& field, const MeterReading& reading,
                                     const std::vector<ZoneWork>& works) {
  double in_soil_lph = 0;
  double soil_sd_lph = 0;  // one soil: its error is common
  double pressure_sd2_lph = 0;
  for (const int index : reading.zones) {
    const ExpectedZone& zone = works[static_cast<std::size_t>(index)].zone;
    if (!zone.computed) return std::nullopt;
    const EmitterSpec& emitter = field.zones[static_cast<std::size_t>(index)].emitter;
    const double free_lph = free_at_as_is_lph(field, zone);
    const Estimate ratio = in_soil_ratio(emitter.discharge_lph);
    in_soil_lph += ratio.value * free_lph;
    soil_sd_lph += ratio.sd * free_lph;
    const double inlet = zone.gauges.inlet_kpa.value;
    const double pressure_sd_frac =
        local_exponent(curve_of(emitter), inlet) * zone.gauges.inlet_kpa.sd / inlet;
    pressure_sd2_lph += std::pow(ratio.value * free_lph * pressure_sd_frac, 2);
  }
  if (!(in_soil_lph > 0)) return std::nullopt;
  const double factor = reading.flow_lph / in_soil_lph;
  const double of_model = std::sqrt(soil_sd_lph * soil_sd_lph + pressure_sd2_lph) / in_soil_lph;
  const double of_zones = reading.zones.size() > 1 ? zones_differ_sd : 0;
  return Estimate{factor,
                  std::hypot(factor * std::hypot(reading.accuracy_frac, of_model), of_zones)};
}

}  // namespace

const ExpectedLateral* lateral_of(const ExpectedZone& zone, int lateral) {
  if (lateral < 0) return nullptr;
  for (const ExpectedLateral& known : zone.laterals) {
    if (known.lateral == lateral) return &known;
  }
  return nullptr;
}

std::vector<JudgedHole> judge_emitters(const Field& field, const Survey& survey,
                                       const std::vector<ZoneWork>& works) {
  std::vector<JudgedHole> result;
  for (std::size_t i = 0; i < survey.emitters.size(); ++i) {
    const MeasuredEmitter& emitter = survey.emitters[i];
    const auto index = static_cast<int>(i);
    const auto zone = static_cast<std::size_t>(emitter.site.zone);
    const bool known = emitter.usable() && emitter.site.zone >= 0 && works[zone].zone.computed;
    result.push_back(known ? judged_hole(field, survey, works[zone], index) : not_judged(index));
  }
  return result;
}

std::optional<WearWitness> witness_of_holes(const Survey& survey,
                                            const std::vector<JudgedHole>& judged, int zone) {
  std::map<std::string, std::vector<double>> holes;
  for (const JudgedHole& hole : judged) {
    const auto& emitter = survey.emitters[static_cast<std::size_t>(hole.emitter.emitter)];
    if (emitter.site.zone != zone || !(hole.pressure_sd_frac <= uncertain_pressure)) continue;
    // A name that no pit can have keeps emitters without a pit apart.
    const std::string pit =
        emitter.pit.empty() ? fmt::format("\n{}", hole.emitter.emitter) : emitter.pit;
    holes[pit].push_back(hole.emitter.performance);
  }
  if (holes.empty()) return std::nullopt;
  std::vector<double> means;
  double mean = 0;
  for (const auto& [pit, values] : holes) {
    double sum = 0;
    for (const double value : values) sum += value;
    means.push_back(sum / static_cast<double>(values.size()));
    mean += means.back() / static_cast<double>(holes.size());
  }
  double squares = prior_scatter_holes * prior_scatter * prior_scatter;
  for (const double value : means) squares += (value - mean) * (value - mean);
  const auto count = static_cast<double>(means.size());
  const double variance = squares / (count - 1 + prior_scatter_holes);
  return WearWitness{"holes", {mean, std::sqrt(variance / count)}};
}

std::optional<WearWitness> witness_of_meter(const Field& field, const Survey& survey,
                                            const std::vector<ZoneWork>& works, int zone) {
  std::optional<Estimate> best;
  for (const MeterReading& reading : survey.meter) {
    if (std::find(reading.zones.begin(), reading.zones.end(), zone) == reading.zones.end()) {
      continue;
    }
    const auto factor = meter_factor(field, reading, works);
    // Readings share the meter and the soil: the best one stands for all.
    if (factor && (!best || factor->sd < best->sd)) best = factor;
  }
  if (!best) return std::nullopt;
  return WearWitness{"meter", *best};
}

std::vector<WearWitness> wear_witnesses(const Field& field, const Survey& survey,
                                        const std::vector<JudgedHole>& judged,
                                        const std::vector<ZoneWork>& works, int zone,
                                        Doubts& doubts) {
  const auto holes = witness_of_holes(survey, judged, zone);
  const auto meter = witness_of_meter(field, survey, works, zone);
  std::vector<WearWitness> witnesses;
  if (holes) witnesses.push_back(*holes);
  if (!meter) return witnesses;
  if (holes && std::abs(holes->factor.value - meter->factor.value) >
                   apart * std::hypot(holes->factor.sd, meter->factor.sd)) {
    const std::string& id = field.zones[static_cast<std::size_t>(zone)].id;
    Place place;
    place.layer = "zone " + id;
    doubts.push_back({"meter_and_holes_disagree", Severity::doubt, place,
                      fmt::format("meter and holes say different things of the emitters of zone "
                                  "{}; the holes are believed",
                                  id),
                      fmt::format("meter {:.0f} % of a clean emitter", 100 * meter->factor.value),
                      fmt::format("holes {:.0f} %", 100 * holes->factor.value),
                      "Look for a leak or another user of water, and time a known volume through "
                      "the meter"});
    return witnesses;
  }
  witnesses.push_back(*meter);
  return witnesses;
}

}  // namespace evendrip
