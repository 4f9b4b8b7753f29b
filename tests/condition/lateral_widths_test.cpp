// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/lateral_widths.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "drawn_zone.hpp"
#include "evendrip/condition/plugged_holes.hpp"
#include "likelihood_slopes.hpp"

namespace evendrip {
namespace {

using test::DrawnZone;

ConditionParameters usual() {
  ConditionParameters p;
  p.own = 0.05;
  p.local = 0.04;
  p.emitter = 0.04;
  p.soil_long = 0.06;
  p.crop_error = 0.04;
  return p;
}

ZoneModel model_of(const DrawnZone& zone) {
  return {zone.grid, zone.holes, zone.crop, zone.ranges};
}

TEST(LateralWidths, OfTwoAreDeviationsTwiceAsWide) {
  const DrawnZone zone = test::drawn_zone(usual(), 1);
  ZoneModel widened = model_of(zone);
  widened.set_lateral_widths(std::vector<double>(24, 2.0));
  ConditionParameters twice = usual();
  twice.own *= 2;
  twice.local *= 2;
  const ZoneModel plain = model_of(zone);
  EXPECT_NEAR(*widened.log_likelihood(usual()), *plain.log_likelihood(twice), 1e-8);
  const auto a = widened.estimate(usual());
  const auto b = plain.estimate(twice);
  for (std::size_t i = 0; i < a->r.size(); ++i) {
    EXPECT_NEAR(a->r[i], b->r[i], 1e-10);
    EXPECT_NEAR(a->r_variance[i], b->r_variance[i], 1e-10);
  }
  widened.set_lateral_widths({});
  EXPECT_NEAR(*widened.log_likelihood(usual()), *plain.log_likelihood(usual()), 1e-8);
}

TEST(LateralWidths, HaveSlopesThatAreDifferences) {
  ZoneModel model = model_of(test::drawn_zone(usual(), 2));
  std::vector<double> widths;
  for (int i = 0; i < 24; ++i) widths.push_back(0.5 + 0.1 * i);
  model.set_lateral_widths(widths);
  test::expect_slopes(model, usual(), 5e-5);
}

TEST(LateralWidths, AreOneWhereNothingIsKnown) {
  DrawnZone zone = test::bare_zone();
  ZoneModel model = model_of(zone);
  const auto squares = model.lateral_squares(usual());
  ASSERT_TRUE(squares);
  ASSERT_EQ(squares->size(), 24U);
  for (const LateralSquares& lateral : *squares) {
    EXPECT_EQ(lateral.squares, 0);
    EXPECT_NEAR(lateral.degrees, 0, 1e-8);
  }
  const double before = *model.log_likelihood(usual());
  ASSERT_TRUE(settle_widths(model, usual()));
  EXPECT_NEAR(*model.log_likelihood(usual()), before, 1e-8);
}

TEST(LateralWidths, OfALateralThatNobodySawAreTheMean) {
  DrawnZone zone = test::drawn_zone(usual(), 4);
  const auto unseen = [&zone](int row) { return row >= 18; };
  std::erase_if(zone.crop, [&](const CropDatum& datum) {
    return unseen(datum.segments.front() / zone.grid.stations());
  });
  std::erase_if(zone.holes, [&](const HoleDatum& hole) { return unseen(hole.row); });
  for (CropDatum& datum : zone.crop)
    if (datum.segments.front() / zone.grid.stations() == 9) datum.value -= 0.4;
  ZoneModel model = model_of(zone);
  ASSERT_TRUE(settle_widths(model, usual()));
  const std::vector<double> settled = model.lateral_widths();
  EXPECT_NEAR(settled[23], 1, 0.1);
  EXPECT_LT(settled[3], 1);
  EXPECT_GT(settled[9], 1.5);
  ConditionParameters parameters = usual();
  ASSERT_TRUE(find_common_width(model, parameters));
  EXPECT_EQ(model.lateral_widths(), settled);
  ASSERT_TRUE(widen_unseen(model, parameters));
  const std::vector<double>& widened = model.lateral_widths();
  // Own parts of 0.05, one of eighteen that were seen lower by 0.4 over the response; the model
  // seeks part of it in the local part.
  const double lower = 0.4 / usual().response;
  EXPECT_NEAR(std::hypot(usual().own, usual().local) * widened[23],
              std::sqrt(0.05 * 0.05 + lower * lower / 18), 0.03);
  EXPECT_NEAR(widened[3], settled[3], 0.15);
  EXPECT_GT(widened[9], 1.5);
}

// By the midpoints of a fine grid over the logarithm of the precision that a lateral has.
TEST(LateralWidths, AreIntegratedOutWithADistributionOfThreeDegrees) {
  const DrawnZone zone = test::drawn_zone(usual(), 3);
  ZoneModel model = model_of(zone);
  EXPECT_EQ(log_over_widths(model, usual()), 0);
  ASSERT_TRUE(settle_widths(model, usual()));
  const auto laterals = *model.lateral_squares(usual());
  double wanted = 0;
  for (std::size_t i = 0; i < laterals.size(); ++i) {
    const double n = laterals[i].degrees;
    const double squares = laterals[i].squares;
    double sum = 0;
    constexpr double step = 0.002;
    for (double log_tau = -15; log_tau < 6; log_tau += step) {
      const double tau = std::exp(log_tau);
      // Gamma density of tau with shape and rate 1.5, times tau for the step in its logarithm.
      const double before = 1.5 * std::log(1.5) - std::lgamma(1.5) + 1.5 * log_tau - 1.5 * tau;
      sum += step * std::exp(before + n / 2 * log_tau - tau * squares / 2);
    }
    const double width = model.lateral_widths()[i];
    wanted += std::log(sum) + n * std::log(width) + squares / (2 * width * width);
  }
  EXPECT_NEAR(*log_over_widths(model, usual()), wanted, 1e-5);
}

TEST(LateralWidths, AreWideWhereALateralDiffersAndNarrowElsewhere) {
  DrawnZone zone = test::drawn_zone(usual(), 3);
  for (CropDatum& datum : zone.crop)
    if (datum.segments.front() / zone.grid.stations() == 9) datum.value -= 0.4;
  ZoneModel model = model_of(zone);
  const auto squares = *model.lateral_squares(usual());
  for (const LateralSquares& lateral : squares) {
    EXPECT_GT(lateral.degrees, 1);
    EXPECT_LT(lateral.degrees, 1 + zone.grid.stations());
  }
  const double likelihood = *model.log_likelihood(usual());
  ASSERT_TRUE(settle_widths(model, usual()));
  EXPECT_GT(*model.log_likelihood(usual()), likelihood);
  const std::vector<double>& widths = model.lateral_widths();
  EXPECT_EQ(std::max_element(widths.begin(), widths.end()) - widths.begin(), 9);
  EXPECT_GT(widths[9], 1.5);
  EXPECT_LT(widths[20], 1);
}

TEST(LateralWidths, MustBeOneForEachLateralAboveZero) {
  ZoneModel model = model_of(test::drawn_zone(usual(), 1));
  EXPECT_THROW(model.set_lateral_widths({1, 1}), std::invalid_argument);
  EXPECT_THROW(model.set_lateral_widths(std::vector<double>(24, 0.0)), std::invalid_argument);
}

// Two of twelve laterals give 0.6 beyond their middle; the holes alone say so, with the step in it.
TEST(LateralWidths, LetAFewLateralsFallInAStep) {
  DrawnZone zone = test::bare_zone(test::small_grid(12, 12));
  for (const int row : {0, 2, 4, 6, 8, 10})
    for (int k = 0; k < 5; ++k) {
      const double off = 0.01 * ((row + 3 * k) % 5 - 2);
      zone.holes.push_back({row, 1 + 2 * k, (row >= 8 && k >= 2 ? 0.6 : 1) + off, 0.02 * 0.02});
    }
  ZoneModel model = model_of(zone);
  const auto found = zone_condition(model, 0.75);
  ASSERT_TRUE(found);
  const auto at = [&](int row, int station) {
    return found->estimate.r[static_cast<std::size_t>(zone.grid.segment(row, station))];
  };
  for (const int row : {8, 10}) {
    EXPECT_GT(at(row, 1), 0.95) << row;
    EXPECT_LT(at(row, 7), 0.75) << row;
  }
  for (const int row : {0, 2, 4, 6}) EXPECT_NEAR(at(row, 7), 1, 0.05) << row;
}

}  // namespace
}  // namespace evendrip
