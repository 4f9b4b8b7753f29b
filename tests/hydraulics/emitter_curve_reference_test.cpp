// SPDX-License-Identifier: Apache-2.0
// Emitter discharges against figures worked out with numpy from q = k h^x.
#include "evendrip/hydraulics/emitter_curve.hpp"

#include "evendrip/hydraulics/water.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <map>

namespace evendrip {
namespace {

// 3.8 L/h at 10 m and 4.6 L/h at 15 m: exponent 0.471200, constant 1.284054 (L/h, m).
TEST(EmitterCurveReference, TwoPointsOfADataSheetAreMet) {
  const double exponent = std::log(3.8 / 4.6) / std::log(10.0 / 15.0);
  EXPECT_NEAR(exponent, 0.471200, 5e-7);
  const EmitterCurve curve{3.8, pressure_kpa(10), exponent, 0, 0};
  EXPECT_NEAR(discharge_lph(curve, pressure_kpa(15)), 4.6, 1e-12);
  EXPECT_NEAR(discharge_lph(curve, pressure_kpa(1)), 1.284054, 5e-7);
}

// Discharge left after a fall of head by 20 %, per cent.
TEST(EmitterCurveReference, AFifthOfTheHeadLostCostsAsItsExponentSays) {
  const std::map<double, double> left_pct{{0, 100.0},   {0.1, 97.79}, {0.3, 93.52},
                                          {0.5, 89.44}, {0.8, 83.65}, {1, 80.0}};
  for (const auto& [exponent, expected] : left_pct) {
    const EmitterCurve curve{2, 100, exponent, 0, 0};
    EXPECT_NEAR(100 * discharge_lph(curve, 80) / 2, expected, 5e-3) << exponent;
  }
}

// Head lost for a tenth less discharge: 19.0 % at 0.5, 12.3 % at 0.8, 10.0 % at 1.
TEST(EmitterCurveReference, ATenthLessDischargeNeedsThisLossOfHead) {
  for (const auto& [exponent, loss_pct] :
       std::map<double, double>{{0.5, 19.0}, {0.8, 12.3}, {1, 10.0}}) {
    const EmitterCurve curve{2, 100, exponent, 0, 0};
    EXPECT_NEAR(discharge_lph(curve, 100 - loss_pct + 0.05), 1.8, 0.002) << exponent;
    EXPECT_LE(discharge_lph(curve, 100 - loss_pct - 0.05), 1.8) << exponent;
    EXPECT_GE(discharge_lph(curve, 100 - loss_pct + 0.05), 1.8) << exponent;
  }
}

// (P/Pref)^x at exponent 0.5 with the pressure down by 8 %: 95.9 %.
TEST(EmitterCurveReference, EightPerCentLessPressureLeavesNinetySixPerCentOfTheFlow) {
  const EmitterCurve curve{1.6, 100, 0.5, 0, 0};
  EXPECT_NEAR(discharge_lph(curve, 92) / discharge_lph(curve, 100), 0.959, 5e-4);
}

}  // namespace
}  // namespace evendrip
