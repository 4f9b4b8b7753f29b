// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/field_condition.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "judged_field.hpp"
#include "lined_zone.hpp"

namespace evendrip {
namespace {

using test::dug;
using test::judged;
using test::with_emitters;

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
       {zone.shares.water_station, zone.shares.water_lateral, zone.shares.water_group,
        zone.shares.water_local, zone.shares.network, zone.shares.soil, zone.shares.edge,
        zone.shares.ground, zone.shares.error})
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

CropEvidence dated(CropEvidence evidence, const char* id, const char* date) {
  evidence.id = id;
  evidence.date = date;
  return evidence;
}

TEST(JudgeCondition, TakesAStripeFromBeforeIrrigationForNoWater) {
  Field field = with_emitters(test::lined_field());
  DischargeSamples samples = dug(0.7, 0.02);
  // Lateral 6 is weak and lateral 12, where nobody dug, was crushed when it was planted.
  std::erase_if(samples.samples, [](const Sample& s) { return s.site.lateral == 15; });
  const test::Lows crushed{{12, 0.2}, {19, 0.15}};
  const CropEvidence later =
      dated(test::seen_again({{6, 0.25}, {12, 0.2}, {19, 0.15}}, 1, 2), "later", "2026-07-20");
  const CropEvidence early = dated(test::seen_again(crushed, 1, 3), "early", "2026-05-20");
  const FieldCondition without = judged(field, samples, {{later, {}}});
  ASSERT_TRUE(without.zones[0].voices[0].used) << without.zones[0].voices[0].why;
  ASSERT_LT(condition_at(without, 0, 12, 25)->delivery.value, 0.88);

  field.crops.resize(1);
  field.crops[0].id = "early";
  field.crops[0].water = CropWater::before_irrigation;
  const FieldCondition found = judged(field, samples, {{later, {}}, {early, {}}});
  const ZoneState& zone = found.zones[0];
  ASSERT_EQ(zone.voices.size(), 2U);
  EXPECT_TRUE(zone.voices[0].used) << zone.voices[0].why;
  EXPECT_NE(zone.voices[0].why.find("is no water and was taken out"), std::string::npos)
      << zone.voices[0].why;
  EXPECT_FALSE(zone.voices[0].before_irrigation);
  EXPECT_TRUE(zone.voices[1].before_irrigation);
  EXPECT_FALSE(zone.voices[1].used);
  EXPECT_NE(zone.voices[1].why.find("not water"), std::string::npos);
  EXPECT_GT(condition_at(found, 0, 12, 25)->delivery.value, 0.94);
  EXPECT_GT(condition_at(found, 0, 19, 25)->delivery.value, 0.94);
  EXPECT_LT(condition_at(found, 0, 6, 25)->delivery.value, 0.8);
  EXPECT_EQ(zone.layer_before, "early");
  EXPECT_LT(zone.crop_before[static_cast<std::size_t>(zone.grid.segment(12, 3))], -0.13);
  EXPECT_GT(zone.crop_before[static_cast<std::size_t>(zone.grid.segment(6, 3))], -0.06);
}

TEST(JudgeCondition, HasNothingToSayOfWaterByALayerFromBeforeIrrigationAlone) {
  Field field = with_emitters(test::lined_field());
  field.zones[0].lateral.installed_year = 2020;
  const CropEvidence early = dated(test::seen(true, 1), "early", "2019-07-20");
  const ZoneState zone = judged(field, dug(0.7, 0.02), {{early, {}}}).zones[0];
  const ZoneState alone = judged(field, dug(0.7, 0.02), {}).zones[0];
  EXPECT_TRUE(zone.layer_used.empty());
  EXPECT_NE(zone.voices[0].why.find("before the laterals were laid in 2020"), std::string::npos);
  ASSERT_EQ(zone.segments.size(), alone.segments.size());
  for (std::size_t i = 0; i < alone.segments.size(); ++i)
    EXPECT_EQ(zone.segments[i].delivery.value, alone.segments[i].delivery.value);
  DischargeSamples none;
  none.zones = {{0, 0, 0, 0, ReferenceKind::zone_median}};
  EXPECT_TRUE(judged(field, none, {{early, {}}}).zones[0].unverified_crop.empty());
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

/// The lined field twice, side by side, dug alike.
struct TwoZones {
  Field field = with_emitters(test::lined_field());
  DischargeSamples samples = dug(0.8, 0.03);

  TwoZones() {
    field.zones.push_back(field.zones[0]);
    field.zones[1].id = "Z2";
    const std::size_t laterals = field.laterals.size();
    for (std::size_t i = 0; i < laterals; ++i) {
      Lateral other = field.laterals[i];
      other.zone = 1;
      for (Point& p : other.line) p.x += 100;
      field.laterals.push_back(other);
    }
    for (Polygon& part : field.zones[1].area)
      for (Point& p : part.outer) p.x += 100;
    samples.zones.push_back(samples.zones[0]);
    samples.zones[1].zone = 1;
    const std::size_t count = samples.samples.size();
    for (std::size_t i = 0; i < count; ++i) {
      Sample other = samples.samples[i];
      other.site.lateral += static_cast<int>(laterals);
      other.site.zone = 1;
      samples.samples.push_back(other);
    }
  }
};

TEST(JudgeCondition, SetsZonesThatWereMeteredTogetherBesideTheirSum) {
  TwoZones both;
  Survey survey;
  MeterReading meter;
  meter.zones = {0, 1};
  Expectation expectation;
  expectation.zones.resize(2);
  for (int z = 0; z < 2; ++z) {
    EmitterSpec& emitter = both.field.zones[static_cast<std::size_t>(z)].emitter;
    emitter.discharge_lph = 1;
    emitter.pressure_kpa = 100;
    ExpectedZone& zone = expectation.zones[static_cast<std::size_t>(z)];
    zone.zone = z;
    zone.computed = true;
    zone.total_lph = 2880;
    zone.gauges.inlet_kpa = {100, 1};
  }
  const auto told = [&](double share) {
    meter.flow_lph = share * 0.905 * 2 * 2880;
    survey.meter = {meter};
    ConditionOptions options;
    options.draws = 40;
    options.segment_m = 10;
    const FieldCondition found =
        judge_condition(both.field, survey, expectation, both.samples, {}, options, {});
    EXPECT_EQ(found.zones[0].told, found.zones[1].told);
    return found.zones[0].told;
  };
  // A third of the dug laterals gives 0.8, so the zones give about 0.95.
  const std::string agrees = told(0.94);
  EXPECT_NE(agrees.find("Z1 and Z2 were metered together"), std::string::npos) << agrees;
  EXPECT_NE(agrees.find("they agree"), std::string::npos) << agrees;
  EXPECT_NE(told(0.6).find("less water goes in"), std::string::npos);
}

TEST(JudgeCondition, IsTheSameForAnyNumberOfThreads) {
  const TwoZones both;
  const Field& field = both.field;
  const DischargeSamples& samples = both.samples;
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
