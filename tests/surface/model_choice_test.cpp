// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/model_choice.hpp"

#include "evendrip/surface/line_candidates.hpp"

#include "lateral_samples.hpp"
#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip {
namespace {

FitOptions quick() {
  FitOptions options;
  options.starts = 2;
  return options;
}

/// The mean, and laterals beside it.
std::vector<Candidate> mean_or_laterals(const Samples& samples, int laterals) {
  std::vector<Candidate> out;
  for (Candidate& candidate : line_candidates(field_under(laterals), samples))
    if (candidate.name == "mean" || candidate.name == "laterals")
      out.push_back(std::move(candidate));
  return out;
}

TEST(ModelChoice, TakesTheMeanWhereThereIsNothingElse) {
  int means = 0;
  for (unsigned seed = 1; seed <= 5; ++seed) {
    const Samples samples = dug_along(12, 4, {0.9, 0, 0.08, 0}, 100 + seed);
    const ModelChoice choice =
        choose_model(samples, line_candidates(field_under(12), samples), quick(), {});
    ASSERT_GE(choice.chosen, 0);
    means += choice.table[static_cast<std::size_t>(choice.chosen)].name == "mean" ? 1 : 0;
  }
  EXPECT_GE(means, 4);
}

TEST(ModelChoice, SeesThatLateralsHangTogether) {
  for (unsigned seed = 1; seed <= 5; ++seed) {
    const Samples samples = dug_along(12, 4, {0.9, 0.12, 0.06, 0}, 200 + seed);
    const ModelChoice choice = choose_model(samples, mean_or_laterals(samples, 12), quick(), {});
    ASSERT_EQ(choice.chosen, 1);
    EXPECT_TRUE(choice.table[1].chosen);
    EXPECT_FALSE(choice.table[0].chosen);
    EXPECT_LT(choice.table[1].penalised, choice.table[0].penalised);
    EXPECT_FALSE(choice.fit.model.covariance.terms.empty());
    EXPECT_NE(choice.why.find("12 laterals"), std::string::npos) << choice.why;
  }
}

TEST(ModelChoice, SeesATrendAlongTheLaterals) {
  const Samples samples = dug_along(12, 4, {0.95, 0, 0.05, -0.4}, 301);
  const ModelChoice choice =
      choose_model(samples, line_candidates(field_under(12), samples), quick(), {});
  EXPECT_EQ(choice.table[static_cast<std::size_t>(choice.chosen)].name, "station");
  EXPECT_NEAR(choice.fit.coefficients.at(1), -0.4, 0.1);
}

TEST(ModelChoice, SetsTheDensityOfEachLateralAgainstTheNumberOfParameters) {
  const Samples samples = dug_along(12, 4, {0.9, 0.12, 0.06, 0}, 202);
  const ModelChoice choice = choose_model(samples, mean_or_laterals(samples, 12), quick(), {});
  EXPECT_EQ(choice.table[0].trend_terms, 1);
  EXPECT_EQ(choice.table[0].covariance_parameters, 1);
  EXPECT_EQ(choice.table[1].covariance_parameters, 2);
  // The mean with one variance: the density of each lateral by hand.
  const double v = choice.table[0].by_lateral.predicted[0].variance;
  const double price = 0.5 * std::log(48.0);
  double sum = price + (price - 1);  // one variance, one mean
  for (std::size_t l = 0; l < 12; ++l) {
    const double others = choice.table[0].by_lateral.predicted[4 * l].value;
    const double nugget = v / (1 + 1 / 44.0);
    const double of_mean = nugget / 44;
    double squares = 0;
    double total = 0;
    for (std::size_t k = 0; k < 4; ++k) {
      const double d = samples[4 * l + k].value - others;
      squares += d * d;
      total += d;
    }
    const double q = (squares - total * total * of_mean / (nugget + 4 * of_mean)) / nugget;
    const double log_det = 3 * std::log(nugget) + std::log(nugget + 4 * of_mean);
    sum += 0.5 * (4 * std::log(2 * std::acos(-1.0)) + log_det + q);
  }
  EXPECT_NEAR(choice.table[0].penalised, sum, 1e-8);
}

TEST(ModelChoice, TellsWhyACandidateCouldNotBeFitted) {
  const Samples samples = dug_along(12, 4, {0.9, 0.1, 0.05, 0}, 203);
  std::vector<Candidate> candidates = mean_or_laterals(samples, 12);
  candidates.push_back({"nowhere", candidates[0].form});
  candidates.back().form.trend.push_back(function_term(
      "nowhere", [](const Site&) { return std::numeric_limits<double>::quiet_NaN(); }));
  const ModelChoice choice = choose_model(samples, candidates, quick(), {});
  EXPECT_FALSE(choice.table[2].doubt.empty());
  EXPECT_TRUE(std::isnan(choice.table[2].penalised));
  EXPECT_NE(choice.chosen, 2);
  const ModelChoice none = choose_model(samples, std::span(candidates).subspan(2), quick(), {});
  EXPECT_EQ(none.chosen, -1);
  EXPECT_EQ(none.why, "no model could be fitted");
}

TEST(ModelChoice, LeavesOutEmittersWhereTooFewLateralsWereDug) {
  const Samples samples = dug_along(2, 8, {0.9, 0.1, 0.05, 0}, 204);
  const ModelChoice choice = choose_model(samples, mean_or_laterals(samples, 2), quick(), {});
  EXPECT_GE(choice.chosen, 0);
  EXPECT_NE(choice.why.find("16 emitters"), std::string::npos) << choice.why;
}

TEST(ModelChoice, DependsNeitherOnThreadsNorOnTheOrderOfSamples) {
  const Samples samples = dug_along(10, 4, {0.9, 0.1, 0.06, -0.1}, 205);
  Samples turned(samples.rbegin(), samples.rend());
  const std::vector<Candidate> candidates = line_candidates(field_under(10), samples);
  Work two;
  two.threads = 2;
  const ModelChoice one = choose_model(samples, candidates, quick(), {});
  const ModelChoice by_two = choose_model(samples, candidates, quick(), two);
  const ModelChoice by_turned = choose_model(turned, candidates, quick(), {});
  EXPECT_EQ(one.chosen, by_two.chosen);
  EXPECT_EQ(one.chosen, by_turned.chosen);
  for (std::size_t i = 0; i < one.table.size(); ++i) {
    EXPECT_EQ(one.table[i].penalised, by_two.table[i].penalised);
    EXPECT_NEAR(one.table[i].penalised, by_turned.table[i].penalised, 1e-3);
  }
}

TEST(ModelChoice, RefusesNoCandidatesAndNoSamples) {
  const Samples samples = dug_along(4, 3, {}, 206);
  EXPECT_THROW(choose_model(samples, {}, {}, {}), std::invalid_argument);
  EXPECT_THROW(choose_model({}, mean_or_laterals(samples, 4), {}, {}), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
