// SPDX-License-Identifier: Apache-2.0
// Limits of r and of the parameters on zones drawn from the model itself, parameters drawn from
// their priors.
#include "evendrip/condition/plugged_holes.hpp"

#include "dense_zone.hpp"

#include <gtest/gtest.h>

#include <array>
#include <cmath>

namespace evendrip {
namespace {

constexpr int zones = 80;
constexpr double in_90 = 1.6448536269514722;

ConditionParameters drawn_parameters(std::uint64_t seed) {
  constexpr std::array<double, 8> medians = {0.03, 0.03, 0.03, 0.03, 0.05, 0.06, 0.06, 0.05};
  std::mt19937_64 stream(seed);
  std::exponential_distribution<double> exponential;
  std::normal_distribution<double> normal;
  ConditionParameters p;
  for (std::size_t i = 0; i < medians.size(); ++i)
    p.*fitted_parameters[i] = std::max(1e-3, exponential(stream) * medians[i] / std::log(2));
  p.response = 0.8 * std::exp(0.5 * normal(stream));
  return p;
}

struct Covered {
  double r = 0;
  double at_the_fit = 0;  ///< with the parameters of the fit taken as true
  double response = 0;    ///< z scores squared, of its logarithm
  double emitter = 0;
};

Covered covered(bool with_crop) {
  Covered out;
  for (std::uint64_t seed = 1; seed <= zones; ++seed) {
    const ConditionParameters truth = drawn_parameters(seed);
    test::DrawnZone zone = test::zone_of_model(truth, seed);
    if (!with_crop) zone.crop.clear();
    const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
    const auto found = zone_condition(model, 0.01);  // nothing is plugged here
    if (!found) continue;
    const auto plain = model.estimate(found->fit.parameters);
    for (std::size_t i = 0; i < zone.r.size(); ++i) {
      const double share = 1 / static_cast<double>(zone.r.size() * zones);
      const auto inside = [&](const ConditionEstimate& e) {
        return std::abs(zone.r[i] - e.r[i]) < in_90 * std::sqrt(e.r_variance[i]) ? share : 0;
      };
      out.r += inside(found->estimate);
      out.at_the_fit += inside(*plain);
    }
    const auto score = [&](double ConditionParameters::*which) {
      double mean = 0;
      double square = 0;
      for (std::size_t k = 0; k < found->fit.design.size(); ++k) {
        const double v = std::log(found->fit.design[k].*which);
        mean += found->fit.design_weights[k] * v;
        square += found->fit.design_weights[k] * v * v;
      }
      return test::square(std::log(truth.*which) - mean) / std::max(1e-4, square - mean * mean);
    };
    out.response += score(&ConditionParameters::response) / zones;
    out.emitter += score(&ConditionParameters::emitter) / zones;
  }
  return out;
}

TEST(ParameterDesign, MakesLimitsThatCoverWithCrop) {
  const Covered found = covered(true);
  RecordProperty("covered_percent", std::to_string(100 * found.r));
  RecordProperty("covered_at_the_fit_percent", std::to_string(100 * found.at_the_fit));
  EXPECT_GT(found.r, 0.88);
  EXPECT_LT(found.r, 0.92);
  // Squares of standard scores of the response and of the emitters' spread: 1 on the mean.
  EXPECT_LT(found.response, 2);
  EXPECT_LT(found.emitter, 2);
}

TEST(ParameterDesign, MakesLimitsThatCoverOfHolesAlone) {
  const Covered found = covered(false);
  RecordProperty("covered_percent", std::to_string(100 * found.r));
  RecordProperty("covered_at_the_fit_percent", std::to_string(100 * found.at_the_fit));
  EXPECT_GT(found.r, 0.88);
  EXPECT_LT(found.r, 0.92);
}

}  // namespace
}  // namespace evendrip
