// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <algorithm>
#include <utility>

#include "evendrip/report/evaluation.hpp"
#include "made_evaluation.hpp"

namespace evendrip {
namespace {

bool any_says(const std::vector<std::string>& texts, const std::string& part) {
  return std::any_of(texts.begin(), texts.end(),
                     [&](const std::string& text) { return text.find(part) != std::string::npos; });
}

const std::vector<std::vector<double>> some{{0.9, 1.0, 0.8}, {1, 1.1, 0.7}};

/// The same evaluation again, after field and survey were changed.
Evaluation again(Evaluation e) {
  e.options.draws = 400;
  return evaluated(std::move(e.field), e.watering, std::move(e.survey), std::move(e.expectation),
                   e.options);
}

TEST(EvaluationDoubts, TellCatchesThatAreSmallAgainstTheGraduation) {
  Evaluation e = test::evaluation_with("doubt_graduation", some);
  for (SurveySource& source : e.field.surveys) source.volume_graduation_ml = 0.1;
  EXPECT_FALSE(any_says(again(std::move(e)).zones[0].statements, "graduation"));
  e = test::evaluation_with("doubt_graduation", some);
  for (SurveySource& source : e.field.surveys) source.volume_graduation_ml = 5;
  EXPECT_TRUE(any_says(again(std::move(e)).zones[0].statements, "6 of 6 catches are so small"));
}

TEST(EvaluationDoubts, TellMixedPressuresOfOnePort) {
  Evaluation e = test::evaluation_with("doubt_pressures", some);
  int port = -1;
  for (std::size_t i = 0; i < e.field.ports.size(); ++i) {
    const auto& zones = e.field.ports[i].zones;
    if (std::find(zones.begin(), zones.end(), 0) != zones.end()) port = static_cast<int>(i);
  }
  ASSERT_GE(port, 0);
  PressureReading reading;
  reading.port = port;
  reading.pressure_kpa = 100;
  e.survey.pressures = {reading, reading};
  e.survey.pressures[1].pressure_kpa = 108;
  EXPECT_FALSE(any_says(again(std::move(e)).zones[0].statements, "was read at pressures"));
  e = test::evaluation_with("doubt_pressures", some);
  e.survey.pressures = {reading, reading};
  e.survey.pressures[1].pressure_kpa = 130;
  EXPECT_TRUE(any_says(again(std::move(e)).zones[0].statements, "from 100 kPa to 130 kPa"));
}

TEST(EvaluationDoubts, TellMoreEmittersMeasuredThanALateralHas) {
  Evaluation e = test::evaluation_with("doubt_numbers", some);
  for (Lateral& lateral : e.field.laterals) lateral.emitters = 2;
  EXPECT_TRUE(any_says(again(std::move(e)).zones[0].statements,
                       "has 2 emitters by its spacing, yet 3 were measured"));
}

TEST(EvaluationDoubts, TellSetsThatAreShortAgainstTheFillingOfTheLines) {
  Evaluation e = test::evaluation_with("doubt_sets", some, "[irrigation]\nset_time = \"12 h\"\n");
  EXPECT_FALSE(any_says(e.zones[0].statements, "at a time"));
  e = test::evaluation_with("doubt_sets", some, "[irrigation]\nset_time = \"12 h\"\npulses = 72\n");
  EXPECT_TRUE(any_says(e.zones[0].statements, "Water runs for 10 min at a time"));
}

TEST(EvaluationDoubts, TellEmittersWhoseLateralIsNotKnown) {
  Evaluation e = test::evaluation_with("doubt_places", some);
  e.survey.emitters[0].site.lateral = -1;
  e.survey.emitters[0].placement = Placement::ambiguous;
  const Evaluation with = again(std::move(e));
  EXPECT_TRUE(any_says(with.zones[0].statements, "One emitter could not be told to one lateral"));
  EXPECT_EQ(with.zones[0].emitters.count, 6);
}

}  // namespace
}  // namespace evendrip
