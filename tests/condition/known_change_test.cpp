// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include "dense_zone.hpp"
#include "drawn_zone.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

namespace evendrip {
namespace {

ConditionParameters parameters() {
  ConditionParameters p;
  p.own = 0.08;
  p.response = 0.6;
  return p;
}

/// A drawn zone whose crop data each see parts of two laterals.
test::DrawnZone blurred_zone() {
  test::DrawnZone zone = test::drawn_zone(parameters(), 3);
  for (CropDatum& datum : zone.crop) {
    const int next = datum.segments.front() + zone.grid.stations();
    if (next >= zone.grid.segments()) continue;
    datum.segments.push_back(next);
    datum.weights = {0.7, 0.3};
  }
  return zone;
}

/// Delivery of what two laterals lose from somewhere on, and of what all lose towards their ends.
std::vector<std::vector<double>> responses(const SegmentGrid& grid) {
  std::vector<std::vector<double>> out(
      2, std::vector<double>(static_cast<std::size_t>(grid.segments()), 0));
  for (int row = 0; row < grid.rows(); ++row)
    for (int station = 0; station < grid.stations(); ++station) {
      const auto segment = static_cast<std::size_t>(grid.segment(row, station));
      if ((row == 5 || row == 9) && station >= 4) out[0][segment] = -0.3;
      out[1][segment] = -0.02 * station;
    }
  return out;
}

std::vector<double> weights_of(const test::DrawnZone& zone) {
  std::vector<double> weights;
  for (std::size_t i = 0; i < zone.holes.size(); ++i) weights.push_back(i % 5 == 0 ? 0.2 : 0.9);
  return weights;
}

/// Generalised least squares of the data on one column, by the dense covariance.
ResponseTest least_squares(const test::DenseZone& zone, const std::vector<double>& response) {
  const Eigen::VectorXd x =
      zone.rows * Eigen::Map<const Eigen::VectorXd>(response.data(),
                                                    static_cast<Eigen::Index>(response.size()));
  const Eigen::LLT<Eigen::MatrixXd> factor(zone.covariance);
  const double information = x.dot(factor.solve(x));
  const double amount = x.dot(factor.solve(zone.data)) / information;
  // What is gained: the sum of squares before less the sum of squares after.
  const Eigen::VectorXd left = zone.data - amount * x;
  const double gain = 0.5 * (zone.data.dot(factor.solve(zone.data)) - left.dot(factor.solve(left)));
  return {amount, 1 / std::sqrt(information), gain};
}

void expect_same(const ResponseTest& found, const ResponseTest& wanted) {
  EXPECT_NEAR(found.amount, wanted.amount, 1e-8);
  EXPECT_NEAR(found.sd, wanted.sd, 1e-8);
  EXPECT_NEAR(found.gain, wanted.gain, 1e-8);
}

TEST(TestedResponses, AreGeneralisedLeastSquares) {
  const test::DrawnZone zone = blurred_zone();
  const std::vector<double> weights = weights_of(zone);
  const auto changes = responses(zone.grid);
  for (const bool with_crop : {true, false}) {
    const std::vector<CropDatum> crop = with_crop ? zone.crop : std::vector<CropDatum>{};
    const ZoneModel model(zone.grid, zone.holes, crop, zone.ranges);
    const auto tests = model.tested_responses(parameters(), changes, weights);
    ASSERT_EQ(tests.size(), changes.size());
    const test::DenseZone dense =
        test::dense_zone(zone.grid, zone.holes, crop, zone.ranges, parameters(), weights);
    for (std::size_t i = 0; i < tests.size(); ++i)
      expect_same(tests[i], least_squares(dense, changes[i]));
  }
}

TEST(TestedResponses, StandOnTopOfTheKnownChange) {
  const test::DrawnZone zone = blurred_zone();
  const auto changes = responses(zone.grid);
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  model.set_known_change(changes[0]);
  const auto tests = model.tested_responses(parameters(), changes);
  ASSERT_EQ(tests.size(), 2u);
  const test::DenseZone dense =
      test::dense_zone(zone.grid, zone.holes, zone.crop, zone.ranges, parameters(), {}, changes[0]);
  for (std::size_t i = 0; i < tests.size(); ++i)
    expect_same(tests[i], least_squares(dense, changes[i]));
  // One less of what is there already.
  model.set_known_change({});
  const auto before = model.tested_responses(parameters(), changes);
  EXPECT_NEAR(tests[0].amount, before[0].amount - 1, 1e-8);
}

TEST(TestedResponses, AgreeWithAnAmountThatIsGaussian) {
  // Of an amount of variance s^2 the likelihood is that of the covariance V + s^2 x x'.
  const test::DrawnZone zone = blurred_zone();
  const auto changes = responses(zone.grid);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto tests = model.tested_responses(parameters(), changes);
  for (std::size_t i = 0; i < tests.size(); ++i) {
    test::DenseZone dense =
        test::dense_zone(zone.grid, zone.holes, zone.crop, zone.ranges, parameters());
    const double without = dense.log_likelihood();
    const Eigen::VectorXd x =
        dense.rows * Eigen::Map<const Eigen::VectorXd>(changes[i].data(), zone.grid.segments());
    constexpr double s2 = 0.5 * 0.5;
    dense.covariance += s2 * x * x.transpose();
    const double sd2 = tests[i].sd * tests[i].sd;
    EXPECT_NEAR(tests[i].gain * s2 / (s2 + sd2) - 0.5 * std::log1p(s2 / sd2),
                dense.log_likelihood() - without, 1e-7);
  }
}

TEST(TestedResponses, TellThatTheDataDoNotSeeAChange) {
  const test::DrawnZone zone = blurred_zone();
  const ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
  // No hole lies on lateral 0.
  std::vector<double> unseen(static_cast<std::size_t>(zone.grid.segments()), 0);
  unseen[3] = -0.5;
  const auto tests = model.tested_responses(parameters(), std::vector<std::vector<double>>{unseen});
  ASSERT_EQ(tests.size(), 1u);
  EXPECT_EQ(tests[0].sd, 0);
  EXPECT_EQ(tests[0].gain, 0);
  EXPECT_THROW(model.tested_responses(parameters(), std::vector<std::vector<double>>{{0.1, 0.2}}),
               std::invalid_argument);
}

TEST(KnownChange, IsTakenFromTheDataAndAddedToR) {
  const test::DrawnZone zone = blurred_zone();
  const std::vector<double> change = responses(zone.grid)[0];
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  model.set_known_change(change);
  EXPECT_EQ(model.known_change(), change);
  test::DrawnZone taken = zone;
  for (HoleDatum& hole : taken.holes)
    hole.value -= change[static_cast<std::size_t>(zone.grid.segment(hole.row, hole.station))];
  for (CropDatum& datum : taken.crop)
    for (std::size_t k = 0; k < datum.segments.size(); ++k)
      datum.value -= parameters().response * datum.weights[k] *
                     change[static_cast<std::size_t>(datum.segments[k])];
  const auto known = model.estimate(parameters());
  const auto wanted =
      ZoneModel(taken.grid, taken.holes, taken.crop, taken.ranges).estimate(parameters());
  ASSERT_TRUE(known && wanted);
  EXPECT_NEAR(known->log_likelihood, wanted->log_likelihood, 1e-8);
  EXPECT_NEAR(known->crop_level, wanted->crop_level, 1e-8);
  for (std::size_t i = 0; i < change.size(); ++i) {
    EXPECT_NEAR(known->r[i], wanted->r[i] + change[i], 1e-8);
    EXPECT_NEAR(known->r_variance[i], wanted->r_variance[i], 1e-10);
  }
  EXPECT_THROW(model.set_known_change({1, 2}), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
