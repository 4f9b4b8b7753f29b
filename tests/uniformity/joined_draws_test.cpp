// SPDX-License-Identifier: Apache-2.0
#include "../../src/uniformity/joined_draws.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include <boost/math/distributions/binomial.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

constexpr int many = 40'000;
constexpr auto low_quarter_at = static_cast<std::size_t>(Measure::low_quarter);

// By their definition (Lancaster 1961, J. Am. Stat. Assoc. 56:223-234): half the chance of the
// count seen is added to the chance of a more extreme one.
TEST(JoinedDraws, OfASharePlacedInTheMiddleHaveMidPLimits) {
  for (const int count : {0, 1, 4}) {
    const int n = 36;
    std::mt19937_64 stream = item_stream(7, {1});
    std::vector<double> draws = middle_share_draws(count, n - count, many, stream);
    const boost::math::binomial at_upper(n, quantile_of(draws, 0.975));
    const double fewer = count > 0 ? cdf(at_upper, count - 1) : 0;
    EXPECT_NEAR(fewer + 0.5 * pdf(at_upper, count), 0.025, 0.002) << count;
    const double lower = quantile_of(draws, 0.025);
    if (count == 0) {
      EXPECT_EQ(lower, 0);
      continue;
    }
    const boost::math::binomial at_lower(n, lower);
    EXPECT_NEAR(1 - cdf(at_lower, count) + 0.5 * pdf(at_lower, count), 0.025, 0.002) << count;
  }
}

std::vector<LevelledEmitter> runners() {
  std::mt19937_64 stream = item_stream(11, {1});
  std::vector<LevelledEmitter> list;
  for (int i = 0; i < 36; ++i) {
    const double u = static_cast<double>(stream() >> 11U) * 0x1.0p-53;
    list.push_back({0.6 + 0.5 * std::sqrt(u), 1, i % 9, i});
  }
  return list;
}

TEST(JoinedDraws, MoveTheShortfallAtEveryShareByWhatTheyMoveItAtTheShareSeen) {
  const std::vector<double> few(500, 0.03);
  const std::vector<double> some(500, 0.10);
  const auto joined = join_draws(runners(), 0.03, std::vector{few, some}, 5);
  const auto odds_of_shortfall = [&](std::size_t series, double p, std::size_t draw) {
    const double low_quarter = joined[series][low_quarter_at][draw];
    const double of_runners = low_quarter * 0.25 / (0.25 - p) * (1 - p);
    return (1 - of_runners) / of_runners;
  };
  const double ratio = odds_of_shortfall(1, 0.10, 0) / odds_of_shortfall(0, 0.03, 0);
  EXPECT_GT(ratio, 1);
  for (std::size_t b = 1; b < few.size(); ++b) {
    const double here = odds_of_shortfall(1, 0.10, b) / odds_of_shortfall(0, 0.03, b);
    EXPECT_NEAR(here, ratio, 1e-6 * ratio);
  }
}

TEST(JoinedDraws, WithoutPluggedOnesDoNotKnowTheShareSeen) {
  const std::vector<double> none(200, 0.0);
  const auto one = join_draws(runners(), 0.1, std::span(&none, 1), 5);
  const auto other = join_draws(runners(), 0, std::span(&none, 1), 5);
  for (std::size_t m = 0; m < one[0].size(); ++m) EXPECT_EQ(one[0][m], other[0][m]);
}

TEST(JoinedDraws, KeepTheLowQuarterAboveNothingBelowAQuarterPlugged) {
  const std::vector<double> some(2000, 0.2);
  auto joined = join_draws(runners(), 0.2, std::span(&some, 1), 5);
  const auto& low = joined[0][low_quarter_at];
  EXPECT_GT(*std::min_element(low.begin(), low.end()), 0);
  EXPECT_LT(*std::max_element(low.begin(), low.end()), 0.25);  // (0.25 - 0.2) / 0.25 / (1 - 0.2)
}

}  // namespace
}  // namespace evendrip
