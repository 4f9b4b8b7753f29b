// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/field_condition.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "lined_zone.hpp"

namespace evendrip {
namespace {

constexpr double spacing_m = 1.5;

/// Emitters half a metre apart on the laterals of lined_field.
Field with_emitters(Field field) {
  field.zones[0].id = "Z1";
  field.zones[0].emitter.spacing_m = 0.5;
  field.zones[0].emitter.first_offset_m = 0.25;
  for (Lateral& lateral : field.laterals) lateral.emitters = 120;
  return field;
}

/// Four holes on each of six laterals, two of which are those that the crop of lined_zone.hpp has
/// low.
DischargeSamples dug(double low, double noise_sd) {
  std::mt19937_64 stream(5);
  std::normal_distribution<double> normal(0, noise_sd);
  DischargeSamples samples;
  samples.zones = {{0, 24, 0, 1.0, ReferenceKind::clean_system}};
  for (const int lateral : {1, 6, 10, 15, 18, 22})
    for (const double station_m : {8.0, 23.0, 38.0, 53.0}) {
      const double r = (lateral == 6 || lateral == 15 ? low : 1.0) + normal(stream);
      samples.samples.push_back(
          {{{0.75 + spacing_m * lateral, station_m}, lateral, station_m, 0}, r, 1e-4});
    }
  return samples;
}

FieldCondition judged(const Field& field, const DischargeSamples& samples,
                      const std::vector<CropWitness>& crops, int threads = 1) {
  Survey survey;
  Expectation expectation;
  expectation.zones.resize(field.zones.size());
  for (ExpectedZone& zone : expectation.zones) zone.why_not = "needs [layers] manifolds";
  ConditionOptions options;
  options.draws = 40;
  options.segment_m = 10;
  Work work;
  work.threads = threads;
  return judge_condition(field, survey, expectation, samples, crops, options, work);
}

TEST(JudgeCondition, OfHolesAloneKnowsTheLateralsThatWereDug) {
  const Field field = with_emitters(test::lined_field());
  const FieldCondition found = judged(field, dug(0.7, 0.02), {});
  ASSERT_EQ(found.zones.size(), 1U);
  const ZoneState& zone = found.zones[0];
  ASSERT_TRUE(zone.judged) << zone.why_not;
  EXPECT_EQ(zone.segments.size(), 24U * 6U);
  EXPECT_TRUE(zone.layer_used.empty());
  EXPECT_FALSE(zone.network.told.empty());
  const SegmentCondition* low = condition_at(found, 0, 6, 25);
  const SegmentCondition* sound = condition_at(found, 0, 1, 25);
  ASSERT_TRUE(low != nullptr && sound != nullptr);
  EXPECT_NEAR(low->delivery.value, 0.7, 0.05);
  EXPECT_NEAR(sound->delivery.value, 1, 0.05);
  EXPECT_GT(low->p_low, 0.9);
  EXPECT_LT(sound->p_low, 0.2);
  EXPECT_LT(low->delivery.lower_90, 0.7);
  EXPECT_GT(low->delivery.upper_90, 0.7);
  EXPECT_NEAR(low->performance.value, low->delivery.value, 1e-12);  // no fault of the network
}

TEST(JudgeCondition, LooksWorseInTheSampleThanInAllLateralsWhereWeakOnesWereDug) {
  const Field field = with_emitters(test::lined_field());
  const ZoneState zone = judged(field, dug(0.7, 0.02), {}).zones[0];
  EXPECT_EQ(zone.uniformity.draws, 40);
  EXPECT_GT(zone.uniformity.emitters.value, 0.6);
  EXPECT_LT(zone.uniformity.emitters.value, 1);
  EXPECT_LT(zone.uniformity.emitters.lower_90, zone.uniformity.emitters.value);
  // A third of the readings is 0.7, so the lowest quarter is, over a mean of 0.9.
  EXPECT_NEAR(zone.uniformity.sample, 0.7 / 0.9, 0.04);
}

TEST(JudgeCondition, UsesACropThatFollowsItsLateralsAndFindsThoseThatNobodyDug) {
  const Field field = with_emitters(test::lined_field());
  DischargeSamples samples = dug(0.7, 0.02);
  // The holes on one of both weak laterals were never dug.
  std::erase_if(samples.samples, [](const Sample& s) { return s.site.lateral == 15; });
  const std::vector<CropWitness> crops{{test::seen(true, 1), {}}};
  const FieldCondition found = judged(field, samples, crops);
  const ZoneState& zone = found.zones[0];
  ASSERT_TRUE(zone.judged);
  ASSERT_EQ(zone.voices.size(), 1U);
  EXPECT_TRUE(zone.voices[0].used) << zone.voices[0].why;
  ASSERT_TRUE(zone.voices[0].placebo.has_value());
  EXPECT_TRUE(zone.voices[0].placebo->stands_out);
  const SegmentCondition* unseen = condition_at(found, 0, 15, 25);
  ASSERT_NE(unseen, nullptr);
  EXPECT_LT(unseen->delivery.value, 0.85);
  EXPECT_GT(condition_at(found, 0, 12, 25)->delivery.value, 0.93);
  double all = 0;
  for (const double share :
       {zone.shares.water_station, zone.shares.water_lateral, zone.shares.water_local,
        zone.shares.network, zone.shares.soil, zone.shares.error})
    all += share;
  EXPECT_NEAR(all, 1, 1e-12);
  EXPECT_GT(zone.shares.water_lateral, zone.shares.water_station);
}

TEST(JudgeCondition, WithoutHolesTellsPlacesOfTheCropAndNoState) {
  const Field field = with_emitters(test::lined_field());
  DischargeSamples none;
  none.zones = {{0, 0, 0, 0, ReferenceKind::zone_median}};
  const FieldCondition found = judged(field, none, {{test::seen(true, 1), {}}});
  const ZoneState& zone = found.zones[0];
  EXPECT_FALSE(zone.judged);
  EXPECT_NE(zone.why_not.find("not verified"), std::string::npos);
  EXPECT_TRUE(zone.segments.empty());
  EXPECT_EQ(condition_at(found, 0, 6, 25), nullptr);
  ASSERT_EQ(zone.unverified_crop.size(), static_cast<std::size_t>(zone.grid.segments()));
  // The crop lacks 0.2 on lateral 6; its neighbours less than half as much.
  EXPECT_LT(zone.unverified_crop[static_cast<std::size_t>(zone.grid.segment(6, 3))], -0.1);
  EXPECT_GT(zone.unverified_crop[static_cast<std::size_t>(zone.grid.segment(10, 3))], -0.08);
}

TEST(JudgeCondition, IsNotMovedByALayerOfOneValueOrOfFewData) {
  const Field field = with_emitters(test::lined_field());
  CropEvidence flat = test::seen(false, 1);
  for (EvidenceDatum& datum : flat.data) datum.value = 1;
  CropEvidence few = test::seen(true, 1);
  few.data.resize(10);
  const ZoneState zone = judged(field, dug(0.7, 0.02), {{flat, {}}, {few, {}}}).zones[0];
  const ZoneState alone = judged(field, dug(0.7, 0.02), {}).zones[0];
  ASSERT_EQ(zone.voices.size(), 2U);
  EXPECT_NE(zone.voices[0].why.find("one value"), std::string::npos);
  EXPECT_NE(zone.voices[1].why.find("too few"), std::string::npos);
  ASSERT_EQ(zone.segments.size(), alone.segments.size());
  for (std::size_t i = 0; i < alone.segments.size(); ++i)
    EXPECT_EQ(zone.segments[i].delivery.value, alone.segments[i].delivery.value);
}

TEST(JudgeCondition, CallsAZoneWithoutLateralsNotJudged) {
  Field field;
  field.zones.resize(1);
  DischargeSamples none;
  none.zones.resize(1);
  const FieldCondition found = judged(field, none, {});
  EXPECT_FALSE(found.zones[0].judged);
  EXPECT_FALSE(found.zones[0].why_not.empty());
}

TEST(JudgeCondition, IsTheSameForAnyNumberOfThreads) {
  Field field = with_emitters(test::lined_field());
  field.zones.push_back(field.zones[0]);
  for (Zone& zone : field.zones) zone.id = "Z";
  const std::size_t laterals = field.laterals.size();
  for (std::size_t i = 0; i < laterals; ++i) {
    Lateral other = field.laterals[i];
    other.zone = 1;
    for (Point& p : other.line) p.x += 100;
    field.laterals.push_back(other);
  }
  for (Polygon& part : field.zones[1].area)
    for (Point& p : part.outer) p.x += 100;
  DischargeSamples samples = dug(0.8, 0.03);
  samples.zones.push_back(samples.zones[0]);
  samples.zones[1].zone = 1;
  const std::size_t count = samples.samples.size();
  for (std::size_t i = 0; i < count; ++i) {
    Sample other = samples.samples[i];
    other.site.lateral += static_cast<int>(laterals);
    other.site.zone = 1;
    samples.samples.push_back(other);
  }
  const FieldCondition one = judged(field, samples, {}, 1);
  const FieldCondition two = judged(field, samples, {}, 2);
  for (std::size_t z = 0; z < 2; ++z) {
    ASSERT_EQ(one.zones[z].segments.size(), two.zones[z].segments.size());
    for (std::size_t i = 0; i < one.zones[z].segments.size(); ++i)
      EXPECT_EQ(one.zones[z].segments[i].delivery.value, two.zones[z].segments[i].delivery.value);
    EXPECT_EQ(one.zones[z].uniformity.emitters.value, two.zones[z].uniformity.emitters.value);
  }
}

}  // namespace
}  // namespace evendrip
