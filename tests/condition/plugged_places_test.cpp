// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/plugged_places.hpp"

#include <gtest/gtest.h>

#include <Eigen/Dense>

#include <algorithm>
#include <cmath>
#include <random>
#include <vector>

#include "drawn_zone.hpp"

namespace evendrip {
namespace {

constexpr double below = 0.75;

std::size_t at(int i) {
  return static_cast<std::size_t>(i);
}

/// One that gave nothing or what is usual.
PluggedHole hole(int row, int station, bool plugged) {
  return {row, station, plugged ? 0.0 : 1.0, plugged ? 1 / below : 0, plugged ? 1e-6 : 8};
}

/// Holes on every third of 24 laterals, at the stations 1, 4, 7 and 10.
template <class Plugged>
std::vector<PluggedHole> dug(const Plugged& plugged) {
  std::vector<PluggedHole> holes;
  for (int row = 1; row < 24; row += 3)
    for (const int station : {1, 4, 7, 10})
      holes.push_back(hole(row, station, plugged(row, station)));
  return holes;
}

double beyond(const PluggedPlaces& places, const SegmentGrid& grid, int row, int station) {
  return places.beyond[at(grid.segment(row, station))].mean;
}

double matern(double ranges) {
  return (1 + std::sqrt(3.0) * ranges) * std::exp(-std::sqrt(3.0) * ranges);
}

// Logits drawn from each way of thinking before anything is dug, weighed by what the holes caught.
TEST(PluggedPlaces, AreThoseOfLogitsDrawnAndWeighed) {
  const SegmentGrid grid = test::small_grid();
  const std::vector<PluggedHole> holes = {hole(2, 1, false), hole(2, 10, true), hole(9, 4, false),
                                          hole(9, 11, true), hole(20, 5, false)};
  const std::vector<int> asked = {grid.segment(3, 10), grid.segment(9, 5), grid.segment(15, 11)};
  std::vector<int> segments;
  segments.reserve(holes.size() + asked.size());
  for (const PluggedHole& one : holes) segments.push_back(grid.segment(one.row, one.station));
  segments.insert(segments.end(), asked.begin(), asked.end());
  const auto n = static_cast<Eigen::Index>(segments.size());

  std::mt19937_64 stream(3);
  std::normal_distribution<double> normal;
  double all = 0;
  std::vector<double> shares(asked.size(), 0);
  const auto add_way = [&](double chance, double stations, double laterals, double spots) {
    Eigen::MatrixXd covariance(n, n);
    for (Eigen::Index a = 0; a < n; ++a)
      for (Eigen::Index b = 0; b < n; ++b) {
        const int one = segments[static_cast<std::size_t>(a)];
        const int other = segments[static_cast<std::size_t>(b)];
        const int rows = std::abs(one / 12 - other / 12);
        const double across = matern(1.5 * rows / (4 * 1.5));
        const double along = matern(10.0 * std::abs(one % 12 - other % 12) / 40);
        covariance(a, b) = 4 + stations * stations * along +
                           laterals * laterals * 0.5 * (across + (rows == 0 ? 1 : 0)) +
                           spots * spots * across * along;
      }
    covariance.diagonal().array() += 1e-8;  // logits of some ways are one
    const Eigen::MatrixXd root = covariance.llt().matrixL();
    const double usual = -2.33 * std::sqrt(covariance(0, 0) + 2.9);
    constexpr int draws = 300000;
    Eigen::VectorXd z(n);
    for (int draw = 0; draw < draws; ++draw) {
      for (double& one : z) one = normal(stream);
      const Eigen::VectorXd drawn = (1 + (-usual - (root * z).array()).exp()).inverse();  // shares
      double weight = chance / draws;
      for (std::size_t i = 0; i < holes.size(); ++i) {
        const double share = drawn(static_cast<Eigen::Index>(i));
        weight *= share * holes[i].if_plugged + (1 - share) * holes[i].if_not;
      }
      all += weight;
      for (std::size_t k = 0; k < asked.size(); ++k)
        shares[k] += weight * drawn(static_cast<Eigen::Index>(holes.size() + k));
    }
  };
  add_way(0.7, 0, 0, 0);
  for (const double sd : {2.0, 4.0}) {
    add_way(0.05, sd, 0, 0);
    add_way(0.05, 0, sd, 0);
    add_way(0.05, 0, 0, sd);
  }
  const PluggedPlaces found = plugged_places(grid, holes, below);
  for (std::size_t k = 0; k < asked.size(); ++k)
    EXPECT_NEAR(share_at(found, at(asked[k])), shares[k] / all, 0.06) << k;
}

TEST(PluggedPlaces, AreTheFarEndsWhereTheyAreAllPluggedThere) {
  const SegmentGrid grid = test::small_grid();
  const PluggedPlaces found =
      plugged_places(grid, dug([](int, int station) { return station == 10; }), below);
  for (const int row : {0, 8, 23}) {
    EXPECT_GT(beyond(found, grid, row, 10), 0.7) << row;
    EXPECT_GT(beyond(found, grid, row, 11), 0.4) << row;
    EXPECT_LT(beyond(found, grid, row, 1), 0.05) << row;
  }
  EXPECT_LT(found.anywhere, 0.05);
  EXPECT_LT(found.passed, 0.1);
}

TEST(PluggedPlaces, AreTheLateralThatIsPlugged) {
  const SegmentGrid grid = test::small_grid();
  const PluggedPlaces found =
      plugged_places(grid, dug([](int row, int) { return row == 10; }), below);
  EXPECT_GT(beyond(found, grid, 10, 6), 0.5);
  EXPECT_LT(beyond(found, grid, 4, 6), 0.1);
  EXPECT_LT(beyond(found, grid, 19, 6), 0.1);
}

TEST(PluggedPlaces, AreACornerOfTheZone) {
  const SegmentGrid grid = test::small_grid();
  const PluggedPlaces found = plugged_places(
      grid, dug([](int row, int station) { return row < 10 && station > 5; }), below);
  EXPECT_GT(beyond(found, grid, 4, 9), 0.5);
  EXPECT_LT(beyond(found, grid, 4, 1), 0.1);
  EXPECT_LT(beyond(found, grid, 19, 9), 0.15);
}

TEST(PluggedPlaces, AreAnywhereWhereTheyKeepNoCompany) {
  const SegmentGrid grid = test::small_grid();
  int count = 0;
  const auto holes = dug([&](int, int) { return count++ % 5 == 2; });  // 6 of 32, scattered
  const PluggedPlaces found = plugged_places(grid, holes, below);
  EXPECT_NEAR(mean_share(found), 6.0 / 32, 0.08);
  for (const KnownShare& share : found.beyond) EXPECT_LT(share.mean, 0.2);
}

TEST(PluggedPlaces, HaveOneInAHundredWhereNothingIsDug) {
  const PluggedPlaces found = plugged_places(test::small_grid(), {}, below);
  EXPECT_NEAR(found.anywhere, 0.01, 0.006);
  for (const KnownShare& share : found.beyond) EXPECT_NEAR(share.mean, 0, 1e-9);
}

TEST(PluggedPlaces, DoNotDependOnTheOrderOfHoles) {
  const SegmentGrid grid = test::small_grid();
  auto holes = dug([](int row, int station) { return row == 10 || station == 10; });
  const PluggedPlaces one = plugged_places(grid, holes, below);
  const double evidence = log_evidence_of_company(grid, holes);
  std::reverse(holes.begin(), holes.end());
  const PluggedPlaces other = plugged_places(grid, holes, below);
  EXPECT_NEAR(log_evidence_of_company(grid, holes), evidence, 1e-6);
  for (std::size_t i = 0; i < one.beyond.size(); ++i)
    EXPECT_NEAR(one.beyond[i].mean, other.beyond[i].mean, 1e-6);
}

// Mean and variance of (1 - share) x r + share x passed, both drawn.
TEST(PluggedPlaces, TakeWhatTheyLackFromDelivery) {
  PluggedPlaces places;
  places.passed = 0.2;
  places.beyond = {{0.4, 0.03}};
  const KnownShare found = delivered_at(places, 0, 0.9, 0.01);
  std::mt19937_64 stream(5);
  std::normal_distribution<double> normal;
  double sum = 0;
  double squares = 0;
  constexpr int draws = 400000;
  for (int draw = 0; draw < draws; ++draw) {
    const double share = 0.4 + std::sqrt(0.03) * normal(stream);
    const double r = 0.9 + 0.1 * normal(stream);
    const double delivered = r - share * (r - 0.2);
    sum += delivered;
    squares += delivered * delivered;
  }
  EXPECT_NEAR(found.mean, sum / draws, 1e-3);
  EXPECT_NEAR(found.variance, squares / draws - std::pow(sum / draws, 2), 2e-4);
  EXPECT_EQ(delivered_at(places, 0, 0.1, 0.01).mean, 0.1);  // gives less than a plugged one
}

TEST(PluggedPlaces, AreDrawnWithTheirMeanAndVariance) {
  PluggedPlaces places;
  places.beyond = {{0.3, 0.02}, {0.03, 0.004}, {0, 0}};
  std::vector<std::vector<double>> draws(20000, {1, 1, 1});
  draw_plugged(places, 7, draws);
  for (std::size_t k = 0; k < places.beyond.size(); ++k) {
    double sum = 0;
    double squares = 0;
    for (const auto& draw : draws) {
      sum += 1 - draw[k];
      squares += (1 - draw[k]) * (1 - draw[k]);
    }
    const double n = static_cast<double>(draws.size());
    EXPECT_NEAR(sum / n, places.beyond[k].mean, 0.004);
    EXPECT_NEAR(squares / n - sum / n * sum / n, places.beyond[k].variance, 0.001);
  }
}

TEST(PluggedPlaces, AreFoundByThousandsOfHoles) {
  const SegmentGrid grid = test::small_grid(60, 60);
  std::vector<PluggedHole> holes;
  for (int row = 0; row < 60; ++row)
    for (int station = 0; station < 60; ++station)
      holes.push_back(hole(row, station, row < 20 && station >= 40));
  const PluggedPlaces found = plugged_places(grid, holes, below);
  EXPECT_GT(beyond(found, grid, 8, 52), 0.9);
  EXPECT_LT(beyond(found, grid, 8, 20), 0.05);
  EXPECT_LT(beyond(found, grid, 45, 52), 0.05);
}

TEST(PluggedPlaces, AreShownToTheCrop) {
  const SegmentGrid grid = test::small_grid();
  CropDatum datum;
  datum.segments = {5};
  datum.weights = {1};
  datum.value = 0.6;
  ZoneModel model(grid, {}, {datum}, ranges_of(grid, 1));
  ConditionParameters parameters;
  parameters.response = 1;
  const auto told = [&] { return model.estimate(parameters).value().r[5]; };
  const double alone = told();
  PluggedPlaces places;
  places.passed = 0.2;
  places.beyond.assign(at(grid.segments()), {0.5, 0});
  show_to_crop(places, model);  // 1 - 0.5 x 0.8 = 0.6 is what it sees
  EXPECT_NEAR(told(), 1, 1e-9);
  EXPECT_LT(alone, 0.99);
  show_to_crop({}, model);
  EXPECT_NEAR(told(), alone, 1e-9);
}

TEST(PluggedPlaces, RefuseWhatIsNoCatch) {
  const SegmentGrid grid = test::small_grid();
  EXPECT_THROW(plugged_places(grid, std::vector{hole(24, 0, true)}, below), std::invalid_argument);
  EXPECT_THROW(plugged_places(grid, std::vector{PluggedHole{1, 1, 1, 0, 0}}, below),
               std::invalid_argument);
  ZoneModel model(grid, {}, {}, ranges_of(grid, 1));
  EXPECT_THROW(model.set_plugged({0.5}, 0), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
