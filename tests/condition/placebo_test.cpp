// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/placebo.hpp"

#include <gtest/gtest.h>

#include "lined_zone.hpp"

namespace evendrip {
namespace {

TEST(PlaceboRank, LetsLateralsStandOutThatTheCropFollows) {
  const PlaceboRank rank = test::rank_of(true, 1);
  EXPECT_EQ(rank.layouts, 20);
  EXPECT_EQ(rank.better, 0);
  EXPECT_TRUE(rank.stands_out);
  EXPECT_GT(rank.gain, 20);
}

TEST(PlaceboRank, IsTheSameForAnyNumberOfThreadsAndKeepsBackLateralsThatTheCropIgnores) {
  const PlaceboRank rank = test::rank_of(false, 3, 1);
  EXPECT_EQ(rank.placebos, test::rank_of(false, 3, 2).placebos);
  EXPECT_FALSE(rank.stands_out);
}

TEST(PlaceboRank, SaysSoWhereThereIsTooLittleToTry) {
  const Field field = test::lined_field();
  const PlaceboRank rank =
      placebo_rank(field, 0, segment_grid(field, 0, 10), test::seen(true, 1), {}, {}, {});
  EXPECT_EQ(rank.layouts, 0);
  EXPECT_FALSE(rank.stands_out);
  EXPECT_NE(rank.told.find("no other layout"), std::string::npos);
}

}  // namespace
}  // namespace evendrip
