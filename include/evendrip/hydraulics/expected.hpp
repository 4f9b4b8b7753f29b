// SPDX-License-Identifier: Apache-2.0
// What every emitter of a field should discharge on the day of a survey, and how the dug ones
// compare: delivery and performance, never confused.
//
// Delivery = q over what a clean system at the measured inlet pressure gives at that place: what
// the plant misses. Performance = q over k h^x at the emitter's real pressure: only 1 - performance
// is clogging or wear.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/hydraulics/gauges.hpp"
#include "evendrip/hydraulics/zone_network.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// One lateral; arrays by emitter from the supply end.
struct ExpectedLateral {
  int lateral = -1;
  std::vector<double> station_m;
  std::vector<double> elevation_m;
  std::vector<double> pressure_kpa;        ///< of the clean system at the measured inlet pressure
  std::vector<double> discharge_lph;       ///< at that pressure, dug free: k h^x
  std::vector<double> as_is_pressure_kpa;  ///< with zone-wide wear and loss as the gauges say
};

struct ExpectedZone {
  int zone = -1;
  bool computed = false;
  std::string why_not;  ///< "needs [layers] manifolds": plain words if not computed
  /// Clean, at the measured inlet pressure; its emitters give what they give in the soil.
  std::optional<ZoneNetwork> network;
  NetworkState state;  ///< of `network`
  ZoneGauges gauges;   ///< inlet pressure, loss, wear, ports
  std::vector<ExpectedLateral> laterals;
  double total_lph = 0;  ///< clean, of all emitters as if each were dug free
  double mean_lph = 0;
  double smallest_lph = 0;
  /// Standard error of one emitter's expected discharge over it, from inlet pressure and heights;
  /// the rated tolerance, common to the zone, stands apart.
  double relative_sd = 0;
  double rated_tolerance_frac = 0;
};

/// A dug emitter against what it should give. NaN where the zone is not computed, the emitter is
/// not usable, or no lateral is told from its place: then the zone's mean is expected, but there is
/// no delivery, and performance only where the pressure was measured in the pit.
struct JudgedEmitter {
  int emitter = -1;  ///< index into Survey::emitters
  double expected_lph = 0;
  double delivery = 0;
  double pressure_kpa = 0;  ///< in the pit if measured there, else modelled as it is
  bool pressure_measured = false;
  double performance = 0;     ///< NaN also where there is no pressure
  double performance_sd = 0;  ///< from the gauge or the model, without the rated tolerance
};

class Expectation {
 public:
  Expectation();
  ~Expectation();
  Expectation(Expectation&&) noexcept;
  Expectation& operator=(Expectation&&) noexcept;

  std::vector<ExpectedZone> zones;      ///< one for each zone of the field, in order
  std::vector<JudgedEmitter> emitters;  ///< one for each of Survey::emitters, in order
  Doubts doubts;

  struct Value {
    double pressure_kpa = 0;
    double discharge_lph = 0;
  };
  /// Of the clean system at a place in a zone: on the nearest lateral, between its emitters.
  /// Nothing where the zone is not computed. Safe from many threads.
  std::optional<Value> at(Point place, int zone) const;
  std::optional<Value> at_station(int lateral, double station_m) const;
  /// "expected discharge by hydraulics (Darcy-Weisbach, water 16 degC), ...": for metadata.
  std::string method_text() const;

  struct Index;
  std::unique_ptr<Index> index;
};

/// Builds, meets the gauges and solves every zone; a zone that cannot be computed says why and the
/// rest goes on. Zones are met three times: without witnesses of wear, then twice with what the
/// holes and the meter say at the pressures found before. Doubts: those of zone_network and
/// meet_gauges, "no_inlet_pressure" (neither stated nor any port read: the zone is not computed),
/// "negative_end_pressure" (emitters without pressure in the clean system),
/// "meter_and_holes_disagree" (the meter is then no witness of wear). Throws FileError for an
/// elevation raster that cannot be read, Interrupted.
Expectation expect(const Field& field, const Survey& survey, const HydraulicOptions& options,
                   const Work& work);

/// Options of a survey: its water temperature; that of the only or latest survey if the id is
/// empty.
HydraulicOptions hydraulic_options(const Field& field, const std::string& survey_id);

}  // namespace evendrip
