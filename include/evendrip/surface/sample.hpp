// SPDX-License-Identifier: Apache-2.0
// A measurement as the mathematics of surfaces sees it.
#pragma once

#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

struct Sample {
  Site site;
  double value = 0;
  double noise_variance = 0;  ///< known: of measuring, of making the emitters
};
using Samples = std::vector<Sample>;

/// Prediction at one place.
struct Prediction {
  double value = 0;
  double variance = 0;  ///< of the prediction error; 0 for methods that have none
};

}  // namespace evendrip
