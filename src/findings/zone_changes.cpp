// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/zone_changes.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <initializer_list>
#include <string_view>
#include <utility>

#include <fmt/format.h>

#include "evendrip/hydraulics/water.hpp"
#include "port_readings.hpp"

namespace evendrip {
namespace {

/// Stated inlet pressures are round numbers; common practice, no source.
constexpr double statement_sd_frac = 0.05;
/// Friction of a real zone against the modelled one, as a share of the loss; common practice.
constexpr double loss_sd_frac = 0.15;
/// Far ends of one zone differ by their height and place; common practice, no source.
constexpr double neighbours_sd_frac = 0.05;
/// Pipe losses where the pipes are not known, as a share of the flow; common practice, no source.
constexpr double unknown_pipes_sd_frac = 0.05;
/// Friction of a line with outlets follows about this power of the flow (Blasius).
constexpr double friction_exponent = 1.75;
/// A filter that takes more than this asks for cleaning: about 7 psi; common practice, no source.
constexpr double filter_loss_limit_kpa = 50;

const Zone& zone_of(const ScreeningInput& in, int zone) {
  return in.field.zones[static_cast<std::size_t>(zone)];
}

std::string pressure_text(const ScreeningInput& in, double kpa) {
  return format_quantity(kpa, Dimension::pressure, in.field.report_units, 3);
}

/// A flow of a zone: m3/h or gpm, L/h or gph being meant for one emitter.
std::string zone_flow_text(const ScreeningInput& in, double lph) {
  const char* unit = in.field.report_units == UnitSystem::us ? "gpm" : "m3/h";
  return fmt::format("{:.4g} {}", from_canonical(lph, unit, Dimension::discharge), unit);
}

std::string of_record(const ScreeningInput& in) {
  const std::string& date = in.commissioning->date;
  return date.empty() ? "in the commissioning record" : fmt::format("at commissioning ({})", date);
}

/// A reading and what it is compared with, both with errors.
struct Compared {
  Reading reading;
  Reading reference;
};

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

/// The zone's inlet today, and at commissioning by the same gauge.
struct Inlet {
  int port = -1;
  std::optional<Reading> today;
  std::optional<Reading> record;
};

Inlet inlet_of(const ScreeningInput& in, int zone) {
  for (const char* kind : {"zone_inlet", "valve_out"}) {
    for (const int port : ports_of(in.field, zone, kind)) {
      Inlet inlet{port, reading_at(in.field, in.survey, port, zone), std::nullopt};
      if (!inlet.today) continue;
      if (in.commissioning != nullptr) inlet.record = recorded_at(*in.commissioning, port, zone);
      return inlet;
    }
  }
  return {};
}

/// Gauges that only a record can be compared with, in order of preference.
void upstream_changes(const ScreeningInput& in, int zone, std::vector<Change>& changes) {
  struct Place {
    Evidence evidence;
    std::initializer_list<const char*> kinds;
  };
  if (in.commissioning == nullptr) return;
  for (const Place& place : {Place{Evidence::before_filter, {"filter_in", "pump"}},
                             Place{Evidence::after_filter, {"filter_out"}},
                             Place{Evidence::before_valve, {"valve_in", "main"}}}) {
    const auto both = [&]() -> std::optional<std::pair<int, Compared>> {
      for (const char* kind : place.kinds) {
        for (const int port : ports_of(in.field, zone, kind)) {
          const auto today = reading_at(in.field, in.survey, port, zone);
          const auto then = recorded_at(*in.commissioning, port, zone);
          if (today && then) return std::pair{port, Compared{*today, *then}};
        }
      }
      return std::nullopt;
    }();
    if (!both) continue;
    changes.push_back(ratio_change(place.evidence, both->second, Change::Against::commissioning));
    changes.back().told =
        fmt::format("{} read at {}, {} {}", pressure_text(in, both->second.reading.value),
                    in.field.ports[static_cast<std::size_t>(both->first)].id,
                    pressure_text(in, both->second.reference.value), of_record(in));
  }
}

void inlet_change(const ScreeningInput& in, int zone, const Inlet& inlet,
                  std::vector<Change>& changes) {
  if (!inlet.today) return;
  const double stated = zone_of(in, zone).inlet_pressure_kpa;
  if (inlet.record) {
    changes.push_back(ratio_change(Evidence::zone_inlet, {*inlet.today, *inlet.record},
                                   Change::Against::commissioning));
    changes.back().told = fmt::format("{} read, {} {}", pressure_text(in, inlet.today->value),
                                      pressure_text(in, inlet.record->value), of_record(in));
  } else if (stated > 0) {
    const Reading reference{stated, statement_sd_frac * stated};
    changes.push_back(ratio_change(Evidence::zone_inlet,
                                   {at_line(in.field, inlet.port, *inlet.today), reference},
                                   Change::Against::statement));
    changes.back().told =
        fmt::format("{} at the line, {} stated in field.toml",
                    pressure_text(in, changes.back().measured), pressure_text(in, stated));
  }
}

/// The clean zone at an inlet pressure, and the pressures there.
class CleanZone {
 public:
  CleanZone(const ExpectedZone& zone, double inlet_kpa) : network_(*zone.network) {
    network_.set_inlet_pressure(inlet_kpa);
    state_ = NetworkSolver(network_.network).solve(network_.network, &zone.state);
  }
  std::optional<double> port_kpa(int port) const {
    for (const NetworkPort& known : network_.ports) {
      if (known.port == port) return state_.pressure_kpa(network_.network, known.node);
    }
    return std::nullopt;
  }
  double elevation_sd_kpa() const { return network_.elevation_sd_m * kpa_per_m; }

 private:
  ZoneNetwork network_;
  NetworkState state_;
};

struct FarEnd {
  int port = -1;
  Compared both;
  double common_sd = 0;  ///< share; what all ends of the zone have in common, in the reference
};

/// What the inlet leaves at the far end by the record: its loss grows with the flow it had.
Reading end_by_record(const Zone& zone, const Inlet& inlet, const Reading& end) {
  const double share = inlet.today->value / inlet.record->value;
  const double loss = inlet.record->value - end.value;
  const double grown = loss * std::pow(share, friction_exponent * zone.emitter.exponent);
  return {inlet.today->value - grown, end.sd};
}

std::optional<FarEnd> end_against_record(const ScreeningInput& in, int zone, const Inlet& inlet,
                                         int port, const Reading& today) {
  if (in.commissioning == nullptr) return std::nullopt;
  const auto then = recorded_at(*in.commissioning, port, zone);
  if (!then) return std::nullopt;
  if (!inlet.record) return FarEnd{port, {today, *then}, 0};
  const Reading expected = end_by_record(zone_of(in, zone), inlet, *then);
  if (!(expected.value > 0)) return std::nullopt;
  const double inlets = std::hypot(inlet.today->sd, inlet.record->sd);
  return FarEnd{port, {today, expected}, inlets / expected.value};
}

std::optional<FarEnd> end_against_model(const ScreeningInput& in, const CleanZone& clean,
                                        double inlet_kpa, double inlet_sd, int port,
                                        const Reading& today) {
  const auto modelled = clean.port_kpa(port);
  if (!modelled || !(*modelled > 0)) return std::nullopt;
  const double loss = std::abs(inlet_kpa - *modelled);
  const Reading expected{*modelled, clean.elevation_sd_kpa()};
  return FarEnd{port,
                {at_line(in.field, port, today), expected},
                std::hypot(inlet_sd, loss_sd_frac * loss) / *modelled};
}

struct FarEnds {
  std::vector<FarEnd> list;
  Change::Against against = Change::Against::model;
  bool given_inlet = false;
};

std::vector<std::pair<int, Reading>> end_readings(const ScreeningInput& in, int zone) {
  std::vector<std::pair<int, Reading>> ends;
  for (const char* kind : {"lateral_end", "flush_end"}) {
    for (const int port : ports_of(in.field, zone, kind)) {
      if (const auto today = reading_at(in.field, in.survey, port, zone)) {
        ends.emplace_back(port, *today);
      }
    }
  }
  return ends;
}

/// Every far end against one kind of reference: the record where it has them, else the model.
FarEnds far_ends(const ScreeningInput& in, int zone, const Inlet& inlet) {
  const auto readings = end_readings(in, zone);
  FarEnds ends;
  ends.against = Change::Against::commissioning;
  ends.given_inlet = inlet.record.has_value();
  for (const auto& [port, today] : readings) {
    if (auto end = end_against_record(in, zone, inlet, port, today)) ends.list.push_back(*end);
  }
  if (!ends.list.empty() || readings.empty()) return ends;
  const ExpectedZone& expected = in.expectation.zones[static_cast<std::size_t>(zone)];
  const double stated = zone_of(in, zone).inlet_pressure_kpa;
  if (!expected.computed || !expected.network || (!inlet.today && !(stated > 0))) return ends;
  ends.against = Change::Against::model;
  ends.given_inlet = inlet.today.has_value();
  const Reading at_inlet = inlet.today ? at_line(in.field, inlet.port, *inlet.today)
                                       : Reading{stated, statement_sd_frac * stated};
  if (!(at_inlet.value > 0)) return ends;
  const CleanZone clean(expected, at_inlet.value);
  for (const auto& [port, today] : readings) {
    const auto end = end_against_model(in, clean, at_inlet.value, at_inlet.sd, port, today);
    if (end) ends.list.push_back(*end);
  }
  return ends;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  const std::size_t half = values.size() / 2;
  return values.size() % 2 == 1 ? values[half] : 0.5 * (values[half - 1] + values[half]);
}

void far_end_change(const ScreeningInput& in, const FarEnds& ends, std::vector<Change>& changes) {
  if (ends.list.empty()) return;
  std::vector<double> shares;
  double own = 0;
  double own_instrument = 0;
  double common = 0;
  for (const FarEnd& end : ends.list) {
    const Change one = ratio_change(Evidence::far_end_at_inlet, end.both, ends.against);
    shares.push_back(one.change);
    own = std::max(own, one.sd);
    own_instrument = std::max(own_instrument, one.instrument_sd);
    common = std::max(common, end.common_sd);
  }
  // The median of n normal values has about 1.25 times the error of their mean.
  const double n = static_cast<double>(ends.list.size());
  const double shrink = n > 1 ? std::min(1.0, 1.25 / std::sqrt(n)) : 1.0;
  Change made;
  made.evidence = ends.given_inlet ? Evidence::far_end_at_inlet : Evidence::far_end_as_read;
  made.against = ends.against;
  made.change = median(shares);
  made.sd = std::hypot(common, shrink * own);
  made.instrument_sd = shrink * own_instrument;
  const FarEnd& first = ends.list.front();
  if (ends.list.size() == 1) {
    made.measured = first.both.reading.value;
    made.reference = first.both.reference.value;
    made.told = fmt::format(
        "{} at {}, {} expected {}", pressure_text(in, made.measured),
        in.field.ports[static_cast<std::size_t>(first.port)].id, pressure_text(in, made.reference),
        ends.given_inlet ? "from the inlet pressure" : "without an inlet gauge");
  } else {
    made.told =
        fmt::format("middle of {} far ends, against what was expected {}", ends.list.size(),
                    ends.given_inlet ? "from the inlet pressure" : "without an inlet gauge");
  }
  changes.push_back(std::move(made));
}

/// Ratio of each far end to its reference, or the plain readings where there is none.
struct EndRatio {
  int port = -1;
  double ratio = 0;
  double sd = 0;
  double reading_kpa = 0;
};

std::vector<EndRatio> end_ratios(const ScreeningInput& in, int zone, const FarEnds& ends) {
  std::vector<EndRatio> ratios;
  for (const FarEnd& end : ends.list) {
    const Change one = ratio_change(Evidence::weakest_end, end.both, ends.against);
    ratios.push_back({end.port, 1 + one.change, one.sd, end.both.reading.value});
  }
  if (!ratios.empty()) return ratios;
  std::vector<double> plain;
  const auto readings = end_readings(in, zone);
  for (const auto& [port, today] : readings) plain.push_back(at_line(in.field, port, today).value);
  if (plain.empty() || !(median(plain) > 0)) return ratios;
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const auto& [port, today] = readings[i];
    ratios.push_back({port, plain[i] / median(plain),
                      std::hypot(today.sd / median(plain), neighbours_sd_frac), plain[i]});
  }
  return ratios;
}

/// Expected distance of the lowest of n normal values below their middle, in standard deviations
/// (Blom 1958: the quantile of (1 - 3/8)/(n + 1/4); from memory), by a fit good to 3 %.
double lowest_of(std::size_t n) {
  static constexpr std::array<double, 11> known{0,    0,    0.56, 0.85, 1.03, 1.16,
                                                1.27, 1.35, 1.42, 1.49, 1.54};
  if (n < known.size()) return known[n];
  return 1.54 + 0.42 * std::log(static_cast<double>(n) / 10);
}

void weakest_end_change(const ScreeningInput& in, int zone, const FarEnds& ends,
                        std::vector<Change>& changes) {
  const std::vector<EndRatio> ratios = end_ratios(in, zone, ends);
  if (ratios.size() < 2) return;
  const auto lowest =
      std::min_element(ratios.begin(), ratios.end(),
                       [](const EndRatio& a, const EndRatio& b) { return a.ratio < b.ratio; });
  std::vector<double> others;
  for (const EndRatio& end : ratios) {
    if (end.port != lowest->port) others.push_back(end.ratio);
  }
  const double middle = median(others);
  if (!(middle > 0)) return;
  Change made;
  made.evidence = Evidence::weakest_end;
  made.against = Change::Against::neighbours;
  made.instrument_sd =
      lowest->sd / middle * std::sqrt(1 + 1.5 / static_cast<double>(others.size()));
  made.sd = made.instrument_sd;
  // The lowest of several sound ends lies below the others by chance.
  made.change = std::min(0.0, lowest->ratio / middle - 1 + lowest_of(ratios.size()) * lowest->sd);
  made.measured = lowest->reading_kpa;
  made.told = fmt::format("{} at {}, {:.0f} % under the middle of the other {}",
                          pressure_text(in, lowest->reading_kpa),
                          in.field.ports[static_cast<std::size_t>(lowest->port)].id,
                          std::max(0.0, 100 * (1 - lowest->ratio / middle)), others.size());
  changes.push_back(std::move(made));
}

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
    const Inlet inlet = inlet_of(in, zone);
    auto then = inlet.record;
    if (stated_reference_kpa) then = Reading{*stated_reference_kpa, 0};
    if (!inlet.today || !then || !(then->value > 0) || !(inlet.today->value > 0)) continue;
    const double x = zone_of(in, zone).emitter.exponent;
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

Change flow_change(const ScreeningInput& in, const MeterReading& reading, Reading reference,
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
      const bool same_meter = flow.meter.empty() || flow.meter == reading.meter;
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
  Change made = flow_change(in, reading, *then, factor, Change::Against::commissioning);
  made.told = fmt::format("{} metered{}, {} {}", zone_flow_text(in, reading.flow_lph),
                          together(in, reading), zone_flow_text(in, then->value), source);
  if (factor) {
    made.told +=
        fmt::format(", which is {} at today's inlet pressure", zone_flow_text(in, made.reference));
  }
  return made;
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
    made.reference = comparison.expected_in_soil_lph.value;
    made.change = comparison.ratio - 1;
    made.sd = comparison.ratio_sd;
    made.instrument_sd =
        std::min(made.sd, comparison.measured_sd_lph / comparison.expected_in_soil_lph.value);
    made.told =
        fmt::format("{} metered{}, {} expected of clean emitters in the soil at these pressures",
                    zone_flow_text(in, made.measured), together(in, reading),
                    zone_flow_text(in, made.reference));
    return made;
  }
  return std::nullopt;
}

/// Without pipes: all emitters at the inlet pressure, by their rating.
std::optional<Change> flow_against_rating(const ScreeningInput& in, const MeterReading& reading) {
  double expected = 0;
  double variance_frac = 0;
  bool inlet_read = true;
  for (const int zone : reading.zones) {
    const Zone& spec = zone_of(in, zone);
    const Inlet inlet = inlet_of(in, zone);
    inlet_read = inlet_read && inlet.today.has_value();
    const double kpa =
        inlet.today ? at_line(in.field, inlet.port, *inlet.today).value : spec.inlet_pressure_kpa;
    double emitters = 0;
    for (const Lateral& lateral : in.field.laterals) {
      if (lateral.zone == zone) emitters += lateral.emitters;
    }
    if (!(kpa > 0) || emitters == 0) return std::nullopt;
    const double one = discharge_lph(curve_of(spec.emitter), kpa);
    const Estimate soil = in_soil_ratio(one);
    expected += emitters * one * soil.value;
    const double inlet_frac =
        inlet.today ? inlet.today->sd / inlet.today->value : statement_sd_frac;
    variance_frac = std::max(variance_frac, std::pow(spec.emitter.rated_tolerance_frac, 2) +
                                                std::pow(soil.sd / soil.value, 2) +
                                                std::pow(unknown_pipes_sd_frac, 2) +
                                                std::pow(spec.emitter.exponent * inlet_frac, 2));
  }
  Change made = flow_change(in, reading, {expected, std::sqrt(variance_frac) * expected},
                            std::nullopt, Change::Against::statement);
  if (inlet_read) made.evidence = Evidence::flow_at_pressure;
  made.told = fmt::format(
      "{} metered{}, about {} by the emitters' rating at the inlet pressure, pipe losses not known",
      zone_flow_text(in, reading.flow_lph), together(in, reading), zone_flow_text(in, expected));
  return made;
}

void add_flow(const ScreeningInput& in, int zone, std::vector<Change>& changes) {
  const MeterReading* reading = meter_of(in.survey, zone);
  if (reading == nullptr || !(reading->flow_lph > 0)) return;
  auto made = flow_against_record(in, *reading);
  if (!made) made = flow_against_model(in, *reading);
  if (!made) made = flow_against_rating(in, *reading);
  if (made) changes.push_back(std::move(*made));
}

void tell_filter_loss(const ScreeningInput& in, int zone, Doubts& doubts) {
  for (const int before : ports_of(in.field, zone, "filter_in")) {
    for (const int after : ports_of(in.field, zone, "filter_out")) {
      const auto high = reading_at(in.field, in.survey, before, zone);
      const auto low = reading_at(in.field, in.survey, after, zone);
      if (!high || !low || high->value - low->value <= filter_loss_limit_kpa) continue;
      doubts.push_back(
          {"filter_loss_high",
           Severity::doubt,
           {},
           fmt::format("the filter takes much pressure while zone {} runs", zone_of(in, zone).id),
           pressure_text(in, high->value - low->value),
           fmt::format("at most about {} (common practice)",
                       pressure_text(in, filter_loss_limit_kpa)),
           "Clean the filter, with the pump locked off and the pressure relieved"});
    }
  }
}

}  // namespace

std::vector<Change> zone_changes(const ScreeningInput& input, int zone, Doubts& doubts) {
  std::vector<Change> changes;
  const Inlet inlet = inlet_of(input, zone);
  add_flow(input, zone, changes);
  upstream_changes(input, zone, changes);
  inlet_change(input, zone, inlet, changes);
  const FarEnds ends = far_ends(input, zone, inlet);
  far_end_change(input, ends, changes);
  weakest_end_change(input, zone, ends, changes);
  tell_filter_loss(input, zone, doubts);
  return changes;
}

}  // namespace evendrip
