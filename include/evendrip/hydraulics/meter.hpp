// SPDX-License-Identifier: Apache-2.0
// The flow meter against the sum of the emitters: in the soil they run slower than dug free.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/hydraulics/expected.hpp"

namespace evendrip {

/// In-soil over free discharge of an emitter, prior mean and sd. Warrick & Shani 1996 (J. Irrig.
/// Drain. Eng. 122:296-300), one field: 0.905, 0.825, 0.704 at 1, 2, 4 L/h (CV 0.072, 0.124,
/// 0.193); straight between them in the logarithm of the discharge, held outside. The sd, 0.05 at 1
/// L/h rising to 0.12 at 4, stands for other soils (common practice, no source).
Estimate in_soil_ratio(double discharge_lph);

struct MeterComparison {
  int reading = -1;  ///< index into Survey::meter
  std::vector<int> zones;
  double measured_lph = 0;
  double measured_sd_lph = 0;
  Estimate expected_free_lph;     ///< clean, at the measured pressures; sd without rated tolerance
  Estimate expected_in_soil_lph;  ///< times the in-soil ratio; sd with rated tolerance
  double ratio = 0;               ///< measured over expected in soil
  double ratio_sd = 0;
  /// Against the commissioning record corrected by (P/Pref)^x, where there is one: w cancels.
  std::optional<Estimate> against_commissioning;
};

/// Every reading whose zones are all computed. Doubt "meter_not_compared" for the others.
std::vector<MeterComparison> compare_meter(const Field& field, const Survey& survey,
                                           const Expectation& expectation, Doubts& doubts);

/// Flow expected at pressure P of a record made at Pref: (P/Pref)^x (common practice, from memory).
double corrected_flow(double reference_flow, double reference_kpa, double kpa, double exponent);

}  // namespace evendrip
