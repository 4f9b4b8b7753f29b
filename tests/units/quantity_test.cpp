// SPDX-License-Identifier: Apache-2.0
#include "evendrip/units/quantity.hpp"

#include <gtest/gtest.h>

#include "evendrip/base/error.hpp"

namespace evendrip {
namespace {

constexpr int last_dimension = static_cast<int>(Dimension::fraction);

std::string code_of(std::string_view text, Dimension dimension) {
  try {
    parse_quantity(text, dimension);
  } catch (const InputError& error) {
    return error.problems().front().code;
  }
  return "accepted";
}

TEST(ParseQuantity, ReadsTradeUnitsWithOrWithoutASpace) {
  EXPECT_NEAR(parse_quantity("1.06 gph", Dimension::discharge), 1.06 * 3.785411784, 1e-12);
  EXPECT_NEAR(parse_quantity("15psi", Dimension::pressure), 103.4213594, 1e-6);
  EXPECT_DOUBLE_EQ(parse_quantity("18 in", Dimension::length), 0.4572);
  EXPECT_DOUBLE_EQ(parse_quantity(" 0.9 bar ", Dimension::pressure), 90);
  EXPECT_NEAR(parse_quantity("40 ac", Dimension::area), 16.187490, 1e-5);
  EXPECT_DOUBLE_EQ(parse_quantity("-2.5e1 C", Dimension::temperature), -25);
  EXPECT_DOUBLE_EQ(parse_quantity("1.2 m³/h", Dimension::discharge), 1200);
  EXPECT_DOUBLE_EQ(parse_quantity("5 L/h/m", Dimension::discharge_per_length), 5);
}

TEST(ParseQuantity, TakesUnitsInAnyLetterCase) {
  EXPECT_DOUBLE_EQ(parse_quantity("2 l/H", Dimension::discharge), 2);
  EXPECT_DOUBLE_EQ(parse_quantity("2 KPA", Dimension::pressure), 2);
}

TEST(ParseQuantity, TellsTheSameLettersApartByDimension) {
  EXPECT_DOUBLE_EQ(parse_quantity("10 m", Dimension::length), 10);
  EXPECT_DOUBLE_EQ(parse_quantity("10 m", Dimension::pressure), 98.0665);
  EXPECT_DOUBLE_EQ(parse_quantity("10 m", Dimension::depth), 10000);
  EXPECT_DOUBLE_EQ(parse_quantity("1 mil", Dimension::length), 2.54e-5);
  EXPECT_DOUBLE_EQ(parse_quantity("1 mi", Dimension::length), 1609.344);
}

TEST(ParseQuantity, ReadsASharesPercentOrBareNumberUpToOne) {
  EXPECT_DOUBLE_EQ(parse_quantity("7 %", Dimension::fraction), 0.07);
  EXPECT_DOUBLE_EQ(parse_quantity("0.07", Dimension::fraction), 0.07);
  EXPECT_DOUBLE_EQ(parse_quantity("120%", Dimension::fraction), 1.2);
  EXPECT_EQ(code_of("7", Dimension::fraction), "bad_quantity");
  EXPECT_EQ(code_of("-0.1", Dimension::fraction), "bad_quantity");
}

TEST(ParseQuantity, RefusesWhatIsNoQuantityOfTheDimension) {
  for (const char* text : {"", "psi", "15", "1,5 psi", "1.5.2 psi", "15 gph", "nan psi", "inf psi",
                           "1e999 psi", "0x10 psi", "15 psi psi", "-", "+"}) {
    EXPECT_EQ(code_of(text, Dimension::pressure), "bad_quantity") << text;
  }
}

TEST(ParseQuantity, NamesTheTextAndTheUnitsAccepted) {
  try {
    parse_quantity("15 gph", Dimension::pressure);
    FAIL() << "accepted";
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().front().found, "15 gph");
    EXPECT_NE(error.problems().front().expected.find("psi"), std::string::npos);
  }
}

TEST(Units, ConvertThereAndBackForEveryUnit) {
  for (int d = 0; d <= last_dimension; ++d) {
    const auto dimension = static_cast<Dimension>(d);
    for (const std::string_view unit : accepted_units(dimension)) {
      const double there = to_canonical(12.5, unit, dimension);
      EXPECT_NEAR(from_canonical(there, unit, dimension), 12.5, 1e-12) << unit;
    }
  }
}

TEST(Units, BeginWithTheCanonicalUnit) {
  for (int d = 0; d <= last_dimension; ++d) {
    const auto dimension = static_cast<Dimension>(d);
    const auto unit = accepted_units(dimension).front();
    EXPECT_DOUBLE_EQ(to_canonical(3.25, unit, dimension), 3.25) << unit;
  }
}

TEST(FormatQuantity, IsReadAgainAsTheSameQuantityInBothSystems) {
  for (int d = 0; d <= last_dimension; ++d) {
    const auto dimension = static_cast<Dimension>(d);
    for (const UnitSystem system : {UnitSystem::metric, UnitSystem::us}) {
      for (const double value : {0.0, 0.0123456, 0.5, 1.06, 98.7654, 123456.0}) {
        const std::string text = format_quantity(value, dimension, system, 12);
        EXPECT_NEAR(parse_quantity(text, dimension), value, 1e-9 * (1 + value)) << text;
      }
    }
  }
}

TEST(FormatQuantity, KeepsSignificantDigitsAndNoExponent) {
  EXPECT_EQ(format_quantity(4.01253649, Dimension::discharge, UnitSystem::us), "1.06 gph");
  EXPECT_EQ(format_quantity(123456, Dimension::volume, UnitSystem::metric), "123500 mL");
  EXPECT_EQ(format_quantity(9.9996, Dimension::pressure, UnitSystem::metric), "10 kPa");
  EXPECT_EQ(format_quantity(0.000123456, Dimension::length, UnitSystem::metric), "0.0001235 m");
  EXPECT_EQ(format_quantity(0.834, Dimension::fraction, UnitSystem::metric), "83.4 %");
  EXPECT_EQ(format_quantity(0, Dimension::depth, UnitSystem::us), "0 in");
}

TEST(FormatQuantity, KeepsTheZerosThatEndANumberWhereAsked) {
  const auto kept = [](double value, int digits) {
    return format_quantity(value, Dimension::discharge, UnitSystem::metric, digits, EndZeros::kept);
  };
  EXPECT_EQ(kept(1, 3), "1.00 L/h");
  EXPECT_EQ(kept(0.9996, 3), "1.00 L/h");
  EXPECT_EQ(kept(0.0501, 2), "0.050 L/h");
  EXPECT_EQ(kept(12, 3), "12.0 L/h");
  EXPECT_EQ(kept(1234, 3), "1230 L/h");
  EXPECT_EQ(kept(0, 3), "0 L/h");
  for (const double value : {1.0, 0.9996, 0.0501, 12.0, 1234.0}) {
    EXPECT_NEAR(parse_quantity(kept(value, 12), Dimension::discharge), value, 1e-9);
  }
}

TEST(ParseHeading, ReadsTheUnitInTheEnding) {
  EXPECT_EQ(parse_heading("volume_ml", "volume", Dimension::volume).unit, "mL");
  EXPECT_EQ(parse_heading("flow_m3_h", "flow", Dimension::discharge).unit, "m3/h");
  EXPECT_EQ(parse_heading("yield_t_ha", "yield", Dimension::yield).unit, "t/ha");
  EXPECT_EQ(parse_heading("moisture_pct", "moisture", Dimension::fraction).unit, "%");
  EXPECT_EQ(parse_heading("water_temp_c", "water_temp", Dimension::temperature).unit, "degC");
  EXPECT_EQ(parse_heading("volume_fl_oz", "volume", Dimension::volume).unit, "fl oz");
  EXPECT_EQ(parse_heading("Pressure_PSI", "pressure", Dimension::pressure).unit, "psi");
}

TEST(ParseHeading, LeavesOtherHeadingsWithoutAUnit) {
  EXPECT_EQ(parse_heading("volume", "volume", Dimension::volume).unit, "");
  EXPECT_EQ(parse_heading("volume_psi", "volume", Dimension::volume).unit, "");
  EXPECT_EQ(parse_heading("volumes_ml", "volume", Dimension::volume).unit, "");
  EXPECT_EQ(parse_heading("volume_", "volume", Dimension::volume).unit, "");
}

TEST(ReportUnit, IsAnAcceptedUnit) {
  for (int d = 0; d <= last_dimension; ++d) {
    const auto dimension = static_cast<Dimension>(d);
    for (const UnitSystem system : {UnitSystem::metric, UnitSystem::us}) {
      EXPECT_NO_THROW(to_canonical(1, report_unit(dimension, system), dimension));
    }
  }
}

}  // namespace
}  // namespace evendrip
