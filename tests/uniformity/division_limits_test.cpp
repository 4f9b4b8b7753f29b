// SPDX-License-Identifier: Apache-2.0
#include "../../src/uniformity/division_limits.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <random>
#include <vector>

namespace evendrip {
namespace {

struct Zone {
  int laterals = 6;
  int emitters = 4;
  double inlet_cv = 0.05;  ///< of discharge, between laterals
  double performance_cv = 0.05;
};

std::vector<VariedEmitter> drawn(const Zone& zone, std::uint64_t seed) {
  std::mt19937_64 stream(seed);
  std::normal_distribution<double> normal;
  std::vector<VariedEmitter> emitters;
  for (int l = 0; l < zone.laterals; ++l) {
    const double inlet = 1 + zone.inlet_cv * normal(stream);
    for (int e = 0; e < zone.emitters; ++e) {
      VariedEmitter emitter;
      emitter.lateral = l;
      const double by_pressure = inlet * (1 - 0.01 * e);
      emitter.pressure_kpa = 100 * by_pressure * by_pressure;
      emitter.discharge_lph = by_pressure * (1 + zone.performance_cv * normal(stream));
      emitters.push_back(emitter);
    }
  }
  return emitters;
}

void expect_inside(const PartShare& share) {
  EXPECT_TRUE(share.known);
  EXPECT_LT(share.lower, share.frac);
  EXPECT_GT(share.upper, share.frac);
}

TEST(LogShares, AddUpToOneAndLieInsideTheirLimits) {
  const PartShares shares = log_shares(drawn({}, 1), 0.5, 0.95);
  EXPECT_EQ(shares.laterals, 6);
  EXPECT_NEAR(shares.hydraulic.frac + shares.performance.frac + shares.covariance.frac, 1, 1e-12);
  for (const PartShare& s : {shares.hydraulic, shares.performance, shares.covariance}) {
    expect_inside(s);
  }
  EXPECT_GT(shares.hydraulic.lower, 0);
  EXPECT_LE(shares.covariance.upper, 0.5);
}

TEST(PlainShares, AreThePartsOfTheDivisionOverItsTotal) {
  const std::vector<VariedEmitter> emitters = drawn({}, 2);
  const PlainDivision division = divided_variation(emitters, {}).plain;
  EXPECT_NEAR(division.shares.hydraulic.frac, division.hydraulic / division.total, 1e-12);
  EXPECT_NEAR(division.shares.performance.frac, division.performance / division.total, 1e-12);
  EXPECT_NEAR(division.shares.covariance.frac, division.covariance / division.total, 1e-12);
  expect_inside(division.shares.hydraulic);
}

// The jackknife of a share, worked once more by leaving laterals and emitters out of the sample.
TEST(LogShares, LimitsAreStudentsTOnTheLogarithmByTheLargerJackknife) {
  const std::vector<VariedEmitter> emitters = drawn({.inlet_cv = 0.1}, 5);
  const auto log_share = [](const std::vector<VariedEmitter>& sample) {
    return std::log(log_shares(sample, 0.5, 0.95).hydraulic.frac);
  };
  const double whole = log_share(emitters);
  double by_lateral = 0;
  for (int l = 0; l < 6; ++l) {
    std::vector<VariedEmitter> left = emitters;
    std::erase_if(left, [l](const VariedEmitter& e) { return e.lateral == l; });
    by_lateral += 5.0 / 6 * std::pow(log_share(left) - whole, 2);
  }
  double by_emitter = 0;
  for (std::size_t i = 0; i < emitters.size(); ++i) {
    std::vector<VariedEmitter> left = emitters;
    left.erase(left.begin() + static_cast<std::ptrdiff_t>(i));
    by_emitter += 23.0 / 24 * std::pow(log_share(left) - whole, 2);
  }
  // Student's t, 5 degrees of freedom, 97.5 %: 2.570582 (printed tables).
  const double reach = 2.570582 * std::sqrt(std::max(by_lateral, by_emitter));
  const PartShares shares = log_shares(emitters, 0.5, 0.95);
  EXPECT_NEAR(shares.hydraulic.lower, std::exp(whole - reach), 1e-6);
  EXPECT_NEAR(shares.hydraulic.upper, std::exp(whole + reach), 1e-6);
}

// Emitters alike on a lateral tell less than as many independent ones.
TEST(LogShares, LimitsAreWiderWherePressureDiffersBetweenLaterals) {
  std::vector<VariedEmitter> emitters = drawn({.laterals = 12, .emitters = 6, .inlet_cv = 0.1}, 7);
  const PartShare clustered = log_shares(emitters, 0.5, 0.95).hydraulic;
  for (VariedEmitter& e : emitters) e.lateral = -1;
  const PartShare independent = log_shares(emitters, 0.5, 0.95).hydraulic;
  EXPECT_EQ(clustered.frac, independent.frac);
  EXPECT_GT(std::log(clustered.upper / clustered.lower),
            1.5 * std::log(independent.upper / independent.lower));
}

// With none plugged among 24 some 10 % may be, and a tenth plugged is most of any variation.
TEST(PlainShares, AllowForPluggedEmittersThatTheSampleMissed) {
  const std::vector<VariedEmitter> emitters = drawn({}, 3);
  const PartShares plain = plain_shares(emitters, 0.5, 0.95);
  const double down = std::log(plain.hydraulic.frac / plain.hydraulic.lower);
  const double up = std::log(plain.hydraulic.upper / plain.hydraulic.frac);
  EXPECT_GT(down, 1.5 * up);
  const PartShares logs = log_shares(emitters, 0.5, 0.95);
  EXPECT_NEAR(std::log(logs.hydraulic.frac / logs.hydraulic.lower),
              std::log(logs.hydraulic.upper / logs.hydraulic.frac), 1e-9);
}

TEST(PlainShares, OfASampleWithPluggedEmittersStayFinite) {
  std::vector<VariedEmitter> emitters = drawn({}, 4);
  emitters[3].discharge_lph = 0;
  for (int i = 8; i < 12; ++i) emitters[static_cast<std::size_t>(i)].discharge_lph = 0;
  const PartShares shares = plain_shares(emitters, 0.5, 0.95);
  for (const PartShare& s : {shares.hydraulic, shares.performance, shares.covariance}) {
    EXPECT_TRUE(std::isfinite(s.lower) && std::isfinite(s.upper));
  }
  EXPECT_GT(shares.performance.frac, 0.9);
}

TEST(Shares, WithoutLimitsSayWhy) {
  const PartShares two = log_shares(drawn({.laterals = 2}, 1), 0.5, 0.95);
  EXPECT_FALSE(two.hydraulic.known);
  EXPECT_EQ(two.hydraulic.lower, two.hydraulic.frac);
  EXPECT_EQ(two.why_not, "limits of the shares need emitters on three laterals or more");
  const std::vector<VariedEmitter> alike(6, drawn({}, 1).front());
  EXPECT_EQ(plain_shares(alike, 0.5, 0.95).why_not, "the emitters all give the same");
}

// All pressures one: pressure has no share, and no limits of one.
TEST(Shares, OfEqualPressuresAreTheEmittersAlone) {
  std::vector<VariedEmitter> emitters = drawn({}, 6);
  for (VariedEmitter& e : emitters) e.pressure_kpa = 90;
  const PartShares shares = log_shares(emitters, 0.5, 0.95);
  EXPECT_FALSE(shares.hydraulic.known);
  EXPECT_NEAR(shares.hydraulic.frac, 0, 1e-12);
  EXPECT_NEAR(shares.performance.lower, 1, 1e-9);
  EXPECT_NEAR(shares.performance.upper, 1, 1e-9);
}

TEST(Shares, DoNotDependOnTheOrderOfDigging) {
  std::vector<VariedEmitter> emitters = drawn({}, 8);
  const PartShares shares = divided_variation(emitters, {}).plain.shares;
  std::shuffle(emitters.begin(), emitters.end(), std::mt19937_64(1));
  EXPECT_EQ(divided_variation(emitters, {}).plain.shares.hydraulic.upper, shares.hydraulic.upper);
}

}  // namespace
}  // namespace evendrip
