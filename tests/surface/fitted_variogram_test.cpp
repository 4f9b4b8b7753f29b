// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/fitted_variogram.hpp"

#include <gtest/gtest.h>

#include "mapped_field.hpp"

namespace evendrip {
namespace {

TEST(FittedVariogram, SetsTheModelBesideTheMomentsOfEachDirection) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, test::survey_of(field));
  const auto fitted = fitted_variogram(field, map);
  ASSERT_TRUE(fitted);
  EXPECT_NEAR(std::abs(fitted->azimuth_deg), 90, 1e-9);  // from west to east, either way
  EXPECT_FALSE(fitted->moment.along.empty());
  EXPECT_EQ(fitted->model_along.size(), fitted->moment.along.size());
  EXPECT_EQ(fitted->model_across.size(), fitted->moment.across.size());
  for (std::size_t i = 1; i < fitted->model_along.size(); ++i)
    EXPECT_GE(fitted->model_along[i], fitted->model_along[i - 1] - 1e-12);
}

TEST(FittedVariogram, IsNoneWhereNothingWasFittedOrThereIsNoLateral) {
  Field field = test::field_of_laterals();
  EXPECT_FALSE(fitted_variogram(field, test::map_of(field, Survey{})));
  const Survey survey = test::survey_of(field);
  const DischargeMap map = test::map_of(field, survey);
  field.laterals.clear();
  EXPECT_FALSE(fitted_variogram(field, map));
}

}  // namespace
}  // namespace evendrip
