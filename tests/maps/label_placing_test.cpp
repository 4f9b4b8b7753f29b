// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/label_placing.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

constexpr PaperBox frame{0, 0, 300, 200};

std::vector<LabelWish> crowd(int count) {
  std::vector<LabelWish> wishes;
  for (int i = 0; i < count; ++i) {
    wishes.push_back(
        {{300 * std::fmod(0.5 + i * 0.754877666, 1.0), 200 * std::fmod(0.5 + i * 0.569840291, 1.0)},
         20,
         8,
         4});
  }
  return wishes;
}

TEST(PlaceLabels, PutsALoneLabelToTheRightOfItsPlace) {
  const auto places = place_labels({{{100, 100}, 20, 8, 4}}, {}, frame);
  ASSERT_TRUE(places.at(0).has_value());
  EXPECT_DOUBLE_EQ(places[0]->x, 104);
  EXPECT_DOUBLE_EQ(places[0]->y, 96);
}

TEST(PlaceLabels, CentresALabelWithoutClearanceOnItsPlace) {
  const auto places = place_labels({{{100, 100}, 20, 8, 0}}, {}, frame);
  ASSERT_TRUE(places.at(0).has_value());
  EXPECT_DOUBLE_EQ(places[0]->x, 90);
  EXPECT_DOUBLE_EQ(places[0]->y, 96);
}

TEST(PlaceLabels, KeepsACrowdFreeOfOverlapAndWithinTheFrame) {
  for (const int count : {10, 60, 400}) {
    const auto wishes = crowd(count);
    std::vector<PaperBox> marks;
    for (const LabelWish& wish : wishes) {
      marks.push_back({wish.place.x - 2, wish.place.y - 2, wish.place.x + 2, wish.place.y + 2});
    }
    const auto places = place_labels(wishes, marks, frame);
    ASSERT_EQ(places.size(), wishes.size());
    std::vector<PaperBox> boxes = marks;
    int placed = 0;
    for (const auto& place : places) {
      if (!place) continue;
      ++placed;
      const PaperBox box{place->x, place->y, place->x + 20, place->y + 8};
      EXPECT_TRUE(box.within(frame));
      for (const PaperBox& other : boxes) EXPECT_FALSE(box.overlaps(other));
      boxes.push_back(box);
    }
    // 400 places stand some 12 apart: labels of 20 by 8 cannot pass between their marks.
    EXPECT_GE(placed, count == 400 ? 0 : count * 8 / 10) << count;
    if (count == 400) {
      EXPECT_LT(placed, count);
    }
  }
}

TEST(PlaceLabels, LeavesOutWhatHasNoRoom) {
  const std::vector<LabelWish> wishes(40, LabelWish{{150, 100}, 60, 30, 4});
  const auto places = place_labels(wishes, {}, frame);
  EXPECT_TRUE(places.front().has_value());
  EXPECT_FALSE(places.back().has_value());
}

TEST(PlaceLabels, StaysOffAnObstacleThatCoversEverything) {
  EXPECT_FALSE(place_labels({{{100, 100}, 20, 8, 4}}, {frame}, frame).at(0).has_value());
}

}  // namespace
}  // namespace evendrip
