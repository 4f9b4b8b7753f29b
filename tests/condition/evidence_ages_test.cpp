// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/evidence_ages.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>

#include "lined_zone.hpp"

namespace evendrip {
namespace {

class EvidenceAgesTest : public ::testing::Test {
 protected:
  EvidenceAgesTest() {
    survey.date = "2026-05-12";
    for (std::size_t i = 0; i < field.laterals.size(); ++i)
      field.laterals[i].id = "L" + std::to_string(i);
  }
  void log(const char* date, const char* action, std::vector<int> laterals = {}, int zone = 0) {
    field.maintenance.push_back({2, date, zone, std::move(laterals), action});
  }
  LayerAge age(const char* date) const { return age_of(field, survey, grid, date); }
  static long cut_rows(const LayerAge& age) {
    return std::count(age.rows_cut.begin(), age.rows_cut.end(), true);
  }

  Field field = test::lined_field();
  SegmentGrid grid = segment_grid(field, 0, 10);
  Survey survey;
};

TEST_F(EvidenceAgesTest, SayNothingOfALayerOfTheSameTime) {
  const LayerAge now = age("2026-04-30");
  EXPECT_FALSE(now.cut);
  EXPECT_EQ(now.change_sd, 0);
  EXPECT_EQ(now.told, "");
  EXPECT_EQ(age("").told, "");
}

TEST_F(EvidenceAgesTest, AllowForWhatTimeMayHaveDone) {
  EXPECT_NEAR(age("2025-05-12").change_sd, 0.05, 0.001);
  EXPECT_NEAR(age("2022-05-12").change_sd, 0.10, 0.001);  // four years
  EXPECT_NEAR(age("2027-05-12").change_sd, 0.05, 0.001);  // a layer after the holes
  EXPECT_NE(age("2025-05-12").told.find("365 days"), std::string::npos);
}

TEST_F(EvidenceAgesTest, CutTheLateralsThatWereWorkedOnInBetween) {
  log("2026-03-02", "repair", {3, 4});
  const LayerAge old = age("2025-09-30");
  EXPECT_FALSE(old.cut);
  EXPECT_EQ(cut_rows(old), 2);
  EXPECT_TRUE(old.rows_cut[3] && old.rows_cut[4]);
  EXPECT_NE(old.told.find("repair of 2026-03-02 (laterals L3, L4)"), std::string::npos) << old.told;
  EXPECT_EQ(cut_rows(age("2026-04-01")), 0);  // after the repair
  std::vector<CropDatum> data(3);
  data[0].segments = {grid.segment(3, 1)};
  data[0].weights = {1};
  data[1].segments = {grid.segment(4, 1), grid.segment(5, 1), grid.segment(6, 1)};
  data[1].weights = {0.2, 0.4, 0.4};
  data[2].segments = {grid.segment(8, 1)};
  data[2].weights = {1};
  leave_out_cut(old, grid, data);
  ASSERT_EQ(data.size(), 2U);
  EXPECT_EQ(data[0].segments.size(), 3U);
}

TEST_F(EvidenceAgesTest, CutAWholeLayerWhereTheWholeZoneWasFlushed) {
  log("2026-03-02", "flush");
  EXPECT_TRUE(age("2025-09-30").cut);
  EXPECT_FALSE(age("2026-03-03").cut);
  EXPECT_TRUE(age("2026-03-02").cut);  // of that day: before the work
  field.maintenance.clear();
  log("2026-06-01", "acid");
  EXPECT_TRUE(age("2026-08-01").cut);  // the layer after, the holes before
  EXPECT_FALSE(age("2025-09-30").cut);
}

TEST_F(EvidenceAgesTest, PassOverMereLookingAndOtherZones) {
  log("2026-03-02", "inspection");
  log("2026-03-02", "flush", {}, 1);
  EXPECT_EQ(cut_rows(age("2025-09-30")), 0);
}

TEST_F(EvidenceAgesTest, TellWhatWasDoneSinceTheHoles) {
  EXPECT_EQ(done_since(field, survey, 0), "");
  log("2026-03-02", "flush");
  EXPECT_EQ(done_since(field, survey, 0), "");
  log("2026-06-01", "repair", {7});
  EXPECT_EQ(done_since(field, survey, 0),
            "this is the state on 2026-05-12; since then the log has repair of 2026-06-01 (lateral "
            "L7)");
  EXPECT_EQ(done_since(field, survey, 1), "");
}

}  // namespace
}  // namespace evendrip
