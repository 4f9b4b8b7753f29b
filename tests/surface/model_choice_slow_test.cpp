// SPDX-License-Identifier: Apache-2.0
// How often the choice is right, over many invented data sets.
#include "evendrip/surface/line_candidates.hpp"
#include "evendrip/surface/model_choice.hpp"

#include "lateral_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <string>

namespace evendrip {
namespace {

FitOptions quick() {
  FitOptions options;
  options.starts = 2;
  return options;
}

std::string chosen_for(const LateralEffects& effects, unsigned seed) {
  const Samples samples = dug_along(12, 5, effects, seed);
  Work two;
  two.threads = 2;
  const ModelChoice choice =
      choose_model(samples, line_candidates(field_under(12), samples), quick(), two);
  return choice.table.at(static_cast<std::size_t>(choice.chosen)).name;
}

TEST(ModelChoice, TakesTheMeanForPureNoiseInMostOfTwoHundredSets) {
  int means = 0;
  for (unsigned set = 0; set < 200; ++set)
    means += chosen_for({0.9, 0, 0.08, 0}, 1000 + set) == "mean" ? 1 : 0;
  RecordProperty("means", means);
  EXPECT_GE(means, 160);
}

TEST(ModelChoice, HasALateralEffectInMostSetsThatHaveOne) {
  int found = 0;
  for (unsigned set = 0; set < 100; ++set) {
    const std::string name = chosen_for({0.9, 0.08, 0.06, 0}, 2000 + set);
    // Whatever holds the values of a lateral together.
    found += name != "mean" && name != "station" && name != "far end" ? 1 : 0;
  }
  RecordProperty("found", found);
  EXPECT_GE(found, 80);
}

}  // namespace
}  // namespace evendrip
