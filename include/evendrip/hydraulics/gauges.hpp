// SPDX-License-Identifier: Apache-2.0
// Meeting the gauges: the zone's inlet pressure, one loss factor and one factor of wear, by
// weighted least squares on the network (Gauss-Newton; Bard 1974, Nonlinear Parameter Estimation),
// so that clogging is not mistaken for friction.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/hydraulics/zone_network.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// A quantity with its standard error.
struct Estimate {
  double value = 0;
  double sd = 0;
};

/// Standard deviations of what is believed before the gauges are read; common practice, no source.
struct GaugePriors {
  /// Of the stated inlet pressure, as a share; without a statement the rated pressure at 0.5.
  double inlet_sd_frac = 0.15;
  double loss_sd = 0.15;  ///< of the loss factor about 1
  double wear_sd = 0.15;  ///< of the wear factor about 1; the rated tolerance is added to it
  /// In-soil over free discharge; without a value that of in_soil_ratio for the rated discharge.
  std::optional<Estimate> soil_factor;
};

struct PortComparison {
  int port = -1;
  bool at_inlet = false;    ///< or behind the valve
  double measured_kpa = 0;  ///< at the height of the line: gauge height corrected
  double modelled_kpa = 0;
  double gauge_sd_kpa = 0;
  double standardised = 0;  ///< residual over its own standard deviation (leverage allowed for)
  bool flagged = false;     ///< beyond 3
  bool set_aside = false;   ///< flagged and away from the inlet: not in the estimate
};

/// All at the standard deviations that the weights imply.
struct ZoneGauges {
  Estimate inlet_kpa;
  std::string
      inlet_source;  ///< "gauge Z1-zone_inlet", "field.toml", "far-end gauges", "rated pressure"
  Estimate loss_factor{1, 0};   ///< on all friction of the zone
  bool loss_estimated = false;  ///< the data say more of it than the prior did
  Estimate wear_factor{1, 0};   ///< mean performance of the zone's emitters
  Estimate soil_factor{1, 0};   ///< in-soil over free discharge: what the pipes carry
  std::vector<PortComparison> ports;
  int iterations = 0;
};

/// What other witnesses say of the zone's mean performance: from holes (discharge over k h^x, mean
/// and standard error), from the meter (measured over in-soil ratio times modelled free discharge).
struct WearWitness {
  std::string name;
  Estimate factor;
};

/// Readings while irrigating count ("flushing" ones and those with other zones open do not), those
/// of ports on the zone's network; a port behind the valve ("valve_out") counts as the inlet with 2
/// kPa more (common practice, no source). Several readings of a port are one, their mean, for the
/// gauge's own error does not average out. Each is brought to the height of the line: a gauge 0.85
/// m above it reads 8.3 kPa low. Gauge accuracy (one standard deviation) not stated: 2 % of the
/// reading, at least 1 kPa (common practice, no source). The error of the heights is added away
/// from the inlet. The pipes carry what the emitters give in the soil: wear times soil factor.
/// `network` is clean, with emitters that discharge free.
///
/// The worst port beyond 3 standardised residuals is set aside and the rest estimated anew, until
/// none is left: one pinched lateral must not pass for friction of the zone. A gauge at the inlet
/// is never set aside, nor the last port.
///
/// Doubts: "gauge_too_coarse" (accuracy beyond 5 % of the reading), "port_disagrees" (flagged),
/// "negative_end_pressure" (a gauge below atmospheric pressure), "inlet_not_measured" (neither a
/// gauge nor field.toml says the inlet pressure), "other_zones_open" (a note: readings left out),
/// "gauges_not_settled". Throws what NetworkSolver throws.
ZoneGauges meet_gauges(const Field& field, const Survey& survey, const ZoneNetwork& network,
                       const std::vector<WearWitness>& witnesses, const GaugePriors& priors,
                       Doubts& doubts);

/// True if field.toml states the zone's inlet pressure or a port of its network was read.
bool inlet_pressure_is_told(const Field& field, const Survey& survey, const ZoneNetwork& network);

/// The network at an inlet pressure, with all friction and all emitters multiplied by a factor.
ZoneNetwork as_gauged(const ZoneNetwork& clean, double inlet_kpa, double loss_factor,
                      double emitter_factor);

}  // namespace evendrip
