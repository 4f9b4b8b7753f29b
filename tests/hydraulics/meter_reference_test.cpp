// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/meter.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

// Warrick & Shani 1996, J. Irrig. Drain. Eng. 122(5):296-300, abstract: mean discharge in the soil
// over design discharge in one field, emitters of 1, 2 and 4 L/h.
TEST(InSoilRatioReference, IsThatOfThePublishedField) {
  EXPECT_DOUBLE_EQ(in_soil_ratio(1).value, 0.905);
  EXPECT_DOUBLE_EQ(in_soil_ratio(2).value, 0.825);
  EXPECT_DOUBLE_EQ(in_soil_ratio(4).value, 0.704);
}

// Q/Qref = (P/Pref)^x (common practice, from memory). Worked example: x 0.5, pressure down 8 %:
// 95.9 % of the flow is expected; 88 % measured leaves 8.3 % that pressure does not explain
// (0.88/0.9592 = 0.9175).
TEST(CorrectedFlowReference, LeavesWhatPressureDoesNotExplain) {
  const double expected = corrected_flow(100, 100, 92, 0.5);
  EXPECT_NEAR(expected, 95.9, 0.05);
  EXPECT_NEAR(100 * (1 - 88 / expected), 8.3, 0.05);
}

}  // namespace
}  // namespace evendrip
