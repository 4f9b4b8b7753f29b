// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/neighbour_weights.hpp"

#include "drawn_places.hpp"

#include <gtest/gtest.h>

#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

std::vector<int> row_of(const NeighbourWeights& weights, std::size_t row) {
  const auto begin = weights.neighbours.begin();
  return {begin + static_cast<std::ptrdiff_t>(weights.begins[row]),
          begin + static_cast<std::ptrdiff_t>(weights.begins[row + 1])};
}

TEST(NeighbourWeights, HoldEveryPairWithinTheDistanceOnce) {
  const std::vector<Point> places = drawn::places(300, 100, 60, 11);
  const NeighbourWeights weights = neighbours_within(places, 12, {});
  ASSERT_EQ(weights.items(), places.size());
  for (std::size_t i = 0; i < places.size(); ++i) {
    std::vector<int> expected;
    for (std::size_t j = 0; j < places.size(); ++j)
      if (j != i && distance_m(places[i], places[j]) <= 12) expected.push_back(static_cast<int>(j));
    ASSERT_EQ(row_of(weights, i), expected);
    double sum = 0;
    for (std::size_t k = weights.begins[i]; k < weights.begins[i + 1]; ++k)
      sum += weights.weights[k];
    EXPECT_NEAR(sum, expected.empty() ? 0.0 : 1.0, 1e-12);
  }
}

TEST(NeighbourWeights, CountOtherPlacesOnTheSameSpot) {
  const std::vector<Point> places = {{5, 5}, {5, 5}, {6, 5}, {50, 5}};
  const NeighbourWeights weights = neighbours_within(places, 2, {});
  EXPECT_EQ(row_of(weights, 0), (std::vector<int>{1, 2}));
  EXPECT_EQ(row_of(weights, 1), (std::vector<int>{0, 2}));
  EXPECT_TRUE(row_of(weights, 3).empty());
}

TEST(NeighbourWeights, LeaveOutWhatIsNotBeyondTheLesserDistance) {
  const std::vector<Point> places = {{0, 0}, {0, 0}, {3, 0}, {5, 0}, {9, 0}};
  const NeighbourWeights weights = neighbours_within(places, 5, {}, 3);
  EXPECT_EQ(row_of(weights, 0), (std::vector<int>{3}));
  EXPECT_EQ(row_of(weights, 4), (std::vector<int>{3}));
  EXPECT_TRUE(row_of(weights, 2).empty());
}

TEST(NeighbourWeights, DoNotDependOnTheNumberOfThreads) {
  const std::vector<Point> places = drawn::places(3000, 400, 300, 12);
  Work two;
  two.threads = 2;
  const NeighbourWeights one = neighbours_within(places, 15, {});
  const NeighbourWeights other = neighbours_within(places, 15, two);
  EXPECT_EQ(one.begins, other.begins);
  EXPECT_EQ(one.neighbours, other.neighbours);
  EXPECT_EQ(one.weights, other.weights);
}

TEST(NeighbourWeights, AreRefusedWithoutADistance) {
  EXPECT_THROW(neighbours_within(drawn::places(5, 9, 9, 13), -1, {}), std::invalid_argument);
  EXPECT_EQ(neighbours_within({}, 5, {}).items(), 0U);
}

}  // namespace
}  // namespace evendrip
