// SPDX-License-Identifier: Apache-2.0
// How many independent pairs the pairs of a correlation are worth. The size of the test over many
// kinds of fields stands in effective_pairs_slow_test.cpp.
#include "evendrip/crop/association.hpp"

#include "drawn_pairs.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numeric>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

TEST(ModifiedTTest, GivesFewFalseAlarmsWhereThePlainTestGivesMany) {
  const drawn::Alarms alarms = drawn::alarms_of({20, 20, 0, 60}, 8, 50, 71);
  ASSERT_EQ(alarms.trials, 400);
  EXPECT_GT(alarms.plain, 60);     // 20 are due
  EXPECT_LT(alarms.modified, 36);  // once in a thousand by chance
  EXPECT_GT(alarms.modified, 6);
}

TEST(ModifiedTTest, CountsFewerPairsTheFartherLikenessReaches) {
  const std::vector<Point> places = drawn::places(100, 100, 100, 72);
  double before = 120;
  for (const double range_m : {0.0, 10.0, 40.0}) {
    FieldDraws x = drawn::draws_of(places, range_m, 0, 73);
    double sum = 0;
    for (int draw = 0; draw < 20; ++draw)
      sum += modified_t_test(places, drawn::values_of(x.next()), drawn::values_of(x.next()))
                 .effective_pairs /
             20;
    EXPECT_LT(sum, 0.9 * before);
    before = sum;
  }
}

TEST(ModifiedTTest, CountsEveryPairOfNoise) {
  const std::vector<Point> places = drawn::places(100, 100, 100, 74);
  const ModifiedTTest test = modified_t_test(places, drawn::noise(100, 75), drawn::noise(100, 76));
  EXPECT_GT(test.effective_pairs, 85);
  EXPECT_LT(test.effective_pairs, 120);
  EXPECT_NEAR(test.degrees_of_freedom, test.effective_pairs - 2, 1e-12);
  EXPECT_LT(test.lower_90, test.correlation);
  EXPECT_GT(test.upper_90, test.correlation);
}

TEST(ModifiedTTest, DoesNotDependOnUnitsOrOnWhichSideIsWhich) {
  const std::vector<Point> places = drawn::places(80, 100, 100, 77);
  FieldDraws draws = drawn::draws_of(places, 20, 0.1, 78);
  const std::vector<double> x = drawn::values_of(draws.next());
  const std::vector<double> y = drawn::values_of(draws.next());
  std::vector<double> scaled = y;
  for (double& v : scaled) v = 300 + 25 * v;
  const ModifiedTTest test = modified_t_test(places, x, y);
  const ModifiedTTest other = modified_t_test(places, scaled, x);
  EXPECT_NEAR(test.correlation, other.correlation, 1e-12);
  EXPECT_NEAR(test.effective_pairs, other.effective_pairs, 1e-8);
  EXPECT_NEAR(test.p, other.p, 1e-10);
}

TEST(ModifiedTTest, TellsNothingOfAConstantAndAllOfAnEqual) {
  const std::vector<Point> places = drawn::places(30, 100, 100, 79);
  const std::vector<double> x = drawn::noise(30, 80);
  EXPECT_EQ(modified_t_test(places, x, std::vector<double>(30, 2.0)).p, 1);
  EXPECT_NEAR(modified_t_test(places, x, x).correlation, 1, 1e-12);
  EXPECT_LT(modified_t_test(places, x, x).p, 1e-12);
  EXPECT_EQ(modified_t_test(std::vector<Point>(30), x, drawn::noise(30, 81)).pairs, 30);
}

TEST(ModifiedTTest, RefusesWhatHasNoCorrelation) {
  const std::vector<Point> places = drawn::places(5, 100, 100, 82);
  const std::vector<double> x = {1, 2, 3, 4, std::numeric_limits<double>::quiet_NaN()};
  EXPECT_THROW(modified_t_test(places, x, drawn::noise(5, 83)), std::invalid_argument);
  EXPECT_THROW(modified_t_test(places, drawn::noise(4, 84), drawn::noise(5, 83)),
               std::invalid_argument);
  EXPECT_THROW(modified_t_test(drawn::places(3, 9, 9, 1), drawn::noise(3, 2), drawn::noise(3, 3)),
               std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
