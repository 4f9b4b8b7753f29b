// SPDX-License-Identifier: Apache-2.0
// Surveys drawn with known components, and what is measured on them.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <random>
#include <vector>

#include "evendrip/uniformity/sample_size.hpp"
#include "evendrip/uniformity/uniformity.hpp"

namespace evendrip::drawn {

using Sample = std::vector<GroupedValue>;

inline const std::vector<PlannedMeasure>& all_measures() {
  static const std::vector<PlannedMeasure> measures = {
      PlannedMeasure::mean, PlannedMeasure::statistical_uniformity,
      PlannedMeasure::low_quarter_uniformity, PlannedMeasure::christiansen};
  return measures;
}

inline Sample drawn_survey(int laterals, int emitters, double between, double within,
                           std::mt19937_64& stream) {
  std::normal_distribution<double> normal;
  Sample sample;
  for (int l = 0; l < laterals; ++l) {
    const double effect = between * normal(stream);
    for (int e = 0; e < emitters; ++e) {
      sample.push_back({std::max(0.0, 1 + effect + within * normal(stream)), l});
    }
  }
  return sample;
}

inline std::vector<double> values_of(const Sample& sample) {
  std::vector<double> values;
  for (const GroupedValue& v : sample) values.push_back(v.value);
  return values;
}

inline double measured(const std::vector<double>& discharges, PlannedMeasure measure) {
  switch (measure) {
    case PlannedMeasure::statistical_uniformity: {
      const auto n = static_cast<double>(discharges.size());
      // With n instead of n - 1, as an influence value sees it.
      return 1 - coefficient_of_variation(discharges) * std::sqrt((n - 1) / n);
    }
    case PlannedMeasure::low_quarter_uniformity:
      return low_quarter_uniformity(discharges);
    case PlannedMeasure::christiansen:
      return christiansen_coefficient(discharges);
    case PlannedMeasure::mean:
      break;
  }
  return mean_of(discharges);
}

}  // namespace evendrip::drawn
