// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/roots_reach.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "evendrip/condition/zone_data.hpp"
#include "lined_zone.hpp"

namespace evendrip {
namespace {

class RootsReach : public ::testing::Test {
 protected:
  std::optional<ReachChoice> chosen(const CropEvidence& evidence) const {
    return choose_reach(
        grid, {}, crop_data(field, grid, evidence, {}), ranges_of(grid, 0.75),
        [&](double spacings) { return crop_data(field, grid, evidence, {}, spacings); }, {});
  }

  Field field = test::lined_field();
  SegmentGrid grid = segment_grid(field, 0, 10);
};

TEST_F(RootsReach, IsShortWhereEachRowShowsItsOwnLateral) {
  const auto choice = chosen(test::drawn_by(0));
  ASSERT_TRUE(choice);
  EXPECT_DOUBLE_EQ(choice->spacings, 0.1);
  EXPECT_GT(choice->gain, 10);
}

TEST_F(RootsReach, IsLongWhereNeighboursShareTheirWater) {
  const auto choice = chosen(test::drawn_by(1));
  ASSERT_TRUE(choice);
  EXPECT_DOUBLE_EQ(choice->spacings, 1);
}

TEST_F(RootsReach, StaysAsUsualWhereTheCropShowsThat) {
  EXPECT_FALSE(chosen(test::drawn_by(usual_roots_reach)));
}

TEST_F(RootsReach, StaysAsUsualWhereNothingFollowsTheLaterals) {
  EXPECT_FALSE(chosen(test::drawn_by(0, 0)));
}

TEST_F(RootsReach, OfTheCropKeepsNeighboursOfALowLateralFromRinging) {
  const CropEvidence sharp = test::drawn_by(0);
  const auto r_by = [&](const std::vector<CropDatum>& data) {
    const ZoneModel model(grid, {}, data, ranges_of(grid, 0.75));
    const auto fit = fit_condition(model, {});
    return model.estimate(fit->parameters)->r;
  };
  const auto rings = [&](const std::vector<double>& r) {
    const auto at = [&](int row) { return r[static_cast<std::size_t>(grid.segment(row, 3))]; };
    return (at(11) - at(14)) / (at(14) - at(12));  // over the loss of the one between
  };
  EXPECT_GT(rings(r_by(crop_data(field, grid, sharp, {}))), 0.2);
  EXPECT_LT(std::abs(rings(r_by(chosen(sharp)->data))), 0.05);
}

}  // namespace
}  // namespace evendrip
