// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/emitter_curve.hpp"

#include "evendrip/base/error.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <stdexcept>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

EmitterSpec plain_spec(double exponent = 0.5) {
  EmitterSpec spec;
  spec.discharge_lph = 1.6;
  spec.pressure_kpa = 98.0665;
  spec.exponent = exponent;
  return spec;
}

EmitterSpec compensating_spec(double from_kpa, double to_kpa, double exponent = 0.6) {
  EmitterSpec spec = plain_spec(exponent);
  spec.pressure_compensating_kpa = std::pair{from_kpa, to_kpa};
  return spec;
}

std::vector<EmitterCurve> curves() {
  std::vector<EmitterCurve> result{
      curve_of(compensating_spec(50, 300)), curve_of(compensating_spec(0, 300)),
      curve_of(compensating_spec(0.005, 300)), curve_of(compensating_spec(0.002, 0.006))};
  for (const double exponent : {0.0, 0.05, 0.3, 0.5, 0.75, 1.0})
    result.push_back(curve_of(plain_spec(exponent)));
  return result;
}

TEST(EmitterCurve, GivesTheRatedDischargeAtTheRatedPressure) {
  for (const double exponent : {0.0, 0.3, 0.5, 0.8, 1.0})
    EXPECT_DOUBLE_EQ(discharge_lph(curve_of(plain_spec(exponent)), 98.0665), 1.6);
}

TEST(EmitterCurve, TwiceThePressureGivesTwoToTheExponent) {
  for (const double exponent : {0.0, 0.3, 0.5, 0.8, 1.0}) {
    const EmitterCurve curve = curve_of(plain_spec(exponent));
    EXPECT_NEAR(discharge_lph(curve, 160) / discharge_lph(curve, 80), std::pow(2, exponent), 1e-14);
  }
}

TEST(EmitterCurve, GivesNothingAtOrBelowAtmosphericPressure) {
  for (const EmitterCurve& curve : curves())
    for (const double pressure : {0.0, -1e-9, -5.0, -1e6}) {
      EXPECT_EQ(discharge_lph(curve, pressure), 0);
      EXPECT_EQ(discharge_slope(curve, pressure), 0);
    }
}

TEST(EmitterCurve, NeverFallsWithRisingPressure) {
  for (const EmitterCurve& curve : curves()) {
    double before = 0;
    for (double pressure = 1e-9; pressure < 1000; pressure *= 1.001) {
      const double discharge = discharge_lph(curve, pressure);
      EXPECT_GE(discharge, before * (1 - 1e-15)) << pressure << ' ' << curve.exponent;
      EXPECT_GE(discharge_slope(curve, pressure), 0) << pressure << ' ' << curve.exponent;
      before = discharge;
    }
  }
}

TEST(EmitterCurve, ItsSlopeIsTheCentralDifference) {
  const std::vector<double> pressures{1e-4, 0.003, 0.0099, 0.011, 0.2, 7,
                                      49,   51,    150,    299,   301, 900};
  for (const EmitterCurve& curve : curves())
    for (const double pressure : pressures) {
      const double step = 1e-5 * pressure;
      const double difference =
          (discharge_lph(curve, pressure + step) - discharge_lph(curve, pressure - step)) /
          (2 * step);
      const double unit = discharge_lph(curve, pressure) / pressure;
      EXPECT_NEAR(discharge_slope(curve, pressure) / unit, difference / unit, 1e-7)
          << pressure << ' ' << curve.exponent;
    }
}

TEST(EmitterCurve, TheJointAtZeroMeetsTheLawInValueAndSlope) {
  for (const EmitterCurve& curve : curves()) {
    const double below = 0.01 * (1 - 1e-13);
    EXPECT_NEAR(discharge_lph(curve, below) / discharge_lph(curve, 0.01), 1, 1e-12);
    const double unit = discharge_lph(curve, 0.01) / 0.01;
    EXPECT_NEAR(discharge_slope(curve, below) / unit, discharge_slope(curve, 0.01) / unit, 1e-11);
  }
}

TEST(EmitterCurve, TheSlopeJustAboveZeroIsFiniteAndAboveZero) {
  for (const EmitterCurve& curve : curves()) {
    const double unit = discharge_lph(curve, 0.01) / 0.01;
    EXPECT_GE(discharge_slope(curve, 1e-12) / unit, 1 - 1e-9) << curve.exponent;
    EXPECT_LE(discharge_slope(curve, 1e-12) / unit, 3 + 1e-9) << curve.exponent;
  }
}

TEST(EmitterCurve, IsFlatWithinTheCompensatingRange) {
  const EmitterCurve curve = curve_of(compensating_spec(50, 300));
  for (const double pressure : {50.0, 51.0, 98.0, 299.0, 300.0})
    EXPECT_DOUBLE_EQ(discharge_lph(curve, pressure), 1.6);
  EXPECT_EQ(discharge_slope(curve, 98), 0);
  EXPECT_DOUBLE_EQ(discharge_lph(curve, 25), 1.6 * std::pow(0.5, 0.6));
  EXPECT_DOUBLE_EQ(discharge_lph(curve, 600), 1.6 * std::pow(2, 0.6));
}

TEST(EmitterCurve, AtACornerOfTheRangeTheSlopeIsThatOfTheOutside) {
  const EmitterCurve curve = curve_of(compensating_spec(50, 300));
  EXPECT_DOUBLE_EQ(discharge_slope(curve, 50), 0.6 * 1.6 / 50);
  EXPECT_DOUBLE_EQ(discharge_slope(curve, 300), 0.6 * 1.6 / 300);
}

std::string refused_key(const EmitterSpec& spec) {
  try {
    curve_of(spec);
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().size(), 1U);
    EXPECT_EQ(error.problems().front().code, "bad_emitter");
    EXPECT_FALSE(error.problems().front().remedy.empty());
    return error.problems().front().place.column;
  }
  return "accepted";
}

TEST(EmitterCurve, RefusesARatedPairThatIsNotAboveZero) {
  for (const double value : {0.0, -1.0, std::nan(""), std::numeric_limits<double>::infinity()}) {
    EmitterSpec spec = plain_spec();
    spec.discharge_lph = value;
    EXPECT_EQ(refused_key(spec), "discharge") << value;
    spec = plain_spec();
    spec.pressure_kpa = value;
    EXPECT_EQ(refused_key(spec), "pressure") << value;
  }
}

TEST(EmitterCurve, RefusesAnExponentOutsideZeroToOne) {
  for (const double exponent : {-0.01, 1.01, std::nan("")})
    EXPECT_EQ(refused_key(plain_spec(exponent)), "exponent") << exponent;
}

TEST(EmitterCurve, RefusesACompensatingRangeThatDoesNotRise) {
  EXPECT_EQ(refused_key(compensating_spec(300, 50)), "pressure_compensating");
  EXPECT_EQ(refused_key(compensating_spec(50, 50)), "pressure_compensating");
  EXPECT_EQ(refused_key(compensating_spec(-1, 50)), "pressure_compensating");
  EXPECT_EQ(refused_key(compensating_spec(50, std::nan(""))), "pressure_compensating");
}

TEST(EmitterCurve, TellsEverythingThatIsWrongAtOnce) {
  EmitterSpec spec = compensating_spec(300, 50, 2);
  spec.discharge_lph = -1;
  try {
    curve_of(spec);
    FAIL() << "accepted";
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().size(), 3U);
    EXPECT_EQ(error.exit_code(), ExitCode::input);
  }
}

TEST(OpeningCurve, IsTheOrificeEquation) {
  const double area = 2e-5;
  const EmitterCurve curve = opening_curve(area);
  for (const double head : {0.5, 4.0, 10.0}) {
    const double expected_m3_s = 0.62 * area * std::sqrt(2 * 9.80665 * head);
    EXPECT_NEAR(discharge_lph(curve, head * 9.80665) / (expected_m3_s * 3.6e6), 1, 1e-12);
  }
}

TEST(OpeningCurve, RefusesAnOpeningWithoutArea) {
  EXPECT_THROW(opening_curve(0), std::invalid_argument);
  EXPECT_THROW(opening_curve(1e-5, -0.6), std::invalid_argument);
  EXPECT_THROW(opening_curve(std::nan("")), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
