// SPDX-License-Identifier: Apache-2.0
// The fit of a map beside what the samples show by themselves: moment variograms along and across
// the laterals, less the trend, and the fitted model at the same distances.
#pragma once

#include <optional>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "evendrip/surface/variogram.hpp"

namespace evendrip {

struct FittedVariogram {
  double azimuth_deg = 0;  ///< bearing of the laterals, the mean of all, from north
  DirectionalVariogram moment;
  std::vector<double> model_along;  ///< one for each lag of moment.along
  std::vector<double> model_across;
};

/// Nothing where no model was fitted or there is no lateral. The moments leave out samples that
/// are unlike all others, as the fit nearly does.
std::optional<FittedVariogram> fitted_variogram(const Field& field, const DischargeMap& map);

}  // namespace evendrip
