// SPDX-License-Identifier: Apache-2.0
#include "../../src/crop/periodogram.hpp"

#include "drawn_places.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

std::vector<double> uneven(std::size_t count) {
  std::vector<double> at;
  std::mt19937_64 stream = item_stream(5, {5});
  for (std::size_t i = 0; i < count; ++i)
    at.push_back(static_cast<double>(i) + 0.8 * drawn::share(stream));
  return at;
}

std::vector<double> wave_at(const std::vector<double>& at, double width_m) {
  std::vector<double> values;
  for (const double x : at)
    values.push_back(3 * std::cos(2 * std::numbers::pi * x / width_m) +
                     4 * std::sin(2 * std::numbers::pi * x / width_m));
  return values;
}

TEST(Periodogram, HasTheWaveThatIsThere) {
  const std::vector<double> at = uneven(120);
  const std::vector<double> values = wave_at(at, 9);
  const Periodogram power(at, values);
  const Periodogram::Wave wave = power.wave(1 / 9.0);
  EXPECT_NEAR(wave.cosine, 3, 1e-9);
  EXPECT_NEAR(wave.sine, 4, 1e-9);
  EXPECT_NEAR(wave.amplitude(), 5, 1e-9);
  double squares = 0;
  for (const double v : values) squares += v * v;
  EXPECT_NEAR(wave.explained, squares, 1e-9 * squares);
  EXPECT_NEAR(power.without(1 / 9.0, 0.4).wave(1 / 9.0).amplitude(), 0, 1e-9);
}

TEST(Periodogram, FindsAPeriodThatFallsBetweenTheFrequenciesTried) {
  const std::vector<double> at = uneven(120);
  std::vector<double> values = wave_at(at, 9.3);
  const std::vector<double> noise = drawn::noise(120, 6);
  for (std::size_t i = 0; i < values.size(); ++i) values[i] += 12 * (noise[i] - 0.5);
  const Periodogram power(at, without_parabola(at, values));
  const Periodogram::Peak peak = power.strongest(6.5 / power.span_m(), 0.4);
  EXPECT_LT(peak.p, 0.001);
  EXPECT_NEAR(1 / peak.per_m, 9.3, 0.15);
}

TEST(Periodogram, GivesChanceEvenlySpreadInNoise) {
  int low = 0;
  int alarms = 0;
  for (std::uint64_t seed = 0; seed < 200; ++seed) {
    const std::vector<double> at = uneven(120);
    const Periodogram power(at, without_parabola(at, drawn::noise(120, 1000 + seed)));
    if (power.chance(0.2, 0.4) <= 0.1) ++low;
    if (power.strongest(6.5 / power.span_m(), 0.4).p <= 0.05) ++alarms;
  }
  EXPECT_NEAR(low, 20, 14);  // 3.3 binomial errors
  EXPECT_LE(alarms, 20);     // 10 are due at most: one in a thousand
  EXPECT_GE(alarms, 1);
}

TEST(Periodogram, FindsNothingInOneOddPlaceOrTooLittle) {
  const std::vector<double> at = uneven(120);
  std::vector<double> values = drawn::noise(120, 7);
  values[40] -= 8;
  const Periodogram power(at, without_parabola(at, values));
  EXPECT_GT(power.strongest(6.5 / power.span_m(), 0.4).p, 0.05);
  EXPECT_EQ(Periodogram(uneven(10), drawn::noise(10, 8)).strongest(0.1, 0.4).p, 1);
  EXPECT_EQ(Periodogram({}, {}).span_m(), 0);
  EXPECT_THROW(Periodogram(uneven(10), drawn::noise(9, 8)), std::invalid_argument);
}

TEST(WithoutParabola, LeavesNothingOfOneAndAllOfWhatIsBeside) {
  const std::vector<double> at = uneven(50);
  std::vector<double> values;
  for (const double x : at) values.push_back(5 + 0.3 * x - 0.02 * x * x);
  for (const double rest : without_parabola(at, values)) EXPECT_NEAR(rest, 0, 1e-9);
  EXPECT_TRUE(without_parabola({}, {}).empty());
}

}  // namespace
}  // namespace evendrip
