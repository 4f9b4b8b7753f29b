// SPDX-License-Identifier: Apache-2.0
// Does a survey of the planned size have limits as narrow as promised? On simulated zones: a first
// survey, the plan that it makes, a new survey of that size in the same zone, its two-part limits.
// usage: survey_size_bench ZONES [THREADS]
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/work.hpp"
#include "evendrip/uniformity/survey_plan.hpp"

#include "simulated_zone.hpp"

namespace {

using namespace evendrip;
using namespace evendrip::bench;

struct Promise {
  PlannedMeasure measure = PlannedMeasure::mean;
  double half_width_frac = 0;
};
// Set down before the first trial, as the scenarios were.
constexpr Promise promises[] = {{PlannedMeasure::low_quarter_uniformity, 0.15},
                                {PlannedMeasure::low_quarter_uniformity, 0.10},
                                {PlannedMeasure::mean, 0.05}};
constexpr int fewer_draws = 1000;

struct Trial {
  SamplingPlan plan;
  bool reached = false;
  bool held = false;
  double half_width_frac = 0;
};

double truth_of(const SimulatedZone& zone, PlannedMeasure measure) {
  const std::vector<double> all = zone.all();
  return measure == PlannedMeasure::mean ? mean_of(all) : low_quarter_uniformity(all);
}

Trial try_once(Scenario scenario, Design first, const Promise& promise, std::uint64_t number) {
  const SimulatedZone zone = simulate_zone(scenario, number);
  PlanOptions options;
  options.half_width_frac = promise.half_width_frac;
  options.laterals = static_cast<int>(zone_laterals);
  options.emitters_on_a_lateral = static_cast<int>(lateral_emitters);
  Trial trial;
  trial.plan = plan_for_limits(dig(zone, first, number), promise.measure, options);
  if (!trial.plan.found) return trial;
  LimitOptions limits;
  limits.seed = number;
  limits.draws = fewer_draws;
  limits.comparisons = false;
  limits.plugging.zone = {options.laterals, options.emitters_on_a_lateral};
  const EmitterSample survey =
      dig(zone, {trial.plan.laterals, trial.plan.emitters_on_each}, 1'000'000 + number);
  const Limits found =
      confidence_limits(survey, limits).of(limits_measure(promise.measure)).two_part;
  trial.half_width_frac = printed_half_width(found, promise.measure).value_or(1);
  trial.reached = trial.half_width_frac <= promise.half_width_frac;
  const double truth = truth_of(zone, promise.measure);
  trial.held = found.known && truth >= found.lower && truth <= found.upper;
  return trial;
}

void print(Scenario scenario, Design first, const std::vector<Trial>& trials) {
  int found = 0;
  int reached = 0;
  int held = 0;
  double laterals = 0;
  double emitters = 0;
  double width = 0;
  for (const Trial& trial : trials) {
    if (!trial.plan.found) continue;
    ++found;
    reached += trial.reached ? 1 : 0;
    held += trial.held ? 1 : 0;
    laterals += trial.plan.laterals;
    emitters += trial.plan.emitters;
    width += trial.half_width_frac;
  }
  if (found == 0) return;
  fmt::print(
      "  {:26} first {:2} x {}: plans {:3} of {:3}, mean {:4.1f} laterals {:5.1f} emitters; "
      "reached "
      "{:5.1f} % mean half-width {:.3f} limits held {:5.1f} %\n",
      to_text(scenario), first.laterals, first.emitters_each, found, trials.size(),
      laterals / found, emitters / found, 100.0 * reached / found, width / found,
      100.0 * held / found);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) {
    fmt::print(stderr, "usage: survey_size_bench ZONES [THREADS]\n");
    return 2;
  }
  Work work;
  work.threads = argc > 2 ? std::atoi(argv[2]) : 1;
  const auto zones = static_cast<std::size_t>(std::atoi(argv[1]));
  for (const Promise& promise : promises) {
    fmt::print("{}, half-width {:.2f} promised to 90 % of surveys\n", to_text(promise.measure),
               promise.half_width_frac);
    for (const Scenario scenario : all_scenarios) {
      for (const Design first : all_designs) {
        std::vector<Trial> trials(zones);
        for_each_chunk(work, zones, 5, [&](std::size_t begin, std::size_t end, int) {
          for (std::size_t i = begin; i < end; ++i)
            trials[i] = try_once(scenario, first, promise, i + 1);
        });
        print(scenario, first, trials);
      }
    }
  }
  return 0;
}
