// SPDX-License-Identifier: Apache-2.0
// Further published measures of uniformity, fill times as data, and the small-sample error of the
// low-quarter uniformity. Ratios are fractions. Samples as in uniformity.hpp: empty, negative or
// not finite values throw std::invalid_argument; ratios of a sample whose mean is 0 are 0.
#pragma once

#include <span>

#include "evendrip/uniformity/uniformity.hpp"

namespace evendrip {

/// Field emission uniformity: the low-quarter mean over the mean, of emitters or of plants.
/// Keller & Karmeli 1974, Trans. ASAE 17:678-684; Merriam & Keller 1978 (both from memory).
double field_emission_uniformity(std::span<const double> discharges,
                                 QuarterRule rule = QuarterRule::fractional);

/// (low-quarter mean / mean + mean / high-eighth mean) / 2; the rule holds for the eighth as well.
/// Keller & Karmeli 1974 (from memory).
double absolute_emission_uniformity(std::span<const double> discharges,
                                    QuarterRule rule = QuarterRule::fractional);

/// (largest - least) / largest. Wu & Gitlin (from memory).
double flow_variation(std::span<const double> discharges);

/// What fill times of one container say without turning them into discharges.
struct FillTimes {
  int emitters = 0;
  double mean_s = 0;
  double cv = 0;                ///< of the times
  double statistical_frac = 0;  ///< 1 - cv of the times
  double sixths_frac = 0;       ///< by the lowest and highest sixths; 0 below six emitters
  bool sixths_known = false;    ///< six or more emitters
};
/// Throws std::invalid_argument for a time that is not above 0: an emitter that never fills the
/// container has no time and is counted with the plugged ones.
FillTimes measure_fill_times(std::span<const double> fill_times_s);

/// Discharges in L/h of emitters that fill `container_ml` in these times. Throws
/// std::invalid_argument for a time or a volume that is not above 0.
std::vector<double> discharges_of_fill_times(std::span<const double> fill_times_s,
                                             double container_ml);

/// Expected low-quarter uniformity of n independent normal emitters less that of the whole
/// population (mean 1, this CV): a small sample flatters. By the expected order statistics of the
/// normal distribution (integrated numerically) and the second-order error of the ratio.
/// n is 1 or more, cv not negative.
double low_quarter_flattery(int n, double cv, QuarterRule rule = QuarterRule::fractional);

/// The published figure less its flattery at this sample's own CV, not below 0.
double corrected_low_quarter(std::span<const double> discharges,
                             QuarterRule rule = QuarterRule::fractional);

}  // namespace evendrip
