// SPDX-License-Identifier: Apache-2.0
// How large a survey must be for the two-part limits (limits.hpp) to be as narrow as promised, told
// from a first survey of the zone.
//
// By assurance (O'Hagan & Stevens 2001, Med. Decis. Making 21:219-230; Kelley & Maxwell 2003,
// Psychol. Methods 8:305-321, on accuracy that is reached with a stated chance; Browne 1995, Stat.
// Med. 14:1933-1940, on the doubt that a pilot leaves of a variance; all from memory). Many zones
// are drawn that the first survey leaves possible: the plugged share and its correlation within
// laterals, the variances of the emitters that run, between and within laterals, and their
// evenness. In each a survey of the planned size is drawn and the half-width of its limits worked
// out: binomial limits of the plugged share and Student's limits of the runners, joined by the
// squares of their distances (Zou & Donner 2008, Stat. Med. 27:1693-1702; from memory). The plan is
// the cheapest for which the promised share of these surveys reaches the half-width. Every zone
// that is possible counts, plugged ones that the first survey missed too: a small first survey
// makes a large plan.
#pragma once

#include "evendrip/uniformity/emitter_sample.hpp"
#include "evendrip/uniformity/limits.hpp"
#include "evendrip/uniformity/sample_size.hpp"

namespace evendrip {

/// Half of the distance between the limits; of the mean over the estimate. Nothing where the limits
/// are not known.
std::optional<double> printed_half_width(const Limits& limits, PlannedMeasure measure);

/// Measure whose limits a plan is for.
Measure limits_measure(PlannedMeasure measure);

/// Half-width of the two-part limits that a share (options.assurance) of surveys of that size
/// reach, and the middle one, after a first survey. Throws as planned_half_width.
struct ForeseenHalfWidth {
  double expected_frac = std::numeric_limits<double>::infinity();
  double assured_frac = std::numeric_limits<double>::infinity();
};
ForeseenHalfWidth foreseen_half_width(const EmitterSample& first, PlannedMeasure measure,
                                      int laterals, int emitters_on_each,
                                      const PlanOptions& options);

/// The cheapest plan that is assured. On six laterals or more, where the zone has as many: on fewer
/// the limits rest on the model. Not found, with the reason, for a first survey of one lateral, of
/// fewer than four emitters that run, of emitters that are all alike, or where no plan is that
/// sure.
SamplingPlan plan_for_limits(const EmitterSample& first, PlannedMeasure measure,
                             const PlanOptions& options);

/// Was this survey enough? By the limits that are printed for it, with the plan that would be.
SampleJudgement judged_by_limits(const EmitterSample& sample, const Limits& printed,
                                 PlannedMeasure measure, const PlanOptions& options);

}  // namespace evendrip
