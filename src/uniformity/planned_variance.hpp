// SPDX-License-Identifier: Apache-2.0
// Variance of the estimate of a planned survey and how far its own estimate will scatter; and what
// plans of every kind share.
#pragma once

#include <string>

#include "evendrip/uniformity/sample_size.hpp"

namespace evendrip {

struct PlannedVariance {
  double variance = 0;
  double freedom = 0;          ///< of Student's quantile; 0 where it cannot be told
  double scatter_freedom = 0;  ///< of the chi-square that an estimated variance scatters by
};
/// Of m laterals with k emitters on each; k may be a mean.
PlannedVariance planned_variance(const PlanComponents& parts, double m, double k,
                                 const PlanOptions& options);

/// Throws std::invalid_argument as told in sample_size.hpp.
void require_plan(const PlanOptions& options);
double student_quantile(double freedom, double confidence);

int most_laterals_of(const PlanOptions& options);
int most_on_each(const PlanOptions& options);
std::string no_plan_text(const PlanOptions& options);
SamplingPlan plan_of(int m, int k, double expected_frac, double assured_frac,
                     const PlanOptions& options);
/// "38 emitters on 9 laterals tell within 6.2 points of low-quarter uniformity; ..."
std::string judgement_text(const SampleJudgement& judged, PlannedMeasure measure,
                           const PlanOptions& options);

}  // namespace evendrip
