// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/seen_before.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "lined_zone.hpp"

namespace evendrip {
namespace {

class SeenBeforeTest : public ::testing::Test {
 protected:
  std::vector<CropDatum> data_of(const CropEvidence& evidence) const {
    return crop_data(field, grid, evidence, {});
  }
  SeenBefore before_of(const CropEvidence& evidence) const {
    auto before = seen_before(grid, "spring", data_of(evidence), 1.5, {});
    EXPECT_TRUE(before.has_value());
    return before.value_or(SeenBefore{});
  }
  double at_row(const SeenBefore& before, int row) const {
    return before.segments[static_cast<std::size_t>(grid.segment(row, 3))];
  }
  /// Mean of a pattern over the data on a lateral.
  static double mean_on(const std::vector<double>& pattern, const CropEvidence& evidence,
                        int lateral) {
    double sum = 0;
    double count = 0;
    for (std::size_t i = 0; i < pattern.size(); ++i) {
      if (static_cast<int>(evidence.data[i].place.x / 1.5) != lateral) continue;
      sum += pattern[i];
      count += 1;
    }
    return sum / count;
  }

  Field field = test::lined_field();
  SegmentGrid grid = segment_grid(field, 0, 10);
};

TEST_F(SeenBeforeTest, PartsWhatFollowsLateralsFromTheSoil) {
  const SeenBefore before = before_of(test::seen_again({{9, 0.2}}, 1, 2));
  EXPECT_EQ(before.places.size(), before.shaped.size());
  EXPECT_EQ(before.places.size(), before.soil.size());
  EXPECT_LT(at_row(before, 9), -0.13);
  EXPECT_GT(at_row(before, 12), -0.05);
}

TEST_F(SeenBeforeTest, FindsInALaterLayerWhatStoodBeforeAndLeavesWhatIsNew) {
  const SeenBefore before = before_of(test::seen_again({{9, 0.2}, {18, 0.15}}, 1, 2));
  const CropEvidence later = test::seen_again({{9, 0.2}, {18, 0.15}, {14, 0.2}}, 1, 3);
  const StillThere still = still_there(before, grid, data_of(later), 1.5);
  EXPECT_NEAR(still.shaped, 1, 0.25);
  EXPECT_NEAR(still.soil, 1, 0.25);
  const std::vector<double> pattern = pattern_of(before, still, later);
  EXPECT_LT(mean_on(pattern, later, 9), mean_on(pattern, later, 11) - 0.13);
  EXPECT_GT(mean_on(pattern, later, 14), mean_on(pattern, later, 12) - 0.06);
}

TEST_F(SeenBeforeTest, FindsNothingOfStripesThatAreGone) {
  const SeenBefore before = before_of(test::seen_again({{9, 0.2}, {18, 0.15}}, 1, 2));
  const CropEvidence later = test::seen_again({}, 8, 3);  // of other soil too
  const StillThere still = still_there(before, grid, data_of(later), 1.5);
  EXPECT_LT(still.shaped, 0.2);
}

TEST_F(SeenBeforeTest, LooksNoFurtherThanThePixelsReach) {
  const SeenBefore before = before_of(test::seen_again({{9, 0.2}}, 1, 2));
  CropEvidence far = test::seen_again({}, 1, 3);
  for (EvidenceDatum& datum : far.data) datum.place.x += 500;
  for (const double value : pattern_of(before, {1, 1}, far)) EXPECT_EQ(value, 0);
}

}  // namespace
}  // namespace evendrip
