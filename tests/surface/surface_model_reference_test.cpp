// SPDX-License-Identifier: Apache-2.0
// Fits by restricted maximum likelihood against R nlme: as committed in
// tests/reference/surface_fits.txt, and run at test time on the meuse data of R sp.
#include "evendrip/surface/surface_model.hpp"

#include "gstat_oracle.hpp"
#include "reference_table.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace evendrip {
namespace {

namespace fs = std::filesystem;

/// What the peer found.
struct Fitted {
  double log_likelihood, variance, range_m, lateral, nugget;
  std::vector<double> coefficients, errors;
};

std::optional<fs::path> likelihood_tables() {
  const fs::path script = fs::path(EVENDRIP_TEST_DATA) / "surface" / "write_likelihood_oracles.sh";
  const fs::path folder = fs::path(EVENDRIP_TEST_OUTPUT) / "surface_nlme";
  const std::string run = "bash '" + script.string() + "' '" + folder.string() + "' >/dev/null";
  if (std::system(run.c_str()) != 0) return fs::path();
  if (!fs::exists(folder / "lines_shared_along.csv")) return std::nullopt;
  return folder;
}

Fitted fitted_in(const fs::path& file) {
  Columns columns = read_columns(file);
  const auto number = [&](const std::string& name) { return columns.at(name).at(0); };
  Fitted fitted{number("log_likelihood"), number("variance"), number("range"),
                number("lateral"),        number("nugget"),   {number("b0")},
                {number("b0_error")}};
  if (std::isfinite(number("b1"))) {
    fitted.coefficients.push_back(number("b1"));
    fitted.errors.push_back(number("b1_error"));
  }
  return fitted;
}

CovarianceTerm ground(VariogramShape shape, double range_m) {
  return {"local", 0.5, {{Metric::plane, shape, range_m, 0, 1}}};
}

/// The model with the numbers that the peer found.
SurfaceModel with_numbers_of(const Fitted& fitted, SurfaceModel model) {
  model.nugget = fitted.nugget;
  for (CovarianceTerm& term : model.covariance.terms) {
    term.variance = term.name == "lateral" ? fitted.lateral : fitted.variance;
    if (term.name != "lateral") term.factors[0].range_m = fitted.range_m;
  }
  return model;
}

void expect_trend(const SurfaceFit& ours, const Fitted& fitted) {
  ASSERT_EQ(ours.coefficients.size(), fitted.coefficients.size());
  for (std::size_t k = 0; k < fitted.coefficients.size(); ++k) {
    EXPECT_NEAR(ours.coefficients[k], fitted.coefficients[k], 1e-3 * fitted.errors[k]);
    EXPECT_NEAR(ours.coefficient_errors[k], fitted.errors[k], 1e-3 * fitted.errors[k]);
  }
}

void expect_fit(const SurfaceObservations& observations, const SurfaceModel& form,
                const Fitted& fitted) {
  const auto there = restricted_likelihood(observations, with_numbers_of(fitted, form), false);
  ASSERT_TRUE(there);
  EXPECT_NEAR(there->log_likelihood, fitted.log_likelihood, 1e-7);
  const SurfaceFit ours = fit_surface(observations, form, {}, {});
  EXPECT_TRUE(ours.converged);
  ASSERT_EQ(ours.why, "");
  EXPECT_NEAR(ours.log_likelihood, fitted.log_likelihood, 1e-6);
  ASSERT_EQ(ours.model.covariance.terms.size(), form.covariance.terms.size());
  EXPECT_NEAR(ours.model.nugget, fitted.nugget, 2e-3 * fitted.nugget);
  for (const CovarianceTerm& term : ours.model.covariance.terms) {
    const double variance = term.name == "lateral" ? fitted.lateral : fitted.variance;
    EXPECT_NEAR(term.variance, variance, 2e-3 * variance);
    if (term.name == "lateral") continue;
    EXPECT_NEAR(term.factors[0].range_m, fitted.range_m, 2e-3 * fitted.range_m);
  }
  expect_trend(ours, fitted);
}

TrendTerm station() {
  return function_term("station", [](const Site& site) { return site.station_m; });
}

SurfaceObservations committed_points() {
  Samples samples;
  for (const auto& row : test::reference_table("surface_fits.txt")) {
    if (row[0] != "point") continue;
    const Site site{
        {std::stod(row[3]), std::stod(row[4])}, std::stoi(row[1]), std::stod(row[2]), 0};
    samples.push_back({site, std::stod(row[5]), 0});
  }
  return observations_of(samples);
}

Fitted committed_fit(const std::string& name) {
  for (const auto& row : test::reference_table("surface_fits.txt")) {
    if (row[0] != "fit" || row[1] != name) continue;
    std::vector<double> numbers;
    for (std::size_t k = 2; k < row.size(); ++k) numbers.push_back(std::stod(row[k]));
    return {numbers[0],
            numbers[1],
            numbers[2],
            numbers[3],
            numbers[4],
            {numbers[5], numbers[6]},
            {numbers[7], numbers[8]}};
  }
  ADD_FAILURE() << "no fit " << name;
  return {};
}

SurfaceModel lines_form(const std::string& name) {
  const CovarianceTerm along{
      "along", 0.005, {{Metric::along_lateral, VariogramShape::exponential, 10, 0, 1}}};
  const CovarianceTerm lateral{
      "lateral", 0.005, {{Metric::same_lateral, VariogramShape::exponential, 1, 0, 1}}};
  SurfaceModel form{{constant_term(), station()}, 0, {}, 0.002};
  if (name == "lines_ground") form.covariance.terms = {ground(VariogramShape::exponential, 15)};
  if (name == "lines_along") form.covariance.terms = {along};
  if (name == "lines_shared") form.covariance.terms = {lateral};
  if (name == "lines_shared_along") form.covariance.terms = {lateral, along};
  return form;
}

class LinesReference : public testing::TestWithParam<std::string> {};

TEST_P(LinesReference, AgreeWithTheCommittedFit) {
  expect_fit(committed_points(), lines_form(GetParam()), committed_fit(GetParam()));
}

TEST_P(LinesReference, AgreeWithNlmeAsItIsHere) {
  const auto folder = likelihood_tables();
  if (!folder) GTEST_SKIP() << "needs R with nlme and sp";
  expect_fit(committed_points(), lines_form(GetParam()),
             fitted_in(*folder / (GetParam() + ".csv")));
}

INSTANTIATE_TEST_SUITE_P(Models, LinesReference,
                         testing::Values("lines_ground", "lines_along", "lines_shared",
                                         "lines_shared_along"),
                         [](const auto& instance) { return instance.param; });

struct MeuseCase {
  std::string name;
  VariogramShape shape = VariogramShape::exponential;
  bool with_trend = true;
};

class MeuseReference : public testing::TestWithParam<MeuseCase> {
 protected:
  void SetUp() override {
    const auto folder = likelihood_tables();
    if (!folder) GTEST_SKIP() << "needs R with nlme and sp";
    fitted_ = fitted_in(*folder / (GetParam().name + ".csv"));
    const Columns meuse = read_columns(*folder / "meuse.csv");
    Samples samples;
    for (std::size_t i = 0; i < meuse.at("x").size(); ++i) {
      Sample sample;
      sample.site.place = {meuse.at("x")[i], meuse.at("y")[i]};
      sample.site.station_m = meuse.at("root")[i];  // carries the root of the distance to the river
      sample.value = meuse.at("z")[i];
      samples.push_back(sample);
    }
    ASSERT_EQ(samples.size(), 155U);
    observations_ = observations_of(samples);
    form_.trend = {constant_term()};
    if (GetParam().with_trend) form_.trend.push_back(station());
    form_.covariance.terms = {ground(GetParam().shape, 300)};
    form_.nugget = 0.1;
  }
  SurfaceObservations observations_;
  SurfaceModel form_;
  Fitted fitted_;
};

using MeuseFits = MeuseReference;
TEST_P(MeuseFits, AgreeWithNlme) {
  expect_fit(observations_, form_, fitted_);
}
INSTANTIATE_TEST_SUITE_P(
    Models, MeuseFits,
    testing::Values(MeuseCase{"meuse_root_exponential", VariogramShape::exponential, true},
                    MeuseCase{"meuse_root_spherical", VariogramShape::spherical, true},
                    MeuseCase{"meuse_root_gaussian", VariogramShape::gaussian, true},
                    MeuseCase{"meuse_constant_spherical", VariogramShape::spherical, false},
                    MeuseCase{"meuse_constant_gaussian", VariogramShape::gaussian, false}),
    [](const auto& instance) { return instance.param.name; });

using MeuseWithoutEnd = MeuseReference;
TEST_P(MeuseWithoutEnd, HasTheLikelihoodOfNlmeAndItsRangeIsToldAsFlat) {
  const auto there = restricted_likelihood(observations_, with_numbers_of(fitted_, form_), false);
  ASSERT_TRUE(there);
  EXPECT_NEAR(there->log_likelihood, fitted_.log_likelihood, 1e-7);
  FitOptions options;
  options.profile_ranges = true;
  const SurfaceFit fit = fit_surface(observations_, form_, options, {});
  EXPECT_GT(fit.log_likelihood, fitted_.log_likelihood);
  ASSERT_EQ(fit.parameters.size(), 3U);
  EXPECT_EQ(fit.parameters[1].name, "local: range");
  EXPECT_TRUE(std::isnan(fit.parameters[1].log_error));
  EXPECT_TRUE(std::isinf(fit.parameters[1].upper));
  EXPECT_GT(fit.parameters[1].lower, 100);
  EXPECT_FALSE(fit.remarks.empty());
}
INSTANTIATE_TEST_SUITE_P(Models, MeuseWithoutEnd,
                         testing::Values(MeuseCase{"meuse_constant_exponential_held",
                                                   VariogramShape::exponential, false}),
                         [](const auto& instance) { return instance.param.name; });

}  // namespace
}  // namespace evendrip
