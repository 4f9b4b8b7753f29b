// SPDX-License-Identifier: Apache-2.0
#include "evendrip/hydraulics/design_check.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "evendrip/hydraulics/emitter_curve.hpp"
#include "evendrip/units/quantity.hpp"

namespace evendrip {
namespace {

// Design form 100 (1 - 1.27 Cv / sqrt(n')) q_min / q_avg: Keller & Karmeli 1974, Trans. ASAE
// 17:678-684 (formula from memory); values worked out by hand.
TEST(DesignEmissionUniformity, AgreesWithHandValues) {
  EXPECT_NEAR(design_emission_uniformity(0.05, 1, 3.6, 3.8), 0.88721, 5e-6);
  EXPECT_NEAR(design_emission_uniformity(0.05, 4, 3.6, 3.8), 0.91729, 5e-6);
  EXPECT_NEAR(design_emission_uniformity(0.07, 2, 1.45, 1.60), 0.84928, 5e-6);
}

// Inputs: an examination question on agricultural engineering (GATE): q = 0.3 P^0.6, Cv 0.06, mean
// 120 kPa, least 100 kPa, 40 % of 4 m x 5 m shaded, each emitter wets 2 m x 2 m, so n' = 2. The
// answer, 84.81 %, was worked out, the printed key was not seen.
TEST(DesignEmissionUniformity, AgreesWithAnExaminationQuestion) {
  const EmitterCurve curve{0.3 * std::pow(100, 0.6), 100, 0.6, 0, 0};
  const double emitters_per_plant = 0.4 * 4 * 5 / (2 * 2);
  EXPECT_NEAR(design_emission_uniformity(0.06, emitters_per_plant, discharge_lph(curve, 100),
                                         discharge_lph(curve, 120)),
              0.8481, 5e-5);
}

// UC ANR, Maintenance of Microirrigation Systems, Flushing: 1 ft/s at the line end needs 1 gpm in
// a 5/8 in lateral and 2 gpm in a 7/8 in lateral, rounded to whole gallons; the bores give 0.956
// and 1.874.
TEST(FlushingFlow, AgreesWithTheExtensionService) {
  const double foot_a_second = to_canonical(1, "ft/s", Dimension::velocity);
  const auto gpm = [&](double inches) {
    const double mm = 1000 * to_canonical(inches, "in", Dimension::length);
    return from_canonical(flushing_flow_lph(foot_a_second, mm), "gpm", Dimension::discharge);
  };
  EXPECT_EQ(std::round(gpm(5.0 / 8)), 1);
  EXPECT_EQ(std::round(gpm(7.0 / 8)), 2);
  EXPECT_NEAR(gpm(5.0 / 8), 0.956, 5e-4);
  EXPECT_NEAR(gpm(7.0 / 8), 1.874, 5e-4);
}

// Level lateral of 200 emitters, 16 mm, Hazen-Williams C 150: q from 1.59931 to 1.55220 L/h,
// variation 2.946 %. Step method, emitter flows equal to those of an EPANET engine.
TEST(FlowVariation, AgreesWithTheReferenceLateral) {
  EXPECT_NEAR(flow_variation(1.55220, 1.59931), 0.02946, 1e-5);
}

}  // namespace
}  // namespace evendrip
