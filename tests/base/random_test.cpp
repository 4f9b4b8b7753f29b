// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/random.hpp"

#include <gtest/gtest.h>
#include <set>

namespace evendrip {
namespace {

TEST(ItemSeed, DiffersForEachItemAndForTheOrderOfIndices) {
  std::set<std::uint64_t> seeds;
  for (std::uint64_t i = 0; i < 100; ++i) {
    for (std::uint64_t j = 0; j < 100; ++j) seeds.insert(item_seed(7, {i, j}));
  }
  EXPECT_EQ(seeds.size(), 10000U);
}

TEST(ItemSeed, DependsOnNothingButItsArguments) {
  EXPECT_EQ(item_seed(1, {2, 3}), item_seed(1, {2, 3}));
  EXPECT_NE(item_seed(1, {2, 3}), item_seed(2, {2, 3}));
}

// First output of the published SplitMix64 for state 0 (reference code of Vigna, public domain;
// from memory): 0xe220a8397b1dcdaf.
TEST(ItemSeed, MixesAsThePublishedSplitMix64) {
  EXPECT_EQ(item_seed(0, {}), 0xe220a8397b1dcdafULL);
}

TEST(ItemStream, RepeatsItself) {
  auto a = item_stream(5, {1});
  auto b = item_stream(5, {1});
  EXPECT_EQ(a(), b());
}

}  // namespace
}  // namespace evendrip
