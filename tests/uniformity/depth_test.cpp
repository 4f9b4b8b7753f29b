// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/depth.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <limits>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

const DepthFactor& factor_of(const DepthResult& result, double served, DepthModel model) {
  const auto found = std::find_if(result.factors.begin(), result.factors.end(), [&](const auto& f) {
    return f.served_frac == served && f.model == model;
  });
  if (found == result.factors.end()) throw std::logic_error("no such factor");
  return *found;
}

std::vector<double> drawn_discharges(std::size_t n, double cv) {
  std::mt19937_64 stream(9);
  std::normal_distribution<double> normal(2, 2 * cv);
  std::vector<double> discharges(n);
  for (double& q : discharges) q = std::max(0.0, normal(stream));
  return discharges;
}

TEST(DepthFactor, OfTenEmittersByHand) {
  // Relative discharges 0.55, 0.65 ... 1.45: nine of ten reach 0.65.
  std::vector<double> discharges;
  for (int i = 0; i < 10; ++i) discharges.push_back(0.55 + 0.1 * i);
  DepthOptions options;
  options.served_frac = {0.9};
  options.season_need_mm = 600;
  options.area_ha = 2;
  const DepthResult result = depth_result(discharges, {}, options);
  ASSERT_TRUE(result.computed);
  const DepthFactor& factor = factor_of(result, 0.9, DepthModel::empirical);
  ASSERT_TRUE(factor.possible);
  EXPECT_NEAR(factor.factor, 1 / 0.65, 1e-12);
  EXPECT_NEAR(factor.short_share_frac, 0.1, 1e-12);
  EXPECT_NEAR(factor.deficit_frac, 0.1 * (1 - 0.55 / 0.65), 1e-12);
  EXPECT_NEAR(factor.excess_frac, factor.factor - 1 + factor.deficit_frac, 1e-12);
  EXPECT_NEAR(*factor.gross_mm, 600 / 0.65, 1e-9);
  EXPECT_NEAR(*factor.excess_mm, 600 * factor.excess_frac, 1e-9);
  // 1 mm on 1 ha is 10 m3.
  EXPECT_NEAR(*factor.excess_m3, 10 * 2 * *factor.excess_mm, 1e-9);
  EXPECT_NEAR(*factor.deficit_mm, 600 * factor.deficit_frac, 1e-9);
}

TEST(DepthFactor, KeepsTheBalanceOfWaterInEveryModel) {
  std::vector<double> discharges = drawn_discharges(60, 0.25);
  discharges[3] = 0;
  discharges[17] = 0;
  const DepthResult result = depth_result(discharges, {});
  ASSERT_TRUE(result.computed);
  for (const auto* factors : {&result.uncorrected, &result.factors}) {
    for (const DepthFactor& f : *factors) {
      if (!f.possible) continue;
      EXPECT_NEAR(f.factor - 1, f.excess_frac - f.deficit_frac, 1e-12) << to_text(f.model);
      EXPECT_GE(f.excess_frac, 0);
      EXPECT_GE(f.deficit_frac, 0);
    }
  }
}

TEST(DepthFactor, ServesTheShareThatItPromises) {
  const DepthResult result = depth_result(drawn_discharges(60, 0.25), {});
  for (const DepthFactor& f : result.factors) {
    ASSERT_TRUE(f.possible);
    EXPECT_LE(f.short_share_frac, 1 - f.served_frac + 1e-9) << to_text(f.model);
    if (f.model != DepthModel::empirical) {
      EXPECT_NEAR(f.short_share_frac, 1 - f.served_frac, 1e-12);
    }
  }
}

TEST(DepthFactor, OfManyNormalEmittersAgreesInAllModels) {
  const DepthResult result = depth_result(drawn_discharges(40'000, 0.15), {});
  for (const double served : {0.80, 0.90, 0.95}) {
    const DepthFactor& normal = factor_of(result, served, DepthModel::normal);
    for (const DepthModel model : {DepthModel::two_part, DepthModel::empirical}) {
      const DepthFactor& other = factor_of(result, served, model);
      EXPECT_NEAR(other.factor, normal.factor, 0.005);
      EXPECT_NEAR(other.excess_frac, normal.excess_frac, 0.005);
      EXPECT_NEAR(other.deficit_frac, normal.deficit_frac, 0.002);
    }
  }
}

TEST(DepthFactor, GrowsWithTheShareServed) {
  const DepthResult result = depth_result(drawn_discharges(50, 0.2), {});
  for (const DepthModel model : {DepthModel::normal, DepthModel::two_part, DepthModel::empirical}) {
    EXPECT_LT(factor_of(result, 0.80, model).factor, factor_of(result, 0.90, model).factor);
    EXPECT_LT(factor_of(result, 0.90, model).factor, factor_of(result, 0.95, model).factor);
  }
}

TEST(DepthFactor, OfPluggedEmittersSaysThatNoDepthServesTheirPlants) {
  std::vector<double> discharges(16, 1.0);
  discharges[0] = 0;
  const DepthResult result = depth_result(discharges, {});
  ASSERT_TRUE(result.computed);
  EXPECT_NEAR(result.plugged_frac, 1.0 / 16, 1e-12);
  for (const DepthModel model : {DepthModel::two_part, DepthModel::empirical}) {
    const DepthFactor& factor = factor_of(result, 0.95, model);
    EXPECT_FALSE(factor.possible);
    EXPECT_EQ(factor.why_not, "6.25 % of the plants get no water: no depth serves 95 %");
    // Fifteen that run alike need 15/16 of the mean.
    EXPECT_NEAR(factor_of(result, 0.90, model).factor, 15.0 / 16, 1e-12);
    EXPECT_NEAR(factor_of(result, 0.90, model).short_share_frac, 1.0 / 16, 1e-12);
  }
}

TEST(DepthFactor, OfTheNormalDistributionCanBeImpossible) {
  std::vector<double> discharges(20, 0.1);
  discharges[0] = 5;
  const DepthResult result = depth_result(discharges, {});
  const DepthFactor& factor = factor_of(result, 0.95, DepthModel::normal);
  EXPECT_FALSE(factor.possible);
  EXPECT_THAT(factor.why_not, HasSubstr("vary so much"));
  EXPECT_TRUE(factor_of(result, 0.95, DepthModel::empirical).possible);
}

TEST(DepthFactor, OfEqualEmittersIsOne) {
  const DepthResult result = depth_result(std::vector<double>(8, 1.3), {});
  ASSERT_TRUE(result.computed);
  EXPECT_EQ(result.cv, 0);
  for (const DepthFactor& f : result.factors) {
    EXPECT_NEAR(f.factor, 1, 1e-12);
    EXPECT_NEAR(f.excess_frac, 0, 1e-12);
    EXPECT_NEAR(f.short_share_frac, 0, 1e-12);
  }
}

TEST(DepthResult, WeighsEmittersByTheAreaTheyStandFor) {
  const std::vector<double> discharges = {1, 2, 3};
  const std::vector<double> areas = {1, 2, 1};
  const std::vector<double> repeated = {1, 2, 2, 3};
  DepthOptions options;
  options.served_frac = {0.6, 0.8};
  const DepthResult weighted = depth_result(discharges, areas, options);
  const DepthResult plain = depth_result(repeated, {}, options);
  EXPECT_DOUBLE_EQ(weighted.mean_lph, plain.mean_lph);
  for (const double served : options.served_frac) {
    const DepthFactor& a = factor_of(weighted, served, DepthModel::empirical);
    const DepthFactor& b = factor_of(plain, served, DepthModel::empirical);
    EXPECT_DOUBLE_EQ(a.factor, b.factor);
    EXPECT_DOUBLE_EQ(a.excess_frac, b.excess_frac);
    EXPECT_DOUBLE_EQ(a.short_share_frac, b.short_share_frac);
  }
  ASSERT_EQ(weighted.sorted.size(), 3U);
  EXPECT_DOUBLE_EQ(weighted.sorted[1].share_from_frac, 0.25);
  EXPECT_DOUBLE_EQ(weighted.sorted[1].share_to_frac, 0.75);
}

TEST(DepthResult, SortsDischargesOverTheWholeArea) {
  std::vector<double> discharges = drawn_discharges(37, 0.3);
  const DepthResult result = depth_result(discharges, {});
  ASSERT_EQ(result.sorted.size(), 37U);
  EXPECT_EQ(result.sorted.front().share_from_frac, 0);
  EXPECT_EQ(result.sorted.back().share_to_frac, 1);
  double area = 0;
  for (std::size_t i = 0; i < result.sorted.size(); ++i) {
    const SortedDischarge& step = result.sorted[i];
    area += (step.share_to_frac - step.share_from_frac) * step.relative;
    EXPECT_GE(step.normal_relative, 0);
    if (i == 0) continue;
    EXPECT_EQ(step.share_from_frac, result.sorted[i - 1].share_to_frac);
    EXPECT_GE(step.discharge_lph, result.sorted[i - 1].discharge_lph);
    EXPECT_GE(step.normal_relative, result.sorted[i - 1].normal_relative);
  }
  // The relative discharges over the area are its mean: 1.
  EXPECT_NEAR(area, 1, 1e-12);
}

TEST(DepthResult, TellsThatFewEmittersCannotShowWhatServesNearlyAll) {
  EXPECT_THAT(depth_result(drawn_discharges(12, 0.2), {}).remark,
              HasSubstr("12 emitters are too few"));
  EXPECT_THAT(depth_result(drawn_discharges(20, 0.2), {}).remark, IsEmpty());
}

TEST(DepthResult, LeavesDepthsOutWithoutANeed) {
  const DepthResult result = depth_result(drawn_discharges(20, 0.2), {});
  EXPECT_FALSE(result.factors[0].gross_mm.has_value());
  EXPECT_FALSE(result.factors[0].excess_m3.has_value());
}

TEST(DepthResult, OfBadInputIsAStatementNeverNan) {
  const auto why_not = [](const std::vector<double>& q) { return depth_result(q, {}).why_not; };
  EXPECT_EQ(why_not({}), "no emitter has a discharge");
  EXPECT_EQ(why_not({1, -1}), "a discharge is negative or not finite");
  EXPECT_EQ(why_not({1, nan}), "a discharge is negative or not finite");
  EXPECT_EQ(why_not({0, 0, 0}), "no emitter gives water: no depth serves any plant");
  const std::vector<double> two = {1, 2};
  EXPECT_EQ(depth_result(two, std::vector<double>{1, 0}).why_not,
            "the area of an emitter is not above 0");
  const DepthResult one = depth_result(std::vector<double>{1.1}, {});
  ASSERT_TRUE(one.computed);
  EXPECT_THAT(one.remark, HasSubstr("one emitter"));
  for (const DepthFactor& f : one.factors) EXPECT_EQ(f.factor, 1);
}

TEST(DepthResult, OfMostlyPluggedSamplesStaysFinite) {
  std::vector<double> discharges(10, 0.0);
  discharges[0] = 1.2;
  const DepthResult result = depth_result(discharges, {});
  ASSERT_TRUE(result.computed);
  for (const auto* factors : {&result.uncorrected, &result.factors}) {
    for (const DepthFactor& f : *factors) {
      EXPECT_TRUE(std::isfinite(f.factor + f.excess_frac + f.deficit_frac + f.short_share_frac));
      EXPECT_TRUE(f.possible || !f.why_not.empty());
    }
  }
}

TEST(DepthResult, RefusesOptionsThatCannotBe) {
  const std::vector<double> sample = {1, 2};
  EXPECT_THROW(depth_result(sample, std::vector<double>{1}), std::invalid_argument);
  DepthOptions options;
  options.served_frac = {1.0};
  EXPECT_THROW(depth_result(sample, {}, options), std::invalid_argument);
  options = {};
  options.season_need_mm = nan;
  EXPECT_THROW(depth_result(sample, {}, options), std::invalid_argument);
}

TEST(RunTimeFactors, OfNoUniformityAreNone) {
  EXPECT_FALSE(low_quarter_run_time_factor(0).has_value());
  EXPECT_FALSE(landscape_run_time_factor(nan).has_value());
  EXPECT_FALSE(normal_depth_factor(0.7, 0.95).has_value());
  EXPECT_FALSE(normal_depth_factor(-0.1, 0.95).has_value());
  EXPECT_FALSE(normal_depth_factor(0.1, 1).has_value());
  EXPECT_EQ(*low_quarter_run_time_factor(0.8), 1.25);
  EXPECT_NEAR(*landscape_run_time_factor(0.8), 1 / 0.88, 1e-12);
}

}  // namespace
}  // namespace evendrip
