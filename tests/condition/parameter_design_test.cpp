// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/parameter_design.hpp"

#include "dense_zone.hpp"

#include "evendrip/base/random.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace evendrip {
namespace {

struct Designed {
  test::DrawnZone zone;
  ZoneModel model;
  ParameterDesign design;
};

Designed designed(bool with_crop, const Work& work = {}) {
  test::DrawnZone zone = test::zone_of_model({}, 3);
  if (!with_crop) zone.crop.clear();
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto fit = fit_condition(model, {});
  ParameterDesign design = parameter_design(model, *fit, {}, work);
  return {std::move(zone), std::move(model), std::move(design)};
}

TEST(ParameterDesign, HasItsModeAndItsCornersWithWeightsThatSumToOne) {
  const Designed with = designed(true);
  EXPECT_EQ(with.design.points.size(), 17u);
  EXPECT_EQ(with.design.weights.size(), 17u);
  EXPECT_NEAR(std::accumulate(with.design.weights.begin(), with.design.weights.end(), 0.0), 1,
              1e-12);
  for (const double weight : with.design.weights) EXPECT_GT(weight, 0);
}

TEST(ParameterDesign, LeavesAloneWhatTheDataDoNotSpeakOf) {
  const Designed alone = designed(false);
  for (const ConditionParameters& point : alone.design.points) {
    EXPECT_EQ(point.soil_long, alone.design.points[0].soil_long);
    EXPECT_EQ(point.response, alone.design.points[0].response);
  }
}

TEST(ParameterDesign, SpreadsAsThePosteriorDoes) {
  // Of the logarithm of the response: no narrower than the others being known would have it (the
  // prior's information is 4), and not wider out of all reason.
  ConditionParameters truth;
  truth.own = 0.15;
  const test::DrawnZone zone = test::zone_of_model(truth, 5);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto fit = fit_condition(model, {});
  ASSERT_TRUE(fit);
  const ParameterDesign design = parameter_design(model, *fit, {});
  double mean = 0;
  double square = 0;
  for (std::size_t i = 0; i < design.points.size(); ++i) {
    const double v = std::log(design.points[i].response);
    mean += design.weights[i] * v;
    square += design.weights[i] * v * v;
  }
  const double sd = std::sqrt(square - mean * mean);
  ConditionParameters p = design.points[0];
  const double step = 0.05;
  const auto at = [&](double by) {
    ConditionParameters moved = p;
    moved.response *= std::exp(by);
    return *model.log_likelihood(moved);
  };
  const double alone = 1 / std::sqrt(4 - (at(step) - 2 * at(0) + at(-step)) / (step * step));
  EXPECT_GT(sd, 0.7 * alone);
  EXPECT_LT(sd, 3 * alone);
}

TEST(ParameterDesign, IsTheSameForAnyNumberOfThreads) {
  Work two;
  two.threads = 2;
  const Designed one = designed(true);
  const Designed both = designed(true, two);
  EXPECT_EQ(one.design.points, both.design.points);
  EXPECT_EQ(one.design.weights, both.design.weights);
  const auto a = mixed_estimate(one.model, one.design.points, one.design.weights, {});
  const auto b = mixed_estimate(one.model, one.design.points, one.design.weights, {}, two);
  ASSERT_TRUE(a && b);
  EXPECT_EQ(a->r, b->r);
  EXPECT_EQ(a->r_variance, b->r_variance);
}

TEST(MixedEstimate, HasTheMeanAndVarianceOfTheMixture) {
  const test::DrawnZone zone = test::drawn_zone({}, 4);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  ConditionParameters more;
  more.own = 0.2;
  more.response = 0.4;
  const std::vector<ConditionParameters> points = {{}, more};
  const std::vector<double> weights = {0.3, 0.7};
  const auto mixed = mixed_estimate(model, points, weights, {});
  const auto a = model.estimate(points[0]);
  const auto b = model.estimate(points[1]);
  ASSERT_TRUE(mixed && a && b);
  for (std::size_t i = 0; i < a->r.size(); ++i) {
    const double mean = 0.3 * a->r[i] + 0.7 * b->r[i];
    EXPECT_NEAR(mixed->r[i], mean, 1e-12);
    EXPECT_NEAR(mixed->r_variance[i],
                0.3 * (a->r_variance[i] + test::square(a->r[i] - mean)) +
                    0.7 * (b->r_variance[i] + test::square(b->r[i] - mean)),
                1e-12);
  }
  EXPECT_NEAR(mixed->level, 0.3 * a->level + 0.7 * b->level, 1e-14);
  EXPECT_FALSE(mixed_estimate(model, {}, {}, {}));
}

class MixedDraws : public ::testing::Test {
 protected:
  static ConditionParameters with_own(double own) {
    ConditionParameters p;
    p.own = own;
    return p;
  }

  const test::DrawnZone zone = test::drawn_zone({}, 4);
  const ZoneModel model{zone.grid, zone.holes, zone.crop, zone.ranges};
  const std::vector<ConditionParameters> points = {{}, with_own(0.2)};
  const std::vector<double> weights = {0.3, 0.7};
};

TEST_F(MixedDraws, AreOfEachPointAsManyAsItsWeightAsks) {
  const auto draws = mixed_draws(model, points, weights, 10, 6);
  ASSERT_EQ(draws.size(), 10U);
  const auto first = model.draws(points[0], 3, item_seed(6, {0}));
  const auto second = model.draws(points[1], 7, item_seed(6, {1}));
  EXPECT_TRUE(std::equal(first.begin(), first.end(), draws.begin()));
  EXPECT_TRUE(std::equal(second.begin(), second.end(), draws.begin() + 3));
  EXPECT_TRUE(mixed_draws(model, {}, {}, 10, 6).empty());
}

TEST_F(MixedDraws, VaryAsTheMixedEstimateSays) {
  constexpr int count = 4000;
  const auto draws = mixed_draws(model, points, weights, count, 6);
  const auto mixed = mixed_estimate(model, points, weights, {});
  ASSERT_TRUE(mixed);
  for (std::size_t i = 0; i < mixed->r.size(); i += 7) {
    double mean = 0;
    double square = 0;
    for (const auto& draw : draws) mean += draw[i] / count;
    for (const auto& draw : draws) square += test::square(draw[i] - mean) / count;
    EXPECT_NEAR(mean, mixed->r[i], 5 * std::sqrt(mixed->r_variance[i] / count));
    EXPECT_NEAR(square / mixed->r_variance[i], 1, 0.15);
  }
}

}  // namespace
}  // namespace evendrip
