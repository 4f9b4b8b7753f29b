// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/clogging.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace evendrip {
namespace {

constexpr double make = 0.05 * 0.05;

/// Integral over the discharge from -1 to 3, by midpoints.
template <class Of>
double integral(const Of& of) {
  constexpr double step = 1e-4;
  double sum = 0;
  for (double x = -1 + step / 2; x < 3; x += step) sum += of(x) * step;
  return sum;
}

TEST(Clogging, LeavesTheMeanOfAPlaceWhatItIs) {
  Clogging clogging;
  clogging.share = 0;
  clogging.plugging = 0.8;
  for (const double delivery : {1.1, 1.0, 0.9, 0.7, 0.5}) {
    const PlaceDelivery place{delivery, 1};
    const auto mean = [&](double x) {
      // A plugged one gives nothing below 0.
      const double density = discharge_density(clogging, place, make, x);
      const double stuck = plugged_chance(clogging, place) / clogging.plugged_below;
      return x * (x < 0 ? density - stuck : density);
    };
    EXPECT_NEAR(integral(mean), delivery, 1e-3) << delivery;
  }
}

TEST(Clogging, GivesChancesThatAreIntegralsOfTheDensity) {
  const Clogging clogging{0.75, 0.03, 0.6, 0.2};
  for (const double passed : {1.0, 0.7})
    for (const double delivery : {0.68, 0.4, 0.1}) {
      const PlaceDelivery place{delivery, passed};
      const SoundEmitters sound = sound_emitters(clogging, place, make);
      const double plugged = plugged_chance(clogging, place);
      const double below = 0.6;
      const double wanted =
          plugged * below / 0.75 +
          (1 - plugged) * 0.5 *
              (1 + std::erf((below - sound.mean) / std::sqrt(2 * sound.variance)));
      EXPECT_NEAR(chance_below(clogging, place, make, below), wanted, 1e-12);
      const auto inside = [&](double x) {
        return x > 0 && x < below ? discharge_density(clogging, place, make, x) : 0;
      };
      const double negative =
          (1 - plugged) * 0.5 * std::erfc(sound.mean / std::sqrt(2 * sound.variance));
      EXPECT_NEAR(integral(inside) + negative, wanted, 1e-3);
    }
}

TEST(Clogging, SpreadsEmittersEvenlyBetweenNoneAndTwiceTheMeanLossByAThird) {
  // Variance of the even distribution of width w: w^2 / 12; here w is twice the mean loss.
  Clogging clogging;
  clogging.plugging = 0;
  const SoundEmitters sound = sound_emitters(clogging, {0.7, 1}, 0);
  EXPECT_NEAR(sound.mean, 0.7, 1e-12);
  EXPECT_NEAR(sound.variance, 0.6 * 0.6 / 12, 1e-9);
}

TEST(Clogging, IsOfThePlaceAndNotOfThePressure) {
  // All that the pipes pass is passed on: nothing is clogged, whatever is delivered.
  const Clogging clogging;
  EXPECT_NEAR(plugged_chance(clogging, {0.6, 0.6}), clogging.share, 1e-12);
  EXPECT_NEAR(sound_emitters(clogging, {0.6, 0.6}, make).variance, make, 1e-12);
  EXPECT_GT(plugged_chance(clogging, {0.6, 1}), clogging.share + 0.05);
}

TEST(Clogging, OfAPlaceThatIsNotKnownIsTheMeanOverWhatItMayBe) {
  Clogging sound;
  sound.share = sound.plugging = sound.spread = 0;
  const double variance = 0.1 * 0.1;
  const double both = variance + make;
  EXPECT_NEAR(discharge_density(sound, {1.5, 1}, variance, make, 1.4),
              std::exp(-0.5 * 0.01 / both) / std::sqrt(2 * 3.14159265358979 * both), 1e-6);
  EXPECT_NEAR(chance_below(sound, {1.5, 1}, variance, make, 1.4),
              0.5 * std::erfc(0.1 / std::sqrt(2 * both)), 1e-6);
  EXPECT_DOUBLE_EQ(chance_below(sound, {0.9, 1}, 0, make, 0.9), 0.5);
}

TEST(Clogging, IsSoundWhereNothingPasses) {
  const Clogging clogging;
  EXPECT_NEAR(chance_below(clogging, {0, 0}, 0, 0, 0.9), 1, 1e-12);
}

}  // namespace
}  // namespace evendrip
