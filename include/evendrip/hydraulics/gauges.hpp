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

struct GaugePriors {
  /// Of the stated inlet pressure, as a share; without a statement the rated pressure at 0.5.
  double inlet_sd_frac = 0.15;
  double loss_sd = 0.15;  ///< of the loss factor about 1
  double wear_sd = 0.15;  ///< of the wear factor about 1, with the rated tolerance
};

struct PortComparison {
  int port = -1;
  double measured_kpa = 0;  ///< at the height of the line: gauge height corrected
  double modelled_kpa = 0;
  double gauge_sd_kpa = 0;
  double standardised = 0;  ///< residual over its standard deviation
  bool flagged = false;     ///< beyond 3
};

/// All at the standard deviations that the weights imply.
struct ZoneGauges {
  Estimate inlet_kpa;
  std::string
      inlet_source;  ///< "gauge Z1-zone_inlet", "field.toml", "far-end gauges", "rated pressure"
  Estimate loss_factor{1, 0};   ///< on all friction of the zone
  bool loss_estimated = false;  ///< the data say more of it than the prior did
  Estimate wear_factor{1, 0};   ///< mean performance of the zone's emitters
  std::vector<PortComparison> ports;
  int iterations = 0;
};

/// What other witnesses say of the zone's mean performance: from holes (delivery over clean, mean
/// and standard error), from the meter.
struct WearWitness {
  std::string name;
  Estimate factor;
};

/// Readings while irrigating count ("flushing" ones do not), those of ports on the zone's network.
/// Gauge accuracy not stated: 2 % of the reading, at least 1 kPa (common practice, no source).
/// Doubts: "gauge_too_coarse" (accuracy beyond 5 % of the reading), "port_disagrees" (flagged),
/// "negative_end_pressure", "inlet_not_measured" (neither a gauge nor field.toml says the inlet
/// pressure).
ZoneGauges meet_gauges(const Field& field, const Survey& survey, const ZoneNetwork& network,
                       const std::vector<WearWitness>& witnesses, const GaugePriors& priors,
                       Doubts& doubts);

}  // namespace evendrip
