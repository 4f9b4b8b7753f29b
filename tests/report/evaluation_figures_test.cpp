// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include "evendrip/report/evaluation.hpp"
#include "made_evaluation.hpp"

namespace evendrip {
namespace {

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
