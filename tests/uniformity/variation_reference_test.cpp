// SPDX-License-Identifier: Apache-2.0
// The division of variation against a published evaluation and hand cases.
#include "evendrip/uniformity/variation.hpp"

#include "nlme_oracle.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <vector>

namespace evendrip {
namespace {

// Resende, Casarini, Folegatti & Coelho 2001, Rev. Bras. Eng. Agric. Ambient. 5(1):156-160,
// abstract: application uniformity 73 %, hydraulic uniformity 97 %, emitter performance 26 %,
// maker's CV 8.2 %. The first two, printed to whole percents, give 26.8 %; the paper blames
// clogging.
TEST(VariationReference, DividesTheGreenhouseSystemOfResendeAsPublished) {
  const double exponent = 0.5;
  const double pressure_cv = (1 - 0.97) / exponent;
  EXPECT_NEAR(hydraulic_uniformity_frac(pressure_cv, exponent), 0.97, 1e-12);
  const auto performance = performance_cv_from(1 - 0.73, pressure_cv, exponent);
  ASSERT_TRUE(performance.has_value());
  EXPECT_NEAR(*performance, 0.2683, 5e-5);
  EXPECT_NEAR(*performance, 0.26, 0.01);
  EXPECT_GT(*performance, 3 * 0.082);
}

// Worked by hand from Vq^2 = x^2 Vh^2 + Vpf^2.
TEST(VariationReference, HandCases) {
  EXPECT_NEAR(*performance_cv_from(0.15, 0.20, 0.5), 0.1118, 5e-5);
  EXPECT_NEAR(*performance_cv_from(0.118, 0.10, 0.5), 0.1069, 5e-5);
}

// Log performance of the drawn sample of pits: the same components and trend as R nlme's lme, by
// way of discharges and pressures.
TEST(VariationReference, ComponentsAndTrendOfASurveyAgreeWithNlme) {
  const auto folder = nlme_tables();
  if (!folder) GTEST_SKIP() << "needs R with nlme";
  const Columns sample = read_columns(*folder / "emitters_line.csv");
  std::vector<VariedEmitter> emitters;
  for (std::size_t i = 0; i < sample.at("y").size(); ++i) {
    VariedEmitter emitter;
    emitter.pressure_kpa = 60 + 2.0 * static_cast<double>(i % 17);
    emitter.discharge_lph = std::exp(sample.at("y")[i]) * std::sqrt(emitter.pressure_kpa);
    emitter.lateral = static_cast<int>(sample.at("lateral")[i]);
    emitter.pit = static_cast<int>(sample.at("pit")[i]);
    emitter.station_frac = sample.at("x")[i];
    emitters.push_back(emitter);
  }
  const Variation variation = divided_variation(emitters, {});
  const Columns plain = read_columns(*folder / "emitters_fit.csv");
  const Columns line = read_columns(*folder / "emitters_line_fit.csv");
  const VarianceComponents& parts = variation.log_performance;
  ASSERT_TRUE(parts.computed);
  ASSERT_TRUE(parts.between_pits.has_value());
  EXPECT_NEAR(parts.between_laterals.variance, plain.at("lateral")[0], 1e-6);
  EXPECT_NEAR(parts.between_pits->variance, plain.at("pit")[0], 1e-6);
  EXPECT_NEAR(parts.within.variance, plain.at("within")[0], 1e-6);
  ASSERT_TRUE(variation.trend.computed);
  EXPECT_NEAR(variation.trend.slope, line.at("value")[0], 1e-6);
  EXPECT_NEAR(variation.trend.t, line.at("t")[0], 1e-4);
  EXPECT_EQ(variation.trend.degrees_of_freedom, line.at("df")[0]);
}

}  // namespace
}  // namespace evendrip
