// SPDX-License-Identifier: Apache-2.0
// How often a bend is chosen, over more zones than a fast test can fit.
#include "../../src/condition/bent_choice.hpp"

#include <gtest/gtest.h>

#include "bend_trials.hpp"

namespace evendrip {
namespace {

TEST(ChooseBend, BendsForMostCropsThatTakeNoMoreThanTheyNeed) {
  const test::BendTrials trials = test::bend_trials(1, 8, true);
  EXPECT_GE(trials.bent, 6);
  EXPECT_LT(trials.bent_error, trials.straight_error);
}

TEST(ChooseBend, BendsForFewCropsThatAnswerToAllWater) {
  EXPECT_LE(test::bend_trials(1, 8, false).bent, 2);
}

}  // namespace
}  // namespace evendrip
