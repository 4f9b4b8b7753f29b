// SPDX-License-Identifier: Apache-2.0
// What is worked out from a made-up folder against the truth behind it.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/hydraulics/meter.hpp"
#include "evendrip/simulate/simulate.hpp"
#include "evendrip/simulate/truth.hpp"
#include "plans.hpp"

namespace evendrip {
namespace {

struct Worked {
  Field field;
  Survey survey;
  SimulatedField truth;
  Expectation expectation;
};

Worked worked_out(const std::filesystem::path& folder) {
  Field field = read_field(folder);
  Survey survey = read_survey(field, "");
  SimulatedField truth = simulated_truth(read_plan(folder / "plan.toml"));
  Expectation expectation = expect(field, survey, hydraulic_options(field, ""), Work{});
  return {std::move(field), std::move(survey), std::move(truth), std::move(expectation)};
}

/// Largest difference of expected discharge from that of the true clean system, as a share.
double worst_difference(const Worked& worked) {
  double worst = 0;
  int compared = 0;
  for (const ExpectedZone& zone : worked.expectation.zones) {
    EXPECT_TRUE(zone.computed) << zone.why_not;
    for (const ExpectedLateral& lateral : zone.laterals) {
      const auto& emitters =
          worked.truth.laterals[static_cast<std::size_t>(lateral.lateral)].emitters;
      for (std::size_t i = 0; i < emitters.size(); ++i) {
        if (!(emitters[i].delivery > 0)) continue;  // plugged
        const double clean_lph = emitters[i].discharge_lph / emitters[i].delivery;
        worst = std::max(worst, std::abs(lateral.discharge_lph.at(i) / clean_lph - 1));
        ++compared;
      }
    }
  }
  EXPECT_GT(compared, 1000);
  return worst;
}

TEST(ExpectationOfAMadeUpField, IsTheTruthWhereNothingIsUncertain) {
  SimulationPlan plan = test::small_plan();
  plan.in_soil_ratio = 1;  // else the true friction is that of buried emitters
  plan.gauge_accuracy_kpa = 0.05;
  plan.slope_frac = -0.01;
  plan.cross_slope_frac = 0.01;
  plan.manifold_diameters_m = {0.05, 0.04};
  const auto folder = test::fresh_folder() / "field";
  simulate_field(plan, folder);
  // Tables hold pressures to 0.1 kPa of about 100: 0.05 % of discharge.
  EXPECT_LT(worst_difference(worked_out(folder)), 0.001);
}

class SampleExpectation : public ::testing::TestWithParam<const char*> {
 protected:
  Worked worked() const {
    return worked_out(std::filesystem::path(EVENDRIP_TEST_DATA).parent_path() / "sample_fields" /
                      GetParam());
  }
};

TEST_P(SampleExpectation, IsNearTheTrueCleanSystem) {
  // Inlet gauges are good to 1 or 1.4 kPa of 100, half of that in discharge; buried emitters make
  // less friction than the free ones that are expected.
  EXPECT_LT(worst_difference(worked()), 0.02);
}

TEST_P(SampleExpectation, DugEmittersAreJudgedAsTheyAre) {
  const Worked now = worked();
  double sum = 0, squares = 0;
  int n = 0;
  for (const JudgedEmitter& judged : now.expectation.emitters) {
    const MeasuredEmitter& dug = now.survey.emitters[static_cast<std::size_t>(judged.emitter)];
    if (!dug.usable() || dug.placement != Placement::declared) continue;
    const auto& emitters = now.truth.laterals[static_cast<std::size_t>(dug.site.lateral)].emitters;
    const double first_m = emitters.front().station_m;
    const double spacing_m = now.truth.plan.emitter_spacing_m;
    const auto index =
        static_cast<std::size_t>(std::lround((dug.site.station_m - first_m) / spacing_m));
    const double difference = judged.delivery - emitters.at(index).delivery;
    sum += difference;
    squares += difference * difference;
    ++n;
  }
  ASSERT_GT(n, 60);
  EXPECT_NEAR(sum / n, 0, 0.015);
  EXPECT_LT(std::sqrt(squares / n), 0.03) << "measuring 1 %, reading the can, inlet pressure";
}

TEST_P(SampleExpectation, TheMeterAgreesWithBuriedEmitters) {
  const Worked now = worked();
  Doubts doubts;
  const auto readings = compare_meter(now.field, now.survey, now.expectation, doubts);
  ASSERT_EQ(readings.size(), 2U);
  for (const MeterComparison& reading : readings) {
    const SimulatedZone& zone = now.truth.zones[static_cast<std::size_t>(reading.zones.front())];
    EXPECT_NEAR(reading.measured_lph / zone.inflow_lph, 1, 4 * 0.02);
    const double left = zone.inflow_lph / zone.clean_inflow_lph;
    EXPECT_NEAR(reading.ratio, left, 3 * reading.ratio_sd);
  }
}

INSTANTIATE_TEST_SUITE_P(All, SampleExpectation,
                         ::testing::Values("heron_flat", "cottonwood_draw", "wattle_bend"),
                         [](const auto& sample) { return std::string(sample.param); });

}  // namespace
}  // namespace evendrip
