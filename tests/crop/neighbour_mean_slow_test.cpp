// SPDX-License-Identifier: Apache-2.0
// How often limits hold the truth, over kinds of likeness, numbers and bad values.
#include "ordered_series.hpp"

#include <gtest/gtest.h>

#include <string>
#include <tuple>
#include <vector>

namespace evendrip {
namespace {

using invented::Likeness;
using invented::Promise;
using invented::promise_kept;

constexpr int trials = 2000;

void record(const std::string& name, const Promise& kept) {
  testing::Test::RecordProperty(name + "_held", std::to_string(kept.held));
  testing::Test::RecordProperty(name + "_width", std::to_string(kept.median_width));
}

TEST(MeanOfNeighboursInManySeries, HoldsTheTruthAboutAsOftenAsItSays) {
  for (const double likeness : {0.0, 0.5, 0.8})
    for (const int count : {20, 40, 100}) {
      const Promise kept = promise_kept({likeness, 1}, count, {}, 0, trials);
      const std::string name = "likeness_" + std::to_string(static_cast<int>(10 * likeness)) +
                               "_of_" + std::to_string(count);
      record(name, kept);
      EXPECT_GT(kept.held, 0.86) << name;
      EXPECT_LT(kept.held, 0.97) << name;
    }
}

/// Such values are worth two or three independent ones: the limits cannot hold what they say.
TEST(MeanOfNeighboursInManySeries, HoldsItLessOftenOfValuesThatAreAlikeThroughout) {
  for (const auto& [likeness, count, least] :
       {std::tuple{0.9, 20, 0.79}, std::tuple{0.95, 40, 0.81}, std::tuple{0.95, 20, 0.65}}) {
    const Promise kept = promise_kept({likeness, 1}, count, {}, 0, trials);
    const std::string name = "throughout_" + std::to_string(static_cast<int>(100 * likeness)) +
                             "_of_" + std::to_string(count);
    record(name, kept);
    EXPECT_GT(kept.held, least) << name;
    EXPECT_LT(kept.held, 0.97) << name;
  }
}

TEST(MeanOfNeighboursInManySeries, HoldsItWhereHalfIsNoise) {
  for (const double likeness : {0.5, 0.8}) {
    const Promise kept = promise_kept({likeness, 0.5}, 40, {}, 0, trials);
    record("noisy_" + std::to_string(static_cast<int>(10 * likeness)), kept);
    EXPECT_GT(kept.held, 0.86) << likeness;
  }
}

TEST(MeanOfNeighboursInManySeries, HoldsItInSpiteOfBadValues) {
  for (const double by : {5.0, 10.0}) {
    const Promise single = promise_kept({0.5, 1}, 36, {5, 14, 22, 31}, by, trials);
    const Promise beside = promise_kept({0.5, 1}, 36, {14, 15, 16, 17, 18, 19}, by, trials);
    record("single_" + std::to_string(static_cast<int>(by)), single);
    record("beside_" + std::to_string(static_cast<int>(by)), beside);
    EXPECT_GT(single.held, 0.84) << by;
    EXPECT_GT(beside.held, 0.84) << by;
  }
}

}  // namespace
}  // namespace evendrip
