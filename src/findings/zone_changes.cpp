// SPDX-License-Identifier: Apache-2.0
#include "evendrip/findings/zone_changes.hpp"

#include <initializer_list>
#include <utility>

#include <fmt/format.h>

#include "compared.hpp"
#include "far_end_changes.hpp"
#include "flow_changes.hpp"

namespace evendrip {
namespace {

/// A filter that takes more than this asks for cleaning: about 7 psi; common practice, no source.
constexpr double filter_loss_limit_kpa = 50;

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

void inlet_change(const ScreeningInput& in, int zone, const InletReadings& inlet,
                  std::vector<Change>& changes) {
  if (!inlet.today) return;
  if (inlet.record) {
    changes.push_back(ratio_change(Evidence::zone_inlet, {*inlet.today, *inlet.record},
                                   Change::Against::commissioning));
    changes.back().told = fmt::format("{} read, {} {}", pressure_text(in, inlet.today->value),
                                      pressure_text(in, inlet.record->value), of_record(in));
    return;
  }
  const Zone& spec = zone_of(in, zone);
  const Reading reference = stated_inlet(spec);
  changes.push_back(ratio_change(
      Evidence::zone_inlet, {at_line(in.field, inlet.port, *inlet.today), reference},
      spec.inlet_pressure_kpa > 0 ? Change::Against::statement : Change::Against::rating));
  changes.back().told = fmt::format(
      "{} at the line, {} {}", pressure_text(in, changes.back().measured),
      pressure_text(in, reference.value),
      spec.inlet_pressure_kpa > 0 ? "stated in field.toml"
                                  : "is the emitters' rated pressure; no inlet_pressure is stated");
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
  add_flow(input, zone, changes);
  upstream_changes(input, zone, changes);
  inlet_change(input, zone, inlet_of(input, zone), changes);
  add_far_ends(input, zone, changes);
  tell_filter_loss(input, zone, doubts);
  return changes;
}

}  // namespace evendrip
