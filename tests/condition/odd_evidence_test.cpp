// SPDX-License-Identifier: Apache-2.0
// Evidence that is partial, empty, of another time or at odds with itself: a plain sentence and
// the best honest result, never a map made of nothing.
#include "evendrip/condition/field_condition.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <string>

#include "judged_field.hpp"
#include "lined_zone.hpp"

namespace evendrip {
namespace {

using test::judged;

class OddEvidence : public ::testing::Test {
 protected:
  OddEvidence() {
    // The holes on one of both weak laterals were never dug.
    std::erase_if(samples.samples, [](const Sample& s) { return s.site.lateral == 15; });
    survey.date = "2026-05-12";
  }
  static CropEvidence layer(const char* id, const char* date, CropEvidence evidence) {
    evidence.id = id;
    evidence.date = date;
    return evidence;
  }
  /// Follows the water of the holes.
  static CropEvidence sound(const char* id, std::uint64_t noise = 2) {
    return layer(id, "2026-05-20", test::seen_again({{6, 0.25}, {15, 0.25}}, 1, noise));
  }
  FieldCondition found(const std::vector<CropWitness>& crops) const {
    return judged(field, samples, crops, 1, survey);
  }
  static bool says(const std::string& text, const char* words) {
    return text.find(words) != std::string::npos;
  }
  void expect_finite(const ZoneState& zone) const {
    ASSERT_TRUE(zone.judged) << zone.why_not;
    ASSERT_FALSE(zone.segments.empty());
    for (const SegmentCondition& segment : zone.segments) {
      EXPECT_TRUE(std::isfinite(segment.delivery.value));
      EXPECT_GT(segment.delivery.sd, 0);
      EXPECT_GE(segment.p_low, 0);
      EXPECT_LE(segment.p_low, 1);
    }
  }

  Field field = test::with_emitters(test::lined_field());
  DischargeSamples samples = test::dug(0.7, 0.02);
  Survey survey;
};

TEST_F(OddEvidence, OfPartOfTheZoneSaysNothingBeyondIt) {
  CropEvidence part = sound("part");
  std::erase_if(part.data, [](const EvidenceDatum& datum) { return datum.place.x > 15; });
  const FieldCondition condition = found({{part, {}}});
  expect_finite(condition.zones[0]);
  // Lateral 18 lies beyond it and was dug, lateral 21 was not: all that the crop tells of it is how
  // much laterals differ where it sees them: one of a dozen is low where it was one of six that
  // were dug, and the root of the mean square falls to 0.71.
  const FieldCondition alone = found({});
  const Judged with_crop = condition_at(condition, 0, 21, 25)->delivery;
  const Judged without = condition_at(alone, 0, 21, 25)->delivery;
  EXPECT_GT(with_crop.sd, 0.6 * without.sd);
  EXPECT_NEAR(with_crop.value, without.value, 0.5 * without.sd);
  EXPECT_LT(condition_at(condition, 0, 8, 25)->delivery.sd, 0.5 * without.sd);
}

TEST_F(OddEvidence, UnderCloudsIsUsedWhereItIsClear) {
  CropEvidence clouded = sound("clouded");
  for (EvidenceDatum& datum : clouded.data)
    if (std::hypot(datum.place.x - 8, datum.place.y - 45) < 12) datum.value = std::nan("");
  const ZoneState zone = found({{clouded, {}}}).zones[0];
  expect_finite(zone);
  EXPECT_LT(zone.voices[0].data, clouded.data.size());
  EXPECT_TRUE(zone.voices[0].used) << zone.voices[0].why;
}

TEST_F(OddEvidence, UnderCloudsAllOverIsNoEvidence) {
  CropEvidence clouded = sound("clouded");
  for (EvidenceDatum& datum : clouded.data) datum.value = std::nan("");
  const ZoneState zone = found({{clouded, {}}}).zones[0];
  expect_finite(zone);
  EXPECT_TRUE(says(zone.voices[0].why, "too few")) << zone.voices[0].why;
  EXPECT_TRUE(zone.layer_used.empty());
}

TEST_F(OddEvidence, OfOneValueSaysNothing) {
  CropEvidence flat = sound("flat");
  for (EvidenceDatum& datum : flat.data) datum.value = 1.3;
  flat.median = 1.3;
  const ZoneState zone = found({{flat, {}}}).zones[0];
  expect_finite(zone);
  EXPECT_TRUE(says(zone.voices[0].why, "one value")) << zone.voices[0].why;
}

TEST_F(OddEvidence, OfAnotherSeasonIsAllowedToHaveChanged) {
  const ZoneState now = found({{sound("now"), {}}}).zones[0];
  ASSERT_TRUE(now.voices[0].used) << now.voices[0].why;
  EXPECT_EQ(now.voices[0].age, "");
  CropEvidence old = sound("old");
  old.date = "2022-05-12";
  const ZoneState before = found({{old, {}}}).zones[0];
  expect_finite(before);
  EXPECT_TRUE(says(before.voices[0].why, "days lie between")) << before.voices[0].why;
  const auto undug = [](const ZoneState& zone) {
    return zone.condition.estimate.r_variance[static_cast<std::size_t>(zone.grid.segment(12, 3))];
  };
  if (before.voices[0].used) {
    EXPECT_GT(undug(before), undug(now));
  }
}

TEST_F(OddEvidence, FromBeforeAFlushOfTheZoneIsCut) {
  CropEvidence old = sound("old");
  old.date = "2025-08-20";
  field.maintenance.push_back({2, "2026-03-01", 0, {}, "flush"});
  const ZoneState zone = found({{old, {}}}).zones[0];
  expect_finite(zone);
  EXPECT_TRUE(zone.layer_used.empty());
  EXPECT_TRUE(says(zone.voices[0].why, "flush of 2026-03-01 (the whole zone)"))
      << zone.voices[0].why;
}

TEST_F(OddEvidence, FromBeforeARepairSaysNothingOfTheLateralsRepaired) {
  CropEvidence old = sound("old");
  old.date = "2025-08-20";
  const FieldCondition whole = found({{old, {}}});
  ASSERT_TRUE(whole.zones[0].voices[0].used) << whole.zones[0].voices[0].why;
  ASSERT_LT(condition_at(whole, 0, 15, 25)->delivery.value, 0.88);
  field.maintenance.push_back({2, "2026-03-01", 0, {15}, "repair"});
  const FieldCondition cut = found({{old, {}}});
  expect_finite(cut.zones[0]);
  EXPECT_LT(cut.zones[0].voices[0].data, whole.zones[0].voices[0].data);
  EXPECT_GT(condition_at(cut, 0, 15, 25)->delivery.value, 0.9);
  EXPECT_GT(condition_at(cut, 0, 15, 25)->delivery.sd, 0.05);  // and not told closely
}

TEST_F(OddEvidence, TellsOfWorkThatWasDoneSinceTheHoles) {
  field.maintenance.push_back({2, "2026-06-01", 0, {6}, "repair"});
  EXPECT_TRUE(says(found({}).zones[0].done_since, "repair of 2026-06-01"));
}

TEST_F(OddEvidence, WithHolesInOneZoneOnlyJudgesThatAndNotTheOther) {
  Field both = field;
  both.zones.push_back(both.zones[0]);
  for (Polygon& part : both.zones[1].area)
    for (Point& p : part.outer) p.x += 100;
  for (std::size_t i = 0; i < 24; ++i) {
    Lateral other = both.laterals[i];
    other.zone = 1;
    for (Point& p : other.line) p.x += 100;
    both.laterals.push_back(other);
  }
  CropEvidence crop = sound("both");
  for (EvidenceDatum datum : sound("both", 7).data) {
    datum.place.x += 100;
    crop.data.push_back(datum);
  }
  DischargeSamples one = samples;
  one.zones.push_back({1, 0, 0, 0, ReferenceKind::zone_median});
  const FieldCondition condition = judged(both, one, {{crop, {}}}, 1, survey);
  expect_finite(condition.zones[0]);
  EXPECT_FALSE(condition.zones[1].judged);
  EXPECT_TRUE(says(condition.zones[1].why_not, "not verified"));
  EXPECT_TRUE(condition.zones[1].segments.empty());
  EXPECT_FALSE(condition.zones[1].unverified_crop.empty());
}

TEST_F(OddEvidence, OfTwoLayersThatAgreeUsesTheBetterAndSaysSo) {
  CropEvidence noisy = sound("noisy", 4);
  std::mt19937_64 stream(9);
  std::normal_distribution<double> normal(0, 0.05);
  for (EvidenceDatum& datum : noisy.data) datum.value += normal(stream);
  const ZoneState zone = found({{noisy, {}}, {sound("clear"), {}}}).zones[0];
  expect_finite(zone);
  EXPECT_EQ(zone.layer_used, zone.voices[0].used ? "noisy" : "clear");
  EXPECT_NE(zone.voices[0].used, zone.voices[1].used);
  const CropVoice& other = zone.voices[zone.voices[0].used ? 1 : 0];
  ASSERT_TRUE(says(other.why, "passes its tests too")) << other.why;
  EXPECT_TRUE(says(other.why, "both say the same")) << other.why;
  EXPECT_TRUE(zone.contradictions.empty());
}

TEST_F(OddEvidence, OfTwoLayersThatContradictEachOtherGivesNoVerdictWhereTheyDo) {
  // Both foretell the holes; of lateral 15, where nobody dug, one says low and the other not.
  const CropEvidence low = sound("low");
  const CropEvidence fine = layer("fine", "2026-05-25", test::seen_again({{6, 0.25}}, 1, 5));
  const FieldCondition condition = found({{low, {}}, {fine, {}}});
  const ZoneState& zone = condition.zones[0];
  expect_finite(zone);
  ASSERT_EQ(zone.contradictions.size(), 1U) << zone.voices[0].why << "\n" << zone.voices[1].why;
  EXPECT_EQ(zone.contradictions[0].layer, zone.layer_used == "low" ? "fine" : "low");
  EXPECT_FALSE(condition_at(condition, 0, 15, 25)->verdict_holds());
  EXPECT_TRUE(condition_at(condition, 0, 6, 25)->verdict_holds());
  EXPECT_TRUE(condition_at(condition, 0, 10, 25)->verdict_holds());
}

TEST_F(OddEvidence, OfCropAgainstTheHolesKeepsToTheHoles) {
  // The crop is best where the holes are worst, and low where they are sound.
  const CropEvidence odds =
      layer("odds", "2026-05-20", test::seen_again({{1, 0.25}, {10, 0.25}, {22, 0.25}}, 1, 2));
  const FieldCondition condition = found({{odds, {}}});
  const ZoneState& zone = condition.zones[0];
  expect_finite(zone);
  EXPECT_TRUE(zone.layer_used.empty());
  EXPECT_TRUE(says(zone.voices[0].why, "no better: what was caught lies farther from it"))
      << zone.voices[0].why;
  EXPECT_LT(condition_at(condition, 0, 6, 25)->delivery.value, 0.8);
  EXPECT_GT(condition_at(condition, 0, 10, 25)->delivery.value, 0.93);
}

TEST_F(OddEvidence, OfHolesThatAreAllAlikeGivesAFlatLikelihoodAndWideLimits) {
  for (Sample& sample : samples.samples) sample.value = 1;
  const FieldCondition condition = found({});
  const ZoneState& zone = condition.zones[0];
  expect_finite(zone);
  for (const SegmentCondition& segment : zone.segments)
    EXPECT_NEAR(segment.delivery.value, 1, 0.03);
  // Where nobody dug less is known.
  EXPECT_GT(condition_at(condition, 0, 12, 25)->delivery.sd,
            condition_at(condition, 0, 10, 23)->delivery.sd);
}

TEST_F(OddEvidence, OfOneHoleIsStillJudgedWithTheDoubtOfOneHole) {
  samples.samples.resize(1);
  samples.zones[0].samples = 1;
  const FieldCondition condition = found({{sound("sound"), {}}});
  const ZoneState& zone = condition.zones[0];
  expect_finite(zone);
  EXPECT_FALSE(zone.verified);
  EXPECT_TRUE(says(zone.voices[0].why, "cannot verify")) << zone.voices[0].why;
  EXPECT_GT(condition_at(condition, 0, 12, 25)->delivery.sd, 0.04);
}

}  // namespace
}  // namespace evendrip
