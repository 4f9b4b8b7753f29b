// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/zone_doubts.hpp"

#include <gtest/gtest.h>

#include "judged_field.hpp"
#include "lined_zone.hpp"

namespace evendrip {
namespace {

/// A judged zone of the lined field whose laterals from `first` to `last` are low.
class ZoneDoubts : public ::testing::Test {
 protected:
  ZoneDoubts() {
    state.zone = 0;
    state.grid = segment_grid(field, 0, 10);
    evidence = test::seen(false, 1);
    evidence.passes = true;  // records that run with the laterals, northwards and back
    for (std::size_t i = 0; i < evidence.data.size(); ++i)
      evidence.data[i].heading_deg = i % 2 == 0 ? 0.2F : 180.2F;
    for (int row = 0; row < state.grid.rows(); ++row)
      for (int station = 0; station < state.grid.stations(); ++station) {
        SegmentCondition one;
        one.row = row;
        one.station = station;
        state.segments.push_back(one);
      }
  }
  void make_low(int row, int from_station = 0) {
    for (SegmentCondition& one : state.segments)
      if (one.row == row && one.station >= from_station) one.p_low = 0.9;
  }
  void doubt() { doubt_passes(question, evidence, holes, state); }
  bool stands(int row) const {
    for (const SegmentCondition& one : state.segments)
      if (one.row == row && !one.verdict_holds()) return false;
    return true;
  }

  Field field = test::with_emitters(test::lined_field());
  Survey survey;
  ExpectedZone expected;
  Samples samples;
  ConditionOptions options;
  ZoneQuestion question{field, survey, expected, samples, ReferenceKind::clean_system, {}, options};
  CropEvidence evidence;
  std::vector<HoleDatum> holes;
  ZoneState state;
};

TEST_F(ZoneDoubts, LeaveLateralsOpenThatAPassMayHaveReadLow) {
  make_low(5);
  make_low(6);
  doubt();
  EXPECT_FALSE(stands(5) || stands(6));
  EXPECT_TRUE(stands(4) && stands(7));
  EXPECT_NE(state.doubtful.find("2 laterals are low by the crop alone"), std::string::npos)
      << state.doubtful;
}

TEST_F(ZoneDoubts, KeepLateralsThatWereDug) {
  make_low(5);
  make_low(6);
  holes.push_back({6, 2, 0.7, 1e-4});
  doubt();
  EXPECT_TRUE(stands(5) && stands(6));
  EXPECT_EQ(state.doubtful, "");
}

TEST_F(ZoneDoubts, KeepWhatIsLowFromSomewhereOn) {
  make_low(5, 3);
  doubt();
  EXPECT_TRUE(stands(5));
}

TEST_F(ZoneDoubts, KeepFaultsThatTheGaugesBearOut) {
  make_low(5);
  state.network.change.assign(static_cast<std::size_t>(state.grid.segments()), -0.3);
  doubt();
  EXPECT_FALSE(stands(5));
  for (SegmentCondition& one : state.segments) one.told_apart = true;
  state.network.gauge_gain = 5;
  doubt();
  EXPECT_TRUE(stands(5));
}

TEST_F(ZoneDoubts, DoNotComeOfPassesAcrossTheLateralsOrOfPixels) {
  make_low(5);
  for (EvidenceDatum& datum : evidence.data) datum.heading_deg = 90;
  doubt();
  EXPECT_TRUE(stands(5));
  for (EvidenceDatum& datum : evidence.data) datum.heading_deg = 0;
  evidence.passes = false;
  doubt();
  EXPECT_TRUE(stands(5));
}

ZoneCondition condition_of(const SegmentGrid& grid, int low_row) {
  ZoneCondition condition;
  for (int i = 0; i < grid.segments(); ++i) {
    condition.estimate.r.push_back(i / grid.stations() == low_row ? 0.7 : 1.0);
    condition.estimate.r_variance.push_back(1e-4);
  }
  condition.fit.parameters.emitter = 0.03;
  return condition;
}

TEST_F(ZoneDoubts, AreWhereLayersContradictEachOther) {
  const auto segments =
      contradicted(question, state.grid, condition_of(state.grid, 5), condition_of(state.grid, 8));
  const int stations = state.grid.stations();
  ASSERT_EQ(segments.size(), static_cast<std::size_t>(2 * stations));
  EXPECT_EQ(segments.front(), 5 * stations);
  EXPECT_EQ(segments.back(), 9 * stations - 1);
  state.contradictions = {{"other", segments}};
  doubt_contradicted(state);
  EXPECT_FALSE(stands(5) || stands(8));
  EXPECT_TRUE(stands(6));
  EXPECT_TRUE(
      contradicted(question, state.grid, condition_of(state.grid, 5), condition_of(state.grid, 5))
          .empty());
}

}  // namespace
}  // namespace evendrip
