// SPDX-License-Identifier: Apache-2.0
// Association at places of the meuse data of R sp: the modified t test against a direct writing of
// its formulas with whole matrices (statistics_spdep.R), the regression with spatial errors against
// R nlme gls with corExp and a nugget by restricted maximum likelihood.
#include "evendrip/crop/association.hpp"

#include "spdep_oracle.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <vector>

namespace evendrip {
namespace {

class AssociationReference : public testing::Test {
 protected:
  void SetUp() override {
    folder_ = spdep_tables();
    if (!folder_) GTEST_SKIP() << "needs R with spdep, spData, sf, sp and nlme";
    ASSERT_NE(*folder_, "") << "R failed";
    meuse_ = read_columns(*folder_ / "meuse.csv");
    for (std::size_t i = 0; i < meuse_.at("x").size(); ++i)
      places_.push_back({meuse_.at("x")[i], meuse_.at("y")[i]});
    ASSERT_EQ(places_.size(), 155U);
  }

  std::optional<std::filesystem::path> folder_;
  Columns meuse_;
  std::vector<Point> places_;
};

TEST_F(AssociationReference, ModifiedTTestAgreesWithWholeMatrices) {
  const Columns theirs = read_columns(*folder_ / "modified_t.csv");
  const ModifiedTTest ours[] = {
      modified_t_test(places_, meuse_.at("z"), meuse_.at("root"), 14),
      modified_t_test(places_, meuse_.at("z"), meuse_.at("elev")),  // Sturges: 14
      modified_t_test(places_, meuse_.at("root"), meuse_.at("elev"), 8)};
  for (std::size_t k = 0; k < 3; ++k) {
    EXPECT_NEAR(ours[k].correlation, theirs.at("correlation")[k], 1e-12);
    EXPECT_NEAR(ours[k].effective_pairs, theirs.at("effective")[k], 1e-9);
    EXPECT_NEAR(ours[k].t, theirs.at("t")[k], 1e-9);
    EXPECT_NEAR(ours[k].p, theirs.at("p")[k], 1e-9 * theirs.at("p")[k]);
  }
}

TEST_F(AssociationReference, RegressionAgreesWithGls) {
  const Columns table = read_columns(*folder_ / "spatial_regression.csv");
  const auto theirs = [&](const char* name) { return table.at(name).at(0); };
  const SpatialRegression ours = spatial_regression(places_, meuse_.at("root"), meuse_.at("z"), {});
  EXPECT_TRUE(ours.converged);
  EXPECT_NEAR(ours.intercept, theirs("intercept"), 1e-3 * theirs("slope_error"));
  EXPECT_NEAR(ours.slope, theirs("slope"), 1e-3 * theirs("slope_error"));
  EXPECT_NEAR(ours.slope_error, theirs("slope_error"), 1e-3 * theirs("slope_error"));
  EXPECT_NEAR(std::log(ours.slope_p), std::log(theirs("slope_p")), 0.05);
  EXPECT_NEAR(ours.error_range_m, theirs("range"), 2e-3 * theirs("range"));
  EXPECT_NEAR(ours.error_share, theirs("share"), 2e-3);
}

}  // namespace
}  // namespace evendrip
