// SPDX-License-Identifier: Apache-2.0
// Influence of one emitter on a measure of uniformity, from what the measure knows of the whole.
#pragma once

#include "evendrip/uniformity/sample_size.hpp"

namespace evendrip {

/// The whole, discharges over their mean.
struct Whole {
  double sd = 0;
  double quartile = 1;               ///< below which the lowest quarter lies
  double low_quarter = 1;            ///< mean of the lowest quarter
  double mean_deviation = 0;         ///< mean of |x - 1|
  double below_less_above_mean = 0;  ///< share below the mean less share above it
};
Whole whole_of_normal(double cv);

/// Of an emitter with that relative discharge; its mean over the whole is 0.
double influence(const Whole& whole, double relative, PlannedMeasure measure);

/// Normal emitters with that CV, of whose variance a share lies between laterals; by quadrature.
LateralShape normal_shape(double cv, double lateral_share_frac, PlannedMeasure measure);

}  // namespace evendrip
