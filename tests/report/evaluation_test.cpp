// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/evaluation.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "made_evaluation.hpp"

namespace evendrip {
namespace {

using test::evaluation_of;
using test::evaluation_with;

bool any_says(const std::vector<std::string>& texts, const std::string& part) {
  return std::any_of(texts.begin(), texts.end(),
                     [&](const std::string& text) { return text.find(part) != std::string::npos; });
}

TEST(Evaluation, AgreesWithTheMeasuresOfTheEmittersAlone) {
  const Evaluation e = evaluation_of(test::small_field("evaluation_agrees"));
  ASSERT_EQ(e.zones.size(), 2U);
  for (const EvaluatedPart& zone : e.zones) {
    const auto values = discharges_of(sample_of(e.survey, zone.zone));
    ASSERT_TRUE(zone.emitters.told);
    EXPECT_DOUBLE_EQ(zone.emitters.low_quarter_frac, low_quarter_uniformity(values));
    EXPECT_DOUBLE_EQ(zone.emitters.cv, coefficient_of_variation(values));
    EXPECT_LE(zone.emitters.corrected_low_quarter_frac, zone.emitters.low_quarter_frac);
  }
}

TEST(Evaluation, WeighsTheZonesByTheirAreas) {
  const Evaluation e = evaluation_of(test::small_field("evaluation_weighs"));
  const auto& a = e.zones[0];
  const auto& b = e.zones[1];
  EXPECT_NEAR(e.whole.emitters.low_quarter_frac,
              (a.area_ha * a.emitters.low_quarter_frac + b.area_ha * b.emitters.low_quarter_frac) /
                  (a.area_ha + b.area_ha),
              1e-12);
  const MeasureLimits* limits = e.whole.emitters.limits_of(Measure::low_quarter);
  ASSERT_NE(limits, nullptr);
  EXPECT_LE(limits->two_part.lower, limits->two_part.upper);
}

TEST(Evaluation, IsTheSameForTheSameSeed) {
  const auto folder = test::small_field("evaluation_seed");
  EXPECT_EQ(evaluation_json(evaluation_of(folder)), evaluation_json(evaluation_of(folder)));
  EvaluationOptions other;
  other.seed = 2;
  EXPECT_NE(evaluation_json(evaluation_of(folder)), evaluation_json(evaluation_of(folder, other)));
}

TEST(Evaluation, OfOneEmitterSaysThatItTellsNothing) {
  const Evaluation e = evaluation_with("evaluation_one", {{0.9}});
  EXPECT_FALSE(e.zones[0].emitters.told);
  EXPECT_TRUE(any_says(conclusions_of(e), "one emitter alone"));
  EXPECT_NE(verdict_of(e, e.zones[0]).find("not told"), std::string::npos);
  EXPECT_FALSE(e.whole.emitters.told);
}

TEST(Evaluation, OfOneLateralHasFiguresThatRestOnTheModel) {
  const Evaluation e = evaluation_with("evaluation_lateral", {{0.9, 1.0, 0.95, 0.8, 1.02}});
  EXPECT_TRUE(e.zones[0].emitters.told);
  EXPECT_TRUE(e.zones[0].rest_on_model);
  EXPECT_TRUE(any_says(conclusions_of(e), "rest on the model"));
}

TEST(Evaluation, OfEqualReadingsSaysSo) {
  const Evaluation e =
      evaluation_with("evaluation_equal", {{1, 1, 1}, {1, 1, 1}, {1, 1, 1}, {1, 1, 1}});
  EXPECT_EQ(e.zones[0].emitters.low_quarter_frac, 1);
  EXPECT_TRUE(any_says(conclusions_of(e), "All 12 readings are equal"));
}

TEST(Evaluation, OfNoWaterAtAllTellsThePluggedShareAlone) {
  const Evaluation e = evaluation_with("evaluation_zero", {{0, 0, 0}, {0, 0, 0}});
  EXPECT_FALSE(e.zones[0].emitters.told);
  EXPECT_TRUE(any_says(conclusions_of(e), "none of the 6 emitters gives water"));
  ASSERT_TRUE(e.zones[0].plugged);
  EXPECT_EQ(e.zones[0].plugged->share, 1);
}

TEST(Evaluation, TellsPlantsAndDepthsWhereTheFieldSaysWhatTheyNeed) {
  const std::string toml =
      "\n[irrigation]\nseason_net_need = \"500 mm\"\n[agronomy]\nemitters_per_root_zone = 2\n";
  const Evaluation e = evaluation_with(
      "evaluation_plants", {{0.8, 1.0, 0.9, 0.7}, {1.0, 0.6, 0.9, 1.1}, {0.5, 1, 1, 1}}, toml);
  const EvaluatedPart& zone = e.zones[0];
  ASSERT_TRUE(zone.depth.computed) << zone.depth.why_not;
  ASSERT_FALSE(zone.depth.factors.empty());
  EXPECT_TRUE(zone.depth.factors.front().gross_mm);
  EXPECT_FALSE(any_says(e.not_computed, "season_net_need"));
  EXPECT_FALSE(any_says(e.not_computed, "emitters_per_root_zone"));
  const Evaluation bare = evaluation_with("evaluation_bare", {{0.8, 1.0}});
  EXPECT_TRUE(any_says(bare.not_computed, "needs [agronomy] emitters_per_root_zone"));
  EXPECT_TRUE(any_says(bare.not_computed, "need [irrigation] season_net_need"));
}

TEST(Evaluation, WeighsPlantsOfZonesToo) {
  const auto folder = test::small_field("evaluation_field_plants");
  std::ofstream(folder / "field.toml", std::ios::app)
      << "\n[agronomy]\nemitters_per_root_zone = 2\n";
  const Evaluation e = evaluation_of(folder);
  double sum = 0, area = 0;
  for (const EvaluatedPart& zone : e.zones) {
    ASSERT_TRUE(zone.plants);
    if (!zone.plants->told) continue;
    sum += zone.area_ha * zone.plants->low_quarter_frac;
    area += zone.area_ha;
    EXPECT_LT(zone.plants->count, zone.emitters.count);
  }
  ASSERT_TRUE(e.whole.plants);
  ASSERT_GT(area, 0);
  EXPECT_NEAR(e.whole.plants->low_quarter_frac, sum / area, 1e-12);
  EXPECT_EQ(e.whole.plants->each, 2);
}

TEST(Evaluation, NeverTakesDamageFromDiggingForClogging) {
  Evaluation e = evaluation_with("evaluation_damage", {{0.9, 1.0, 0.95}, {0.9, 1.0, 0.95}});
  const double before = e.zones[0].emitters.low_quarter_frac;
  MeasuredEmitter broken = e.survey.emitters.front();
  broken.site.station_m = 20;
  broken.state = EmitterState::dug_damage;
  broken.discharge_lph = 0;
  e.survey.emitters.push_back(broken);
  e.expectation = expect(e.field, e.survey, hydraulic_options(e.field, e.survey.id), {});
  EvaluationOptions options;
  options.draws = 400;
  const Evaluation with = evaluated(e.field, {}, e.survey, std::move(e.expectation), options);
  EXPECT_EQ(with.zones[0].emitters.low_quarter_frac, before);
  EXPECT_EQ(with.zones[0].plugged->plugged, 0);
  EXPECT_EQ(with.zones[0].damaged, 1);
}

TEST(RelativeDischarges, AreOverTheMeanOfTheZoneWhereNothingIsExpected) {
  const Evaluation e =
      evaluation_of(test::small_field_without_manifolds("evaluation_without_pressures"));
  const auto relative = relative_discharges(e);
  ASSERT_EQ(relative.size(), e.survey.emitters.size());
  double sum = 0;
  int count = 0;
  for (std::size_t i = 0; i < relative.size(); ++i) {
    if (e.survey.emitters[i].site.zone != 0 || !e.survey.emitters[i].usable()) continue;
    sum += relative[i];
    ++count;
  }
  EXPECT_NEAR(sum / count, 1, 1e-9);
  EXPECT_TRUE(any_says(e.not_computed, "pressures of zone"));
}

}  // namespace
}  // namespace evendrip
