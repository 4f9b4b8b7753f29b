// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/survey_plan.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <set>
#include <stdexcept>
#include <utility>
#include <vector>

#include "joined_draws.hpp"
#include "planned_variance.hpp"
#include "survey_outlook.hpp"

namespace evendrip {
namespace {

// On fewer laterals the limits rest on the model.
constexpr int least_laterals = 6;
constexpr int emitters_tried[] = {1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 60, 80, 120};

double cost_of(int m, int k, const PlanOptions& options) {
  return m * (options.lateral_cost + k * options.emitter_cost);
}

/// Fewest laterals with k emitters on each that reach the half-width at less than a cost; 0: none.
int fewest_laterals(const SurveyOutlook& outlook, int k, double cost, const PlanOptions& options) {
  const int most = most_laterals_of(options);
  // The first cost is infinite.
  const double affordable = std::ceil(cost / cost_of(1, k, options)) - 1;
  int enough = static_cast<int>(std::min(static_cast<double>(most), affordable));
  int too_few = std::min(most, least_laterals) - 1;
  if (enough <= too_few || !outlook.reaches(enough, k)) return 0;
  // Doubling first: small surveys are quick to look at.
  for (int next = std::max(1, too_few) * 2; next < enough; next *= 2) {
    if (outlook.reaches(next, k)) {
      enough = next;
      break;
    }
    too_few = next;
  }
  while (enough - too_few > 1) {
    const int middle = too_few + (enough - too_few) / 2;
    (outlook.reaches(middle, k) ? enough : too_few) = middle;
  }
  return enough;
}

struct Size {
  int laterals = 0;
  int emitters_on_each = 0;
  double cost = std::numeric_limits<double>::infinity();
};

/// Cost has one valley along the emitters on a lateral: it is walked down from a few.
Size cheapest_size(const SurveyOutlook& outlook, const PlanOptions& options) {
  std::vector<int> each;
  const int most = most_on_each(options);
  for (const int k : emitters_tried) {
    if (k < most) each.push_back(k);
  }
  each.push_back(most);
  Size best;
  const auto better_at = [&](std::size_t i) {
    const int m = fewest_laterals(outlook, each[i], best.cost, options);
    if (m == 0) return false;
    best = {m, each[i], cost_of(m, each[i], options)};
    return true;
  };
  const std::size_t start = std::min<std::size_t>(3, each.size() - 1);
  std::size_t up = start;
  while (up < each.size() && !better_at(up)) ++up;  // first that reaches it at all
  if (up == each.size()) return best;
  const std::size_t first = up;
  while (up + 1 < each.size() && better_at(up + 1)) ++up;
  for (std::size_t down = first; up == first && down > 0 && better_at(down - 1);) --down;
  return best;
}

double share_quantile(std::vector<double> widths, double share) {
  std::sort(widths.begin(), widths.end());
  const auto below = std::ceil(share * static_cast<double>(widths.size()) - 1e-9);
  return widths[static_cast<std::size_t>(std::max(1.0, below)) - 1];
}

ForeseenHalfWidth foresee(const SurveyOutlook& outlook, int m, int k, const PlanOptions& options) {
  const std::vector<double> widths = outlook.half_widths(m, k);
  return {share_quantile(widths, 0.5), share_quantile(widths, options.assurance)};
}

SamplingPlan plan_of_outlook(const SurveyOutlook& outlook, const PlanOptions& options) {
  SamplingPlan none;
  none.why_not = outlook.why_not();
  if (!none.why_not.empty()) return none;
  const Size size = cheapest_size(outlook, options);
  if (size.laterals == 0) {
    none.why_not = no_plan_text(options);
    return none;
  }
  const ForeseenHalfWidth width = foresee(outlook, size.laterals, size.emitters_on_each, options);
  return plan_of(size.laterals, size.emitters_on_each, width.expected_frac, width.assured_frac,
                 options);
}

void require_discharges(const EmitterSample& sample) {
  for (const SampledEmitter& e : sample.emitters) {
    if (!std::isfinite(e.discharge_lph) || e.discharge_lph < 0) {
      throw std::invalid_argument("a discharge is negative or not finite");
    }
  }
}

}  // namespace

Measure limits_measure(PlannedMeasure measure) {
  switch (measure) {
    case PlannedMeasure::statistical_uniformity:
      return Measure::statistical;
    case PlannedMeasure::low_quarter_uniformity:
      return Measure::low_quarter;
    case PlannedMeasure::christiansen:
      return Measure::christiansen;
    case PlannedMeasure::mean:
      break;
  }
  return Measure::mean;
}

std::optional<double> printed_half_width(const Limits& limits, PlannedMeasure measure) {
  if (!limits.known) return std::nullopt;
  const double half = 0.5 * (limits.upper - limits.lower);
  if (measure != PlannedMeasure::mean) return half;
  if (!(limits.estimate > 0)) return std::nullopt;
  return half / limits.estimate;
}

ForeseenHalfWidth foreseen_half_width(const EmitterSample& first, PlannedMeasure measure,
                                      int laterals, int emitters_on_each,
                                      const PlanOptions& options) {
  require_plan(options);
  require_discharges(first);
  if (laterals < 1 || emitters_on_each < 1) {
    throw std::invalid_argument("a plan needs a lateral and an emitter");
  }
  const SurveyOutlook outlook(first, measure, options);
  if (!outlook.why_not().empty()) return {};
  return foresee(outlook, laterals, emitters_on_each, options);
}

SamplingPlan plan_for_limits(const EmitterSample& first, PlannedMeasure measure,
                             const PlanOptions& options) {
  require_plan(options);
  require_discharges(first);
  return plan_of_outlook(SurveyOutlook(first, measure, options), options);
}

SampleJudgement judged_by_limits(const EmitterSample& sample, const Limits& printed,
                                 PlannedMeasure measure, const PlanOptions& options) {
  require_plan(options);
  require_discharges(sample);
  const SurveyOutlook outlook(sample, measure, options);
  SampleJudgement judged;
  judged.components = outlook.runner_components();
  judged.components.why_not = outlook.why_not();
  std::set<std::pair<int, int>> laterals;
  for (const SampledEmitter& e : sample.emitters) {
    if (e.lateral >= 0) laterals.emplace(e.zone, e.lateral);
  }
  judged.laterals = static_cast<int>(laterals.size());
  judged.emitters = static_cast<int>(sample.emitters.size());
  judged.half_width_frac = printed_half_width(printed, measure);
  judged.enough = judged.half_width_frac && *judged.half_width_frac <= options.half_width_frac;
  judged.plan = plan_of_outlook(outlook, options);
  if (!judged.half_width_frac && judged.components.why_not.empty()) {
    judged.components.why_not = "the limits are not known";
  }
  judged.text = judgement_text(judged, measure, options);
  return judged;
}

}  // namespace evendrip
