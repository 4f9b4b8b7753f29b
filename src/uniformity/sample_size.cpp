// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/sample_size.hpp"

#include "planned_variance.hpp"

#include <fmt/format.h>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>
#include <numeric>
#include <stdexcept>

namespace evendrip {
namespace {

// More laterals than this are not looked at; no zone that is dug has them.
constexpr int most_laterals = 1000;

int limit_of(int there_are, int looked_at) {
  return there_are > 0 ? std::min(there_are, looked_at) : looked_at;
}

std::map<int, int> emitters_by_lateral(std::span<const GroupedValue> values) {
  std::map<int, int> counts;
  for (const GroupedValue& v : values) ++counts[v.lateral];
  return counts;
}

void require_inside(double share, const char* what) {
  if (!(share > 0 && share < 1)) throw std::invalid_argument(what);
}

/// Square root of what an estimated variance is over the true one, at a share of all surveys.
double scatter_factor(double freedom, double share) {
  return std::sqrt(quantile(boost::math::chi_squared_distribution<double>(freedom), share) /
                   freedom);
}

PlannedHalfWidth half_width(const PlanComponents& parts, double m, double k,
                            const PlanOptions& options) {
  PlannedHalfWidth width;
  const PlannedVariance planned = planned_variance(parts, m, k, options);
  width.variance = planned.variance;
  if (!(width.variance > 0)) {
    width.expected_frac = 0;
    width.assured_frac = 0;
    return width;
  }
  if (!(planned.freedom > 0)) return width;
  width.degrees_of_freedom = planned.freedom;
  const double reach =
      student_quantile(width.degrees_of_freedom, options.confidence) * std::sqrt(width.variance);
  width.expected_frac = reach * scatter_factor(planned.scatter_freedom, 0.5);
  width.assured_frac = reach * scatter_factor(planned.scatter_freedom, options.assurance);
  return width;
}

/// Fewest emitters on each of m laterals that reach the half-width at no more than a cost.
std::optional<SamplingPlan> plan_on(const PlanComponents& components, int m,
                                    const PlanOptions& options, double cost) {
  const int most = most_on_each(options);
  for (int k = 1; k <= most; ++k) {
    if (m * options.lateral_cost + m * k * options.emitter_cost > cost) break;
    const PlannedHalfWidth width = half_width(components, m, k, options);
    if (width.assured_frac <= options.half_width_frac) {
      return plan_of(m, k, width.expected_frac, width.assured_frac, options);
    }
  }
  return std::nullopt;
}

int plugged_in(double share_frac, int population) {
  return static_cast<int>(std::lround(share_frac * population));
}

void require_share(double share_frac, int population) {
  if (!(share_frac >= 0 && share_frac <= 1)) {
    throw std::invalid_argument("the plugged share is not within 0 to 1");
  }
  if (population < 0) throw std::invalid_argument("the population is negative");
}

std::string plan_text(const SamplingPlan& plan) {
  return fmt::format("{} lateral{} with {} emitter{} on each: {} emitters", plan.laterals,
                     plan.laterals == 1 ? "" : "s", plan.emitters_on_each,
                     plan.emitters_on_each == 1 ? "" : "s", plan.emitters);
}

/// "6.2 points of low-quarter uniformity" or "6.2 % of the mean".
std::string width_text(double half_width_frac, PlannedMeasure measure) {
  if (measure == PlannedMeasure::mean)
    return fmt::format("{:.1f} % of the mean", 100 * half_width_frac);
  return fmt::format("{:.1f} points of {}", 100 * half_width_frac, to_text(measure));
}

}  // namespace

std::string to_text(PlannedMeasure measure) {
  switch (measure) {
    case PlannedMeasure::statistical_uniformity:
      return "statistical uniformity";
    case PlannedMeasure::low_quarter_uniformity:
      return "low-quarter uniformity";
    case PlannedMeasure::christiansen:
      return "Christiansen's coefficient";
    case PlannedMeasure::mean:
      break;
  }
  return "mean discharge";
}

void require_plan(const PlanOptions& options) {
  if (!(options.half_width_frac > 0)) throw std::invalid_argument("the half-width is not above 0");
  require_inside(options.confidence, "the confidence is not inside 0 to 1");
  require_inside(options.assurance, "the assurance is not inside 0 to 1");
  if (!(options.lateral_cost > 0) || !(options.emitter_cost > 0)) {
    throw std::invalid_argument("a cost is not above 0");
  }
  if (options.laterals < 0 || options.emitters_on_a_lateral < 0 ||
      options.most_emitters_on_a_lateral < 1) {
    throw std::invalid_argument("a count of laterals or emitters is negative");
  }
}

double student_quantile(double freedom, double confidence) {
  return quantile(
      complement(boost::math::students_t_distribution<double>(freedom), (1 - confidence) / 2));
}

int most_laterals_of(const PlanOptions& options) {
  return limit_of(options.laterals, most_laterals);
}

int most_on_each(const PlanOptions& options) {
  return limit_of(options.emitters_on_a_lateral, options.most_emitters_on_a_lateral);
}

std::string no_plan_text(const PlanOptions& options) {
  return fmt::format("no plan of at most {} laterals with {} emitters on each is that sure",
                     most_laterals_of(options), most_on_each(options));
}

SamplingPlan plan_of(int m, int k, double expected_frac, double assured_frac,
                     const PlanOptions& options) {
  SamplingPlan plan;
  plan.found = true;
  plan.laterals = m;
  plan.emitters_on_each = k;
  plan.emitters = m * k;
  plan.cost = m * options.lateral_cost + m * k * options.emitter_cost;
  plan.expected_half_width_frac = expected_frac;
  plan.assured_half_width_frac = assured_frac;
  plan.text = plan_text(plan);
  return plan;
}

std::string judgement_text(const SampleJudgement& judged, PlannedMeasure measure,
                           const PlanOptions& options) {
  if (!judged.half_width_frac) {
    return "whether the sample was large enough cannot be told: " + judged.components.why_not;
  }
  std::string text = fmt::format(
      "{} emitters on {} laterals tell within {}; {} wanted: {}", judged.emitters, judged.laterals,
      width_text(*judged.half_width_frac, measure), width_text(options.half_width_frac, measure),
      judged.enough ? "enough" : "not enough");
  if (judged.enough) return text;
  if (!judged.plan.found) return text + "; " + judged.plan.why_not;
  return text + fmt::format("; {} would do it in {:.0f} of 100 surveys", judged.plan.text,
                            100 * options.assurance);
}

PlannedHalfWidth planned_half_width(const PlanComponents& components, int laterals,
                                    int emitters_on_each, const PlanOptions& options) {
  require_plan(options);
  if (laterals < 1 || emitters_on_each < 1) {
    throw std::invalid_argument("a plan needs a lateral and an emitter");
  }
  return half_width(components, laterals, emitters_on_each, options);
}

SamplingPlan cheapest_plan(const PlanComponents& components, const PlanOptions& options) {
  require_plan(options);
  SamplingPlan best;
  best.cost = std::numeric_limits<double>::infinity();
  if (!components.computed) {
    best.cost = 0;
    best.why_not = components.why_not;
    return best;
  }
  const int most = most_laterals_of(options);
  for (int m = 1; m <= most && m * (options.lateral_cost + options.emitter_cost) <= best.cost;
       ++m) {
    if (auto plan = plan_on(components, m, options, best.cost)) best = *std::move(plan);
  }
  if (!best.found) {
    best.cost = 0;
    best.why_not = no_plan_text(options);
  }
  return best;
}

SampleJudgement judged_sample(std::span<const GroupedValue> discharges, PlannedMeasure measure,
                              const PlanOptions& options) {
  require_plan(options);
  SampleJudgement judged;
  judged.components = plan_components(discharges, measure);
  const std::map<int, int> counts = emitters_by_lateral(discharges);
  judged.laterals = static_cast<int>(counts.size());
  judged.emitters = static_cast<int>(discharges.size());
  judged.plan = cheapest_plan(judged.components, options);
  if (judged.components.computed) {
    double inverse = 0;
    for (const auto& [lateral, count] : counts) inverse += 1.0 / count;
    const auto m = static_cast<double>(judged.laterals);
    const PlannedHalfWidth width = half_width(judged.components, m, m / inverse, options);
    if (!(width.variance > 0)) {
      judged.half_width_frac = 0;  // every emitter was dug
    } else if (width.degrees_of_freedom > 0) {
      judged.half_width_frac = student_quantile(width.degrees_of_freedom, options.confidence) *
                               std::sqrt(width.variance);
    }
    judged.enough = judged.half_width_frac && *judged.half_width_frac <= options.half_width_frac;
  }
  judged.text = judgement_text(judged, measure, options);
  return judged;
}

int emitters_for_mean(double cv, double relative_error, double confidence, int population) {
  require_inside(confidence, "the confidence is not inside 0 to 1");
  if (!(cv >= 0) || !std::isfinite(cv) || !(relative_error > 0) || population < 0) {
    throw std::invalid_argument("the CV, the error or the population cannot be");
  }
  const double z =
      quantile(complement(boost::math::normal_distribution<double>(), (1 - confidence) / 2));
  double n = std::pow(z * cv / relative_error, 2);
  if (population > 0) n /= 1 + n / population;
  return static_cast<int>(std::clamp(std::ceil(n), 1.0, 2e9));
}

double chance_to_miss_plugged(double share_frac, int emitters, int population) {
  require_share(share_frac, population);
  if (emitters < 0) throw std::invalid_argument("the sample is negative");
  if (population == 0) return std::pow(1 - share_frac, emitters);
  const int running = population - plugged_in(share_frac, population);
  double chance = 1;
  for (int i = 0; i < std::min(emitters, population); ++i) {
    if (running <= i) return 0;
    chance *= static_cast<double>(running - i) / static_cast<double>(population - i);
  }
  return chance;
}

int emitters_to_meet_plugged(double share_frac, double chance, int population) {
  require_share(share_frac, population);
  require_inside(chance, "the chance is not inside 0 to 1");
  if (share_frac == 0) throw std::invalid_argument("no share of plugged emitters is given");
  if (population == 0) {
    if (share_frac == 1) return 1;
    const double n = std::log(chance) / std::log1p(-share_frac);
    return static_cast<int>(std::clamp(std::ceil(n * (1 - 1e-12)), 1.0, 2e9));
  }
  const int running = population - plugged_in(share_frac, population);
  double missed = 1;
  for (int n = 0; n < population; ++n) {
    if (missed <= chance) return n;
    missed *= std::max(0.0, static_cast<double>(running - n) / (population - n));
  }
  return population;
}

}  // namespace evendrip
