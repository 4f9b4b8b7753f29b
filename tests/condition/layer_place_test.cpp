// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/layer_place.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "evendrip/condition/zone_data.hpp"
#include "judged_field.hpp"

namespace evendrip {
namespace {

constexpr double pixel_m = 0.75;

class PlaceOfALayer : public ::testing::Test {
 protected:
  std::optional<LayerPlace> chosen(const CropEvidence& layer) const {
    const CropEvidence some = told_everywhere(layer, field, grid);
    return choose_place(grid, {},
                        [&](double across_m) {
                          return crop_data(field, grid, moved_across(some, field, grid, across_m),
                                           {});
                        },
                        ranges_of(grid, pixel_m), pixel_m, {});
  }

  Field field = test::lined_field();
  SegmentGrid grid = segment_grid(field, 0, 10);
};

TEST_F(PlaceOfALayer, IsWhereTheCropFollowsTheLaterals) {
  for (const double beside_m : {-0.7, 0.5}) {
    const auto place = chosen(test::drawn_by(usual_roots_reach, 0.3, beside_m));
    ASSERT_TRUE(place) << beside_m;
    // To the nearest step of 0.15 spacings.
    EXPECT_NEAR(place->across_m * grid.across.x, -beside_m, 0.12);
    EXPECT_GT(place->gain, 6);
  }
}

TEST_F(PlaceOfALayer, IsWhereItIsDrawnIfTheCropFollowsTheLateralsThere) {
  EXPECT_FALSE(chosen(test::drawn_by(usual_roots_reach)));
}

TEST_F(PlaceOfALayer, IsWhereItIsDrawnIfNothingFollowsTheLaterals) {
  EXPECT_FALSE(chosen(test::drawn_by(usual_roots_reach, 0, 0.7)));
}

TEST_F(PlaceOfALayer, IsSoughtByDataThatAreThereWhereverItIsMoved) {
  const CropEvidence layer = test::drawn_by(usual_roots_reach);
  const CropEvidence some = told_everywhere(layer, field, grid);
  EXPECT_LT(some.data.size(), 2500U);
  EXPECT_GT(some.data.size(), 1000U);
  const double most_m = 0.6 * grid.spacing_m();
  const auto count = [&](double across_m) {
    return crop_data(field, grid, moved_across(some, field, grid, across_m), {}).size();
  };
  EXPECT_EQ(count(0), some.data.size());
  EXPECT_EQ(count(most_m), some.data.size());
  EXPECT_EQ(count(-most_m), some.data.size());
}

TEST_F(PlaceOfALayer, LetsTheCropPutWhatIsLowOnTheLateralThatIs) {
  const Field dug_field = test::with_emitters(field);
  DischargeSamples samples = test::dug(1, 0.02);
  for (Sample& sample : samples.samples)
    if (sample.site.lateral == 6) sample.value -= 0.3;
  const CropEvidence layer = test::drawn_by(usual_roots_reach, 0.3, 0.75);
  const FieldCondition found = test::judged(dug_field, samples, {{layer, {}}});
  const ZoneState& zone = found.zones.front();
  ASSERT_TRUE(zone.judged);
  const CropVoice& voice = zone.voices.front();
  EXPECT_NEAR(voice.moved_m * grid.across.x, -0.75, 0.12);
  EXPECT_NE(voice.place.find("moved by 0."), std::string::npos) << voice.place;
  EXPECT_NE(voice.why.find(voice.place), std::string::npos) << voice.why;
  EXPECT_TRUE(voice.used);
  const auto r_of = [&](int lateral) {
    return condition_at(found, 0, lateral, 30)->delivery.value;
  };
  EXPECT_LT(r_of(12), 0.85);
  EXPECT_GT(r_of(13), 0.92);
  EXPECT_GT(r_of(11), 0.92);
}

}  // namespace
}  // namespace evendrip
