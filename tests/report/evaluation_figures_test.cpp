// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include "evendrip/report/evaluation.hpp"
#include "made_evaluation.hpp"

namespace evendrip {
namespace {

TEST(EvaluationFigures, TellWhatTheDepthAppliedLeaves) {
  // Discharges 0.6, 0.8, 1.0, 1.6 of mean 1 in equal shares; 440 mm applied of a need of 400: by
  // hand 0.66 and 0.88 of the need are short by 0.34 and 0.12, 1.1 and 1.76 exceed it.
  const Evaluation e = test::evaluation_with(
      "applied_depth", {{0.6, 0.8}, {1.0, 1.6}},
      "\n[irrigation]\nseason_depth = \"440 mm\"\nseason_net_need = \"400 mm\"\n");
  ASSERT_TRUE(e.zones[0].applied);
  const AppliedDepth& applied = *e.zones[0].applied;
  EXPECT_NEAR(applied.factor, 1.1, 1e-12);
  EXPECT_NEAR(applied.short_share_frac, 0.5, 1e-12);
  EXPECT_NEAR(applied.deficit_frac, (0.34 + 0.12) / 4, 1e-12);
  EXPECT_NEAR(applied.excess_frac, (0.1 + 0.76) / 4, 1e-12);
  ASSERT_TRUE(e.whole.applied);
  EXPECT_NEAR(e.whole.applied->deficit_frac, applied.deficit_frac, 1e-12);
  EXPECT_NE(evaluation_text(e).find("Left short by the 440 mm applied"), std::string::npos);
  EXPECT_FALSE(test::evaluation_with("applied_not", {{0.6, 0.8}, {1.0, 1.6}}).zones[0].applied);
}

TEST(EvaluationFigures, TellFillTimesOnlyWhereOneContainerWasFilled) {
  // The made catches last equally long, so their volumes differ: no fill times.
  EXPECT_FALSE(
      test::evaluation_with("fill_none", {{0.9, 1.0, 0.8}, {1, 1.1, 0.7}}).zones[0].fill_times);
  Evaluation e = test::evaluation_with("fill_times", {{0.9, 1.0, 0.8}, {1.2, 1.1, 0.7, 0}});
  for (const MeasuredEmitter& emitter : e.survey.emitters) {
    CatchRecord& record = e.survey.records[emitter.records[0]];
    record.volume_ml = emitter.state == EmitterState::none ? 0 : 250;
    record.duration_s = emitter.discharge_lph > 0 ? 3.6 * 250 / emitter.discharge_lph : 100;
  }
  EvaluationOptions options;
  options.draws = 400;
  const Evaluation with = evaluated(e.field, {}, e.survey, std::move(e.expectation), options);
  ASSERT_TRUE(with.zones[0].fill_times);
  EXPECT_EQ(with.zones[0].fill_times->emitters, 6);
  EXPECT_TRUE(with.zones[0].fill_times->sixths_known);
  // By hand: Tmax = 900/0.7, Tmin = 900/1.2, one of each; c = 0.667064 (Bralts & Kesner's
  // nomograph in closed form, uniformity.hpp).
  const double most = 900 / 0.7, least = 900 / 1.2;
  EXPECT_NEAR(with.zones[0].fill_times->sixths_frac,
              1 - 0.5 / 0.7495528218 * (most - least) / (most + least), 1e-9);
}

TEST(EvaluationFigures, RateEachFigureWithItsLimits) {
  const Evaluation e =
      test::evaluation_with("ratings", {{0.9, 1.0, 0.8}, {1, 1.1, 0.7}, {0.9, 1, 1}});
  ASSERT_EQ(e.zones[0].ratings.size(), 3U);
  for (const RatedFigure& rated : e.zones[0].ratings) {
    EXPECT_TRUE(rated.rating.rated) << rated.figure;
    EXPECT_FALSE(rated.rating.text.empty());
    EXPECT_TRUE(rated.rating.limits_given) << rated.figure;
  }
}

}  // namespace
}  // namespace evendrip
