// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/association.hpp"

#include "drawn_pairs.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

using testing::Each;
using testing::HasSubstr;
using testing::Not;

struct Sides {
  std::vector<Point> places;
  std::vector<double> discharge;
  std::vector<double> crop;
};

/// Relative discharge that neighbours share, and a crop that follows it by `slope` beside its own
/// ups and downs.
Sides drawn_sides(double slope, unsigned seed, std::size_t count = 120) {
  Sides sides;
  sides.places = drawn::places(count, 100, 100, seed);
  FieldDraws water = drawn::draws_of(sides.places, 15, 0.2, seed + 1);
  FieldDraws soil = drawn::draws_of(sides.places, 15, 0.2, seed + 2);
  sides.discharge = drawn::values_of(water.next());
  sides.crop = drawn::values_of(soil.next());
  for (std::size_t i = 0; i < count; ++i) {
    sides.discharge[i] = 1 + 0.1 * sides.discharge[i];
    sides.crop[i] = 1 + 0.05 * sides.crop[i] + slope * (sides.discharge[i] - 1);
  }
  return sides;
}

Association associated(const Sides& sides) {
  return associate(sides.places, sides.discharge, sides.crop, 18, 0.05, 3, {});
}

TEST(SpatialRegression, HoldsThePlantedSlopeWithinItsErrors) {
  int inside = 0;
  for (unsigned seed = 0; seed < 20; ++seed) {
    const Sides sides = drawn_sides(0.6, 500 + 10 * seed, 40);
    const SpatialRegression line =
        spatial_regression(sides.places, sides.discharge, sides.crop, {});
    EXPECT_TRUE(line.converged);
    if (std::abs(line.slope - 0.6) < 1.96 * line.slope_error) ++inside;
  }
  EXPECT_GE(inside, 16);  // 19 are due; fewer than 16 four times in a thousand
}

TEST(SpatialRegression, FindsErrorsThatNeighboursShareOrNone) {
  const Sides sides = drawn_sides(0.6, 91, 150);
  const SpatialRegression alike = spatial_regression(sides.places, sides.discharge, sides.crop, {});
  EXPECT_GT(alike.error_range_m, 3);
  EXPECT_GT(alike.error_share, 0.4);
  std::vector<double> noisy = drawn::noise(150, 92);
  for (std::size_t i = 0; i < noisy.size(); ++i) noisy[i] += 3 * sides.discharge[i];
  const SpatialRegression noise = spatial_regression(sides.places, sides.discharge, noisy, {});
  EXPECT_EQ(noise.error_range_m, 0);
  EXPECT_EQ(noise.error_share, 0);
  EXPECT_NEAR(noise.slope, 3, 3 * noise.slope_error);
}

TEST(Association, IsToldWithItsUncertaintyWhereThereIsOne) {
  const Association found = associated(drawn_sides(0.8, 93));
  EXPECT_LT(found.test.p, 0.05);
  EXPECT_GT(found.test.correlation, 0.3);
  EXPECT_THAT(found.verdict, HasSubstr("Where discharge is lower, the crop is lower"));
  EXPECT_THAT(found.verdict, HasSubstr("90 % limits"));
  EXPECT_THAT(found.verdict, HasSubstr("does not prove"));
}

TEST(Association, IsNotToldWhereThereIsNone) {
  int not_told = 0;
  for (unsigned seed = 0; seed < 20; ++seed) {
    const Association found = associated(drawn_sides(0, 200 + 10 * seed, 40));
    if (found.test.p <= 0.05) continue;
    ++not_told;
    EXPECT_THAT(found.verdict, HasSubstr("No association of crop with discharge can be told"));
    EXPECT_THAT(found.verdict, HasSubstr("a correlation of at least 0."));
  }
  EXPECT_GE(not_told, 16);  // 19 are due; fewer than 16 three times in a thousand
}

TEST(Association, OfLowWaterWithHighCropIsToldAsSuch) {
  const Association found = associated(drawn_sides(-0.8, 95));
  EXPECT_LT(found.test.correlation, -0.3);
  EXPECT_THAT(found.verdict, HasSubstr("Where discharge is lower, the crop is higher"));
  EXPECT_THAT(found.verdict, Not(HasSubstr("does not prove")));
}

TEST(Association, FindsThePlaceWhereBothAreLow) {
  Sides sides;
  sides.places = drawn::places(250, 100, 100, 96);
  sides.discharge = drawn::noise(250, 97);
  sides.crop = drawn::noise(250, 98);
  const auto at = [](Point p, Point middle) { return distance_m(p, middle) < 16; };
  for (std::size_t i = 0; i < 250; ++i) {
    if (at(sides.places[i], {25, 25})) sides.discharge[i] -= 1, sides.crop[i] -= 1;
    if (at(sides.places[i], {75, 75})) sides.crop[i] -= 1;  // soil: water is as elsewhere
  }
  const Association found = associate(sides.places, sides.discharge, sides.crop, 10, 0.05, 4, {});
  int middle = 0;
  int middle_found = 0;
  int wrong = 0;
  for (std::size_t i = 0; i < 250; ++i) {
    const bool both_low = found.local[i] == LocalAssociation::both_low;
    if (distance_m(sides.places[i], {25, 25}) < 10) ++middle, middle_found += both_low ? 1 : 0;
    if (distance_m(sides.places[i], {25, 25}) > 24 && both_low) ++wrong;
    EXPECT_EQ(found.local[i] != LocalAssociation::none, found.local_p[i] <= 0.05);
  }
  EXPECT_GT(middle, 5);
  EXPECT_EQ(middle_found, middle);
  EXPECT_LE(wrong, 3);
  EXPECT_THAT(found.verdict, HasSubstr("both low at"));
}

TEST(Association, DoesNotDependOnTheNumberOfThreads) {
  const Sides sides = drawn_sides(0.5, 99);
  Work two;
  two.threads = 2;
  const Association one = associated(sides);
  const Association other = associate(sides.places, sides.discharge, sides.crop, 18, 0.05, 3, two);
  EXPECT_EQ(one.local, other.local);
  EXPECT_EQ(one.verdict, other.verdict);
  EXPECT_EQ(one.regression.slope, other.regression.slope);
}

TEST(Association, SaysPlainlyWhatTooLittleCannotTell) {
  const Sides few = drawn_sides(0.5, 100, 3);
  EXPECT_THAT(associated(few).verdict, HasSubstr("too few"));
  Sides flat = drawn_sides(0.5, 101, 30);
  flat.crop.assign(30, 1.0);
  const Association nothing = associated(flat);
  EXPECT_THAT(nothing.verdict, HasSubstr("same at every place"));
  EXPECT_THAT(nothing.local, Each(LocalAssociation::none));
  const Association hardly = associated(drawn_sides(0.5, 102, 6));
  EXPECT_FALSE(hardly.verdict.empty());
  flat.crop.pop_back();
  EXPECT_THROW(associated(flat), std::invalid_argument);
}

/// A crop that follows discharge by a slope, beside noise of its own.
Sides many_sides(std::size_t count, double slope) {
  Sides sides;
  sides.places = drawn::places(count, 1000, 1000, 71);
  sides.discharge = drawn::noise(count, 72);
  sides.crop = drawn::noise(count, 73);
  for (std::size_t i = 0; i < count; ++i)
    sides.crop[i] = 0.5 * sides.crop[i] + slope * sides.discharge[i];
  return sides;
}

TEST(SpatialRegression, TakesNoMoreThanItSays) {
  const Sides sides = many_sides(most_regression_pairs + 300, 0.4);
  const SpatialRegression line = spatial_regression(sides.places, sides.discharge, sides.crop, {});
  EXPECT_EQ(line.pairs, static_cast<int>(most_regression_pairs));
  EXPECT_NEAR(line.slope, 0.4, 3 * line.slope_error);
}

TEST(Associate, SaysInWordsWhenPairsWereThinned) {
  const Sides few = many_sides(most_regression_pairs, 0.4);
  EXPECT_TRUE(associated(few).doubts.empty());
  const Sides sides = many_sides(most_regression_pairs + 100, 0.4);
  const Association found = associated(sides);
  ASSERT_EQ(found.doubts.size(), 1U);
  EXPECT_EQ(found.doubts[0].code, "pairs_thinned");
  EXPECT_THAT(found.verdict,
              HasSubstr("Of 600 pairs of discharge and crop all are compared and 500 "
                        "tell how much crop goes with how much water"));
  EXPECT_EQ(found.test.pairs, 600);
}

}  // namespace
}  // namespace evendrip
