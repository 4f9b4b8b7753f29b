// SPDX-License-Identifier: Apache-2.0
// How likely what the gauges of a zone show is, given what they should show with faults in place.
//
// The readings are Gaussian about the network's pressures. What is known beforehand of inlet
// pressure, friction and emitters (hydraulics/gauges.hpp: GaugePriors) is integrated out, linear
// about the clean zone, so that a fault is held against a zone that may be fitted anew and not
// against one fitted with the fault still unknown. Any reading may be a blunder (2 in 100, then
// anything up to 1.5 times the inlet pressure; common practice, no source): a single gauge that
// nothing bears out cannot prove a fault.
#pragma once

#include <vector>

#include "evendrip/condition/segment_grid.hpp"
#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/survey/survey.hpp"
#include "faulty_zone.hpp"

namespace evendrip {

struct GaugeReading {
  GaugedPlace place;
  double kpa = 0;            ///< at the height of the line
  double sd_kpa = 0;         ///< of gauge and heights
  double common_sd_kpa = 0;  ///< shared by all pits: one gauge goes from pit to pit
};

/// Ports as the expectation met them, and pits where the pressure was read (2 % of the reading in
/// common, and 1 kPa each; common practice, no source).
std::vector<GaugeReading> gauge_readings(const Field& field, const Survey& survey,
                                         const ExpectedZone& expected);

class GaugeEvidence {
 public:
  /// `network`: clean, as expected or lumped. `clean_kpa`: what it shows at the readings' places.
  GaugeEvidence(const Zone& zone, const ExpectedZone& expected, std::vector<GaugeReading> readings,
                std::vector<double> clean_kpa, const SegmentGrid& grid, const ZoneNetwork& network);

  /// Of the readings, where the network would show `modelled_kpa` at the expected inlet pressure.
  double log_likelihood(const std::vector<double>& modelled_kpa) const;

 private:
  double inlet_kpa_ = 0;
  std::vector<GaugeReading> readings_;
  std::vector<double> clean_kpa_;
  std::vector<std::vector<double>> slopes_;  ///< kPa for one prior sd of each unknown, by reading
  std::vector<double> shift_kpa_;            ///< of the prior's zone from the expected one
};

}  // namespace evendrip
