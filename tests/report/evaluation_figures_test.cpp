// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <string>

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

TEST(EvaluationFigures, TellWhatSetsApplyAndHowLongOneMustBe) {
  const Evaluation e =
      test::evaluation_with("schedule", {{0.6, 0.8}, {1.0, 1.6}},
                            "\n[irrigation]\nset_time = \"6 h\"\ninterval = \"2 d\"\npulses = 2\n"
                            "season_depth = \"440 mm\"\nseason_net_need = \"400 mm\"\n");
  const Zone& zone = e.field.zones[0];
  const double ground_m2 = zone.emitter.spacing_m * zone.lateral.spacing_m;
  ASSERT_GT(ground_m2, 0);
  const Schedule& schedule = e.zones[0].schedule;
  ASSERT_TRUE(schedule.set_depth_mm && schedule.days_in_season);
  EXPECT_NEAR(*schedule.set_depth_mm, 6 / ground_m2, 1e-9);  // mean 1 L/h
  EXPECT_NEAR(*schedule.days_in_season, 2 * 440 / *schedule.set_depth_mm, 1e-9);
  EXPECT_TRUE(schedule.not_computed.empty());
  // The lowest of four gets 0.6 of the mean: 80 % are served by 400/0.6 mm.
  EXPECT_NE(evaluation_text(e).find("Set time to serve 80, 90, 95 %, h"), std::string::npos);
  for (const ServingSet& set : schedule.serving) {
    if (set.model != DepthModel::empirical) continue;
    EXPECT_NEAR(*set.set_time_s, 6 * 3600 * (400 / 0.6) / 440, 1e-6);
  }
  const Evaluation bare = test::evaluation_with("schedule_bare", {{0.6, 0.8}, {1.0, 1.6}},
                                                "\n[irrigation]\nset_time = \"6 h\"\n");
  const auto says_need = [](const std::string& text) {
    return text.find("need [irrigation] interval and [irrigation] season_depth") !=
           std::string::npos;
  };
  EXPECT_TRUE(std::any_of(bare.not_computed.begin(), bare.not_computed.end(), says_need));
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
