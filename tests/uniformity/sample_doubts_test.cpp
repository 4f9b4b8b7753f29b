// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/sample_doubts.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace evendrip {
namespace {

Field one_zone() {
  Field field;
  Zone zone;
  zone.id = "north";
  zone.emitter.exponent = 0.5;
  field.zones = {zone};
  Lateral lateral;
  lateral.id = "L1";
  lateral.zone = 0;
  lateral.emitters = 3;
  field.laterals = {lateral};
  return field;
}

Survey survey_at(const std::vector<double>& pressures_kpa) {
  Survey survey;
  survey.id = "2026-spring";
  for (std::size_t i = 0; i < pressures_kpa.size(); ++i) {
    CatchRecord record;
    record.pressure_kpa = pressures_kpa[i];
    survey.records.push_back(record);
    MeasuredEmitter emitter;
    emitter.records = {i};
    emitter.site.zone = 0;
    emitter.site.lateral = 0;
    emitter.discharge_lph = 1;
    survey.emitters.push_back(emitter);
  }
  return survey;
}

TEST(JudgeSample, TellsPressuresThatMakeDischargesDiffer) {
  const Doubts mixed = judge_sample(one_zone(), survey_at({100, 144}), 0);
  ASSERT_EQ(mixed.size(), 1U);
  EXPECT_EQ(mixed[0].code, "mixed_test_pressures");
  EXPECT_NE(mixed[0].text.find("differ by 20 %"), std::string::npos) << mixed[0].text;
  EXPECT_TRUE(judge_sample(one_zone(), survey_at({100, 105}), 0).empty());
}

TEST(JudgeSample, FindsMixedPressuresHarmlessToEmittersThatCompensate) {
  Field field = one_zone();
  field.zones[0].emitter.exponent = 0;
  EXPECT_TRUE(judge_sample(field, survey_at({100, 200}), 0).empty());
}

TEST(JudgeSample, TellsMoreEmittersThanTheLateralHas) {
  EXPECT_TRUE(judge_sample(one_zone(), survey_at({100, 100, 100}), 0).empty());
  const Doubts doubts = judge_sample(one_zone(), survey_at({100, 100, 100, 100}), 0);
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts[0].code, "more_emitters_than_lateral");
}

TEST(JudgeSample, TellsWhereManyCouldNotBeMeasured) {
  Survey survey = survey_at({100, 100, 100});
  survey.emitters[1].state = EmitterState::not_found;
  const Doubts doubts = judge_sample(one_zone(), survey, 0);
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts[0].code, "many_not_measured");
}

TEST(JudgeSample, RefusesAZoneThatIsNotThere) {
  EXPECT_THROW(judge_sample(one_zone(), survey_at({100}), 1), std::out_of_range);
}

}  // namespace
}  // namespace evendrip
