// SPDX-License-Identifier: Apache-2.0
#include "../../src/uniformity/shapes_of_runners.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

#include "evendrip/base/random.hpp"
#include "evendrip/uniformity/plugging.hpp"
#include "evendrip/uniformity/uniformity.hpp"

namespace evendrip {
namespace {

std::vector<Runners::Emitter> emitters(int n, int laterals) {
  std::mt19937_64 stream = item_stream(3, {static_cast<std::uint64_t>(n)});
  std::vector<Runners::Emitter> list;
  for (int i = 0; i < n; ++i) {
    const double u = static_cast<double>(stream() >> 11U) * 0x1.0p-53;
    list.push_back({0.3 + u * u, 1, i % laterals});
  }
  return list;
}

std::vector<double> discharges(const std::vector<Runners::Emitter>& list) {
  std::vector<double> q;
  for (const auto& e : list) q.push_back(e.discharge);
  return q;
}

TEST(ShapesOfRunners, WithoutPluggedOnesAreTheMeasures) {
  const auto list = emitters(26, 4);
  Runners runners;
  runners.assign(list, 4);
  const std::vector<double> q = discharges(list);
  EXPECT_NEAR(std::exp(runners.log_value(Shape::mean, 0)), mean_of(q), 1e-12);
  EXPECT_NEAR(std::exp(runners.log_value(Shape::variation, 0)), coefficient_of_variation(q), 1e-12);
  EXPECT_NEAR(std::exp(runners.log_value(Shape::deviation, 0)), 1 - christiansen_coefficient(q),
              1e-12);
  EXPECT_NEAR(std::exp(runners.log_value(Shape::shortfall, 0)), 1 - low_quarter_uniformity(q),
              1e-12);
}

TEST(ShapesOfRunners, JoinedWithAPluggedShareGiveTheMeasuresOfTheWhole) {
  const auto list = emitters(18, 3);
  Runners runners;
  runners.assign(list, 3);
  std::vector<double> whole = discharges(list);
  whole.insert(whole.end(), 2, 0.0);
  const double p = 0.1;
  const double deviation = std::exp(runners.log_value(Shape::deviation, p));
  EXPECT_NEAR(1 - p - (1 - p) * deviation, christiansen_coefficient(whole), 1e-12);
  const double shortfall = std::exp(runners.log_value(Shape::shortfall, p));
  EXPECT_NEAR((0.25 - p) / 0.25 * (1 - shortfall) / (1 - p), low_quarter_uniformity(whole), 1e-12);
}

/// Standard error from leaving out each emitter in turn: an independent way to the same figure.
double jackknife_error(const std::vector<Runners::Emitter>& list, Shape shape, double p) {
  std::vector<double> values;
  double mean = 0;
  for (std::size_t i = 0; i < list.size(); ++i) {
    auto rest = list;
    rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(i));
    Runners runners;
    runners.assign(rest, 1);
    values.push_back(runners.log_value(shape, p));
    mean += values.back() / static_cast<double>(list.size());
  }
  double squares = 0;
  for (const double v : values) squares += (v - mean) * (v - mean);
  const auto n = static_cast<double>(list.size());
  return std::sqrt(squares * (n - 1) / n);
}

TEST(ShapesOfRunners, HaveTheStandardErrorsOfTheJackknife) {
  const auto list = emitters(600, 1);
  Runners runners;
  runners.assign(list, 1);
  for (const Shape shape : {Shape::mean, Shape::variation, Shape::deviation, Shape::shortfall}) {
    for (const double p : {0.0, 0.08}) {
      const double error = jackknife_error(list, shape, p);
      EXPECT_NEAR(runners.evaluate(shape, p).standard_error, error, 0.02 * error)
          << static_cast<int>(shape) << " at " << p;
    }
  }
}

TEST(ShapesOfRunners, SeeLateralsThatDiffer) {
  auto list = emitters(60, 6);
  for (auto& e : list) e.discharge = 1 + 0.2 * e.lateral + 0.01 * e.discharge;
  Runners runners;
  runners.assign(list, 6);
  const ShapeValue mean = runners.evaluate(Shape::mean, 0);
  // Of lateral means 1.0 to 2.0: sd 0.374, over the root of six laterals, over the mean 1.5.
  EXPECT_NEAR(mean.between_laterals, 0.374 / std::sqrt(6.0) / 1.5, 2e-3);
  EXPECT_EQ(mean.standard_error, mean.between_laterals);
}

TEST(ShapesOfRunners, CountAWeightOfTwoAsTwoEmitters) {
  auto list = emitters(12, 2);
  auto doubled = list;
  doubled.push_back(list[4]);
  list[4].weight = 2;
  Runners weighted;
  Runners counted;
  weighted.assign(list, 2);
  counted.assign(doubled, 2);
  for (const Shape shape : {Shape::mean, Shape::deviation, Shape::shortfall}) {
    EXPECT_NEAR(weighted.log_value(shape, 0.05), counted.log_value(shape, 0.05), 1e-12);
  }
}

TEST(ShapesOfRunners, OfEmittersAllAlikeHaveNoError) {
  const std::vector<Runners::Emitter> list(8, {1.2, 1, 0});
  Runners runners;
  runners.assign(list, 1);
  for (const Shape shape : {Shape::variation, Shape::deviation, Shape::shortfall}) {
    EXPECT_EQ(runners.evaluate(shape, 0).log_value, lowest_log);
    EXPECT_EQ(runners.evaluate(shape, 0).standard_error, 0);
  }
}

}  // namespace
}  // namespace evendrip
