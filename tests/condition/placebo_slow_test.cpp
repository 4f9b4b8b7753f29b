// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/placebo.hpp"

#include <gtest/gtest.h>

#include "lined_zone.hpp"

namespace evendrip {
namespace {

TEST(PlaceboRank, KeepsLateralsBackInNineOfTenCropsOfSoilAlone) {
  int out = 0;
  for (std::uint64_t seed = 1; seed <= 40; ++seed)
    out += test::rank_of(false, seed, 2).stands_out ? 1 : 0;
  // Two of 21 ranks stand out: 0.095 by chance. 9 or more of 40 have a chance of 2 %.
  EXPECT_LE(out, 8);
}

}  // namespace
}  // namespace evendrip
