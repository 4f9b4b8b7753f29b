// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/discharge_samples.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

/// One zone; emitters of 1, 1.2, 0.8 and 0 L/h, each caught twice for 60 s.
struct Dug {
  Field field;
  Survey survey;

  Dug() {
    Zone zone;
    zone.id = "Z1";
    zone.emitter.manufacturing_cv = 0.05;
    field.zones.push_back(zone);
    SurveySource source;
    source.id = "spring";
    source.volume_graduation_ml = 1;
    field.surveys.push_back(source);
    survey.id = "spring";
    for (const double lph : {1.0, 1.2, 0.8, 0.0}) add(lph);
  }

  void add(double lph) {
    MeasuredEmitter emitter;
    emitter.site = {{10.0 * static_cast<double>(survey.emitters.size()), 0}, 0, 0, 0};
    emitter.discharge_lph = lph;
    emitter.replicates = 2;
    for (int i = 0; i < 2; ++i) {
      CatchRecord record;
      record.duration_s = 60;
      emitter.records.push_back(survey.records.size());
      survey.records.push_back(record);
    }
    survey.emitters.push_back(emitter);
  }
};

TEST(DischargeSamples, AreDischargeOverTheMedianOfTheZoneWhereNothingElseIsKnown) {
  const Dug dug;
  const DischargeSamples out = discharge_samples(dug.field, dug.survey, {});
  ASSERT_EQ(out.samples.size(), 4U);
  EXPECT_DOUBLE_EQ(out.zones[0].median_lph, 0.9);
  EXPECT_DOUBLE_EQ(out.samples[1].value, 1.2 / 0.9);
  EXPECT_EQ(out.emitters[3], 3U);
  EXPECT_EQ(out.zones[0].reference, ReferenceKind::zone_median);
}

TEST(DischargeSamples, KnowTheNoiseOfMakingCatchingAndReadingTheVessel) {
  Dug dug;
  dug.survey.replicate_cv = 0.02;
  const DischargeSamples out = discharge_samples(dug.field, dug.survey, {});
  // Making: 0.05 of the median sample (0.9 / 0.9 = 1). Catching: 0.02 of its own discharge, over
  // two catches. Vessel: 1 mL in 60 s is 0.06 L/h, even over one step: variance step^2 / 12.
  const double making = 0.05 * 0.05;
  const double vessel = std::pow(0.06 / 0.9, 2) / 12;
  EXPECT_NEAR(out.samples[0].noise_variance, making + (std::pow(0.02 * 1.0 / 0.9, 2) + vessel) / 2,
              1e-12);
  // A plugged emitter is no more precise than the making of its neighbours.
  EXPECT_NEAR(out.samples[3].noise_variance, making + vessel / 2, 1e-12);
}

TEST(DischargeSamples, AreDischargeOverWhatIsExpectedAndCountEmittersThatShouldGiveNothing) {
  const Dug dug;
  DischargeReference reference;
  reference.zones = {1};
  reference.emitters_lph = {2, 2, 0, std::nan("")};
  const DischargeSamples out = discharge_samples(dug.field, dug.survey, reference);
  ASSERT_EQ(out.samples.size(), 2U);
  EXPECT_DOUBLE_EQ(out.samples[1].value, 0.6);
  EXPECT_EQ(out.zones[0].without_reference, 2);
  EXPECT_EQ(out.zones[0].reference, ReferenceKind::clean_system);
}

TEST(DischargeSamples, SayWhyThereAreNone) {
  ZoneSamples zone;
  EXPECT_EQ(why_no_samples(zone), "no emitter was measured here at a known place");
  zone.without_reference = 3;
  EXPECT_NE(why_no_samples(zone).find("no median"), std::string::npos);
  zone.reference = ReferenceKind::clean_system;
  EXPECT_NE(why_no_samples(zone).find("clean system would give nothing"), std::string::npos);
}

TEST(DischargeSamples, LeaveOutEmittersThatAreDamagedMissingOrOfUnknownPlace) {
  Dug dug;
  dug.survey.emitters[0].state = EmitterState::dug_damage;
  dug.survey.emitters[1].placement = Placement::ambiguous;
  dug.survey.emitters[2].state = EmitterState::not_found;
  const DischargeSamples out = discharge_samples(dug.field, dug.survey, {});
  // The median is that of 1.2 (ambiguous, but in the zone) and 0.
  EXPECT_DOUBLE_EQ(out.zones[0].median_lph, 0.6);
  ASSERT_EQ(out.samples.size(), 1U);
  EXPECT_EQ(out.samples[0].value, 0);
}

}  // namespace
}  // namespace evendrip
