// SPDX-License-Identifier: Apache-2.0
// Estimators set side by side on the same samples: leaving out emitter by emitter, and lateral by
// lateral, since a neighbour on the same lateral makes any method look good.
//
// Continuous ranked probability score: Matheson & Winkler 1976, Manag. Sci. 22:1087-1096; for a
// normal forecast Gneiting et al. 2005, Mon. Weather Rev. 133:1098-1118, eq. 5 (from memory).
#pragma once

#include <functional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/surface/sample.hpp"

namespace evendrip {

/// Any way to predict at sites from samples. A variance of 0 stands for "says no error".
struct Estimator {
  std::string name;
  std::function<std::vector<Prediction>(const Samples& known, std::span<const Site> sites)> predict;
};

enum class LeaveOut { emitter, lateral };

struct EstimatorScore {
  std::string name;
  LeaveOut left_out = LeaveOut::emitter;
  std::vector<Prediction> predicted;  ///< of each sample from the others; NaN where it could not
  int compared = 0;                   ///< samples that could be predicted
  double mean_error = 0;              ///< observed minus predicted
  double rmse = 0;
  double coverage_90 = 0;  ///< share of the observed inside the 90 % limits; NaN without errors
  double mean_score = 0;   ///< mean continuous ranked probability score; without errors the mean
                           ///< absolute error, which it is for a point forecast
  std::string doubt;       ///< "2 of 30 could not be predicted", or empty
};
/// Samples at the very same place are left out together; samples without a lateral are each their
/// own group. The variance of an observed value is that of the prediction plus its noise variance.
EstimatorScore cross_validate(const Samples& samples, const Estimator& estimator, LeaveOut left_out,
                              const Work& work);

/// Of a normal forecast; |observed - mean| when sd is 0.
double ranked_probability_score(double mean, double sd, double observed);

Estimator zone_mean_estimator();     ///< mean of the zone; error of a new emitter about it
Estimator lateral_mean_estimator();  ///< mean of the lateral; the zone's mean where it has none
Estimator inverse_distance_estimator(double power, int most);
Estimator natural_neighbour_estimator();
Estimator triangulation_estimator();
/// Fits the best moment variogram and kriges within zones; the zone mean where none is found.
Estimator ordinary_kriging_estimator(int most);

}  // namespace evendrip
