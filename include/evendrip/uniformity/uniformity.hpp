// SPDX-License-Identifier: Apache-2.0
// How even the emitters are: published measures of uniformity from measured discharges.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// What to do when n is not divisible by four.
enum class QuarterRule {
  fractional,  ///< lowest n/4 readings, the last one in part (default)
  floor,       ///< lowest floor(n/4), at least 1
  ceiling      ///< lowest ceil(n/4)
};
std::string to_text(QuarterRule rule);

/// Arithmetic mean. All functions here throw std::invalid_argument for an empty sample, a value
/// that is negative or not finite; ratios of a sample whose mean is 0 are 0.
double mean_of(std::span<const double> discharges);
/// Coefficient of variation with the (n-1) standard deviation; 0 for n = 1.
double coefficient_of_variation(std::span<const double> discharges);
/// Mean of the lowest quarter over the mean, as a fraction. Merriam & Keller 1978; UC Cooperative
/// Extension Sonoma, "Emission Uniformity for Adjusting Irrigation Timing".
double low_quarter_uniformity(std::span<const double> discharges,
                              QuarterRule rule = QuarterRule::fractional);
/// Christiansen's coefficient as a fraction: 1 - sum|q - mean| / (n mean). Christiansen 1942,
/// Univ. California Agric. Exp. Sta. Bull. 670; not below 0 is not enforced.
double christiansen_coefficient(std::span<const double> discharges);
/// 1 - CV (0 where the mean is 0). Bralts & Kesner 1983, Trans. ASAE 26:1369-1374.
double statistical_uniformity(std::span<const double> discharges);

/// Statistical uniformity from fill times by the sums of the lowest and highest sixths:
/// 1 - c (Tmax - Tmin)/(Tmax + Tmin), c = 1/(2 x 0.7495528) from the normal distribution (mean of
/// the top sixth lies 1.4991056 sd above the mean). Bralts & Kesner 1983's nomograph in closed
/// form. Needs n >= 6; n/6 rounded down.
double uniformity_from_sixths(std::span<const double> fill_times_s);

struct UniformityResult {
  std::string name;  ///< zone id, or "field"
  int zone = -1;     ///< -1 for the field
  int emitters = 0;  ///< used
  int damaged = 0;   ///< dug_damage, counted, never taken for clogging
  int not_found = 0;
  int plugged = 0;  ///< state none or discharge 0
  double area_ha = 0;
  double mean_lph = 0;
  double median_lph = 0;
  double cv = 0;
  double low_quarter_frac = 0;
  double christiansen_frac = 0;
  double statistical_frac = 0;
};

struct Uniformity {
  QuarterRule rule = QuarterRule::fractional;
  std::vector<UniformityResult> zones;  ///< in the order of Field::zones; emitters 0 if none dug
  UniformityResult field;               ///< all usable emitters pooled, relative to nothing
  double field_low_quarter_area_weighted_frac = 0;  ///< zones weighted by area
  Doubts doubts;                                    ///< too few emitters and the like
};
Uniformity evaluate_uniformity(const Field& field, const Survey& survey,
                               QuarterRule rule = QuarterRule::fractional);

}  // namespace evendrip
