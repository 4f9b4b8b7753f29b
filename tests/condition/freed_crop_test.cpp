// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/freed_crop.hpp"

#include <gtest/gtest.h>

#include <stdexcept>
#include <vector>

namespace evendrip {
namespace {

CropEvidence layer_of(const char* kind, double median, double value) {
  CropEvidence evidence;
  evidence.kind = kind;
  evidence.median = median;
  evidence.data.resize(2);
  evidence.data[0].value = evidence.data[1].value = value;
  return evidence;
}

TEST(TakeOut, TakesRelativeCropOutOfValuesAndKeepsWhatTheLayerSaid) {
  CropEvidence yield = layer_of("yield", 8, 6);
  take_out(std::vector<double>{-0.25, 0}, yield);
  EXPECT_DOUBLE_EQ(yield.data[0].value, 8);  // 0.75 and 0.25 of 8
  EXPECT_DOUBLE_EQ(yield.data[1].value, 6);
  EXPECT_DOUBLE_EQ(yield.data[0].value + yield.data[0].taken_out, 6);
}

TEST(TakeOut, TurnsTheSignWhereAHighValueIsPoor) {
  CropEvidence warm = layer_of("canopy_temperature", 24, 30);  // relative 0.8
  take_out(std::vector<double>{-0.2, -0.2}, warm);
  EXPECT_DOUBLE_EQ(warm.data[0].value, 24);
  CropEvidence frozen = layer_of("canopy_temperature", 24, -2);  // of no relative value
  take_out(std::vector<double>{-0.2, -0.2}, frozen);
  EXPECT_DOUBLE_EQ(frozen.data[0].value, -2);
}

TEST(TakeOut, AsksForOneValueForEachDatum) {
  CropEvidence yield = layer_of("yield", 8, 6);
  EXPECT_THROW(take_out(std::vector<double>{0.1}, yield), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
