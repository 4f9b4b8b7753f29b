// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/emitter_sample.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>

namespace evendrip {
namespace {

using ::testing::ElementsAre;

CatchReading reading(double q, int lateral, int pit, int place, int replicate = 1) {
  CatchReading r;
  r.discharge_lph = q;
  r.lateral = lateral;
  r.pit = pit;
  r.place = place;
  r.replicate = replicate;
  return r;
}

TEST(EmitterSample, AveragesReplicatesAndTellsTheErrorOfMeasuring) {
  const std::vector<CatchReading> readings = {reading(0.9, 1, 1, 1), reading(2.0, 1, 1, 2),
                                              reading(1.1, 1, 1, 1, 2)};
  const EmitterSample sample = average_replicates(readings);
  EXPECT_THAT(discharges_of(sample), ElementsAre(1.0, 2.0));
  EXPECT_EQ(sample.emitters[0].replicates, 2);
  EXPECT_EQ(sample.measuring_freedom, 1);
  EXPECT_NEAR(sample.measuring_cv, std::sqrt(0.02), 1e-12);
}

TEST(EmitterSample, TellsNoErrorOfMeasuringFromSingleOrDryReadings) {
  const EmitterSample sample = average_replicates(
      std::vector<CatchReading>{reading(1, 1, 1, 1), reading(0, 1, 1, 2), reading(0, 1, 1, 2, 2)});
  EXPECT_EQ(sample.measuring_freedom, 0);
  EXPECT_EQ(sample.measuring_cv, 0);
}

TEST(EmitterSample, RefusesDischargesAndWeightsThatCannotBe) {
  for (const double q : {-0.1, std::numeric_limits<double>::quiet_NaN()}) {
    EXPECT_THROW(average_replicates(std::vector<CatchReading>{reading(q, 1, 1, 1)}),
                 std::invalid_argument);
  }
  CatchReading weightless = reading(1, 1, 1, 1);
  weightless.weight = 0;
  EXPECT_THROW(average_replicates(std::vector<CatchReading>{weightless}), std::invalid_argument);
}

TEST(PlantLevel, IsTheRunningMeanOfNeighboursOfOnePit) {
  const EmitterSample emitters = average_replicates(std::vector<CatchReading>{
      reading(3, 1, 1, 3), reading(1, 1, 1, 1), reading(2, 1, 1, 2), reading(5, 1, 2, 1)});
  EXPECT_THAT(discharges_of(plant_level(emitters, 2)), ElementsAre(1.5, 2.5));
  EXPECT_THAT(discharges_of(plant_level(emitters, 3)), ElementsAre(2.0));
  EXPECT_THAT(discharges_of(plant_level(emitters, 1)), ElementsAre(1, 2, 3, 5));
  EXPECT_THAT(plant_level(emitters, 4).emitters, ::testing::IsEmpty());
  EXPECT_THROW(plant_level(emitters, 0), std::invalid_argument);
}

TEST(PlantLevel, DoesNotReachOverAMissingEmitterNorToAnotherLateral) {
  const EmitterSample emitters = average_replicates(
      std::vector<CatchReading>{reading(1, 1, -1, 1), reading(2, 1, -1, 2), reading(4, 1, -1, 4),
                                reading(9, 2, -1, 3), reading(7, -1, -1, 5)});
  EXPECT_THAT(discharges_of(plant_level(emitters, 2)), ElementsAre(1.5));
}

TEST(SampleLevels, NumberLateralsAndPitsWithoutGapsAndGiveTheUnknownOnesTheirOwn) {
  const EmitterSample sample = average_replicates(
      std::vector<CatchReading>{reading(1, 7, 2, 1), reading(1, 3, 2, 1), reading(1, 7, 2, 2),
                                reading(1, -1, -1, 1), reading(1, -1, -1, 2)});
  const SampleLevels levels = levels_of(sample);
  EXPECT_EQ(levels.laterals, 4);
  EXPECT_EQ(levels.pits, 4);
  EXPECT_EQ(levels.lateral[0], levels.lateral[2]);
  EXPECT_EQ(levels.pit[0], levels.pit[2]);
  EXPECT_NE(levels.pit[0], levels.pit[1]);
  EXPECT_NE(levels.lateral[3], levels.lateral[4]);
}

MeasuredEmitter measured(double q, EmitterState state, const std::string& pit, int zone = 0) {
  MeasuredEmitter emitter;
  emitter.site.zone = zone;
  emitter.site.lateral = 4;
  emitter.discharge_lph = q;
  emitter.state = state;
  emitter.pit = pit;
  return emitter;
}

TEST(SampleOfSurvey, CountsDamageAndTakesDryEmittersAsZero) {
  Survey survey;
  survey.replicate_cv = 0.02;
  survey.emitters = {
      measured(1.0, EmitterState::runs, "b"),          measured(0.5, EmitterState::dug_damage, "b"),
      measured(0, EmitterState::not_found, "b"),       measured(0.3, EmitterState::none, "a"),
      measured(std::nan(""), EmitterState::runs, "a"), measured(1.2, EmitterState::runs, "a", 1)};
  const EmitterSample sample = sample_of(survey, 0);
  EXPECT_THAT(discharges_of(sample), ElementsAre(1.0, 0.0));
  EXPECT_EQ(sample.damaged, 1);
  EXPECT_EQ(sample.not_found, 1);
  EXPECT_EQ(sample.measuring_cv, 0.02);
  EXPECT_NE(sample.emitters[0].pit, sample.emitters[1].pit);
  EXPECT_THAT(discharges_of(sample_of(survey, -1)), ElementsAre(1.0, 0.0, 1.2));
}

TEST(WeighedByLateral, LetsAnEmitterStandForItsLateralOverThoseDugThere) {
  EmitterSample sample;
  for (const int lateral : {0, 0, 0, 0, 1, 1, -1, 7}) {
    SampledEmitter e;
    e.lateral = lateral;
    e.discharge_lph = 1;
    sample.emitters.push_back(e);
  }
  const std::vector<int> emitters_of_lateral = {100, 200};
  const EmitterSample weighed = weighed_by_lateral(sample, emitters_of_lateral);
  const auto weight = [&](std::size_t i) { return weighed.emitters[i].weight; };
  EXPECT_NEAR(weight(4) / weight(0), 4, 1e-12);  // 200/2 over 100/4
  EXPECT_NEAR(weight(6) / weight(0), 6, 1e-12);  // 150/1, an average lateral of its own
  EXPECT_NEAR(weight(7) / weight(0), 6, 1e-12);  // a lateral that is not told
  double sum = 0;
  for (const SampledEmitter& e : weighed.emitters) sum += e.weight;
  EXPECT_NEAR(sum, 8, 1e-12);
}

TEST(WeighedByLateral, LeavesWeightsWhereNoLateralIsTold) {
  EmitterSample sample;
  sample.emitters.resize(3);
  sample.emitters[1].weight = 2;
  EXPECT_EQ(weighed_by_lateral(sample, {}).emitters[1].weight, 2);
  EXPECT_TRUE(weighed_by_lateral({}, std::vector<int>{5}).emitters.empty());
}

}  // namespace
}  // namespace evendrip
