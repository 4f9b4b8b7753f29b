// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/trend.hpp"

#include "surface_sites.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

namespace evendrip {
namespace {

/// Two zones, laterals of 100 and 50 m.
Field two_laterals() {
  Field field;
  field.zones.resize(2);
  field.zones[1].id = "north";
  field.laterals.resize(2);
  field.laterals[0].length_m = 100;
  field.laterals[1].length_m = 50;
  return field;
}

double value_of(const TrendTerm& term, const Site& site) {
  double value = -1;
  term.fill({&site, 1}, {&value, 1});
  return value;
}

TEST(SurfaceTrend, HoldsTheTermsAsColumns) {
  const Field field = two_laterals();
  const std::vector<Site> sites{{{0, 0}, 0, 25, 0}, {{0, 0}, 1, 25, 1}};
  const SurfaceTrend trend{constant_term(), zone_term(field, 1), station_term(field, 1),
                           station_term(field, 2), near_end_term(field, 10)};
  Matrix columns(2, 5);
  fill(trend, sites, columns.view());
  const std::vector<double> expected{
      1, 1, 0, 1, 0.25, 0.5, 0.0625, 0.25, std::exp(-7.5), std::exp(-2.5)};
  for (std::size_t k = 0; k < expected.size(); ++k)
    EXPECT_NEAR(columns.elements[k], expected[k], 1e-15);
  EXPECT_EQ(trend[1].name, "zone north");
  EXPECT_EQ(trend[3].name, "station to the 2");
}

TEST(SurfaceTrend, OutlivesTheFieldItWasMadeFrom) {
  TrendTerm term;
  {
    const Field field = two_laterals();
    term = station_term(field, 1);
  }
  EXPECT_DOUBLE_EQ(value_of(term, {{0, 0}, 1, 10, 0}), 0.2);
}

TEST(StationTerms, HaveNoValueWithoutALateral) {
  const Field field = two_laterals();
  EXPECT_TRUE(std::isnan(value_of(station_term(field, 1), {})));
  EXPECT_TRUE(std::isnan(value_of(near_end_term(field, 5), {})));
  EXPECT_THROW(station_term(field, 0), std::invalid_argument);
  EXPECT_THROW(near_end_term(field, 0), std::invalid_argument);
}

TEST(NearEndTerm, IsOneAtTheEndAndFallsOffWithItsReach) {
  const TrendTerm term = near_end_term(two_laterals(), 20);
  EXPECT_DOUBLE_EQ(value_of(term, {{0, 0}, 0, 100, 0}), 1);
  EXPECT_DOUBLE_EQ(value_of(term, {{0, 0}, 0, 100.01, 0}), 1);
  EXPECT_NEAR(value_of(term, {{0, 0}, 0, 80, 0}), std::exp(-1), 1e-15);
}

TEST(RasterTerm, ReadsBetweenTheCellsAndHasNoValueBeyond) {
  const auto raster = std::make_shared<Raster>(Grid{0, 2, 1, 2, 2});
  for (std::size_t i = 0; i < 4; ++i) raster->set(i, static_cast<double>(i));
  const TrendTerm term = raster_term("height", raster);
  EXPECT_EQ(term.name, "height");
  EXPECT_DOUBLE_EQ(value_of(term, {{1, 1}, -1, 0, -1}), 1.5);
  EXPECT_DOUBLE_EQ(value_of(term, {{0.5, 1.5}, -1, 0, -1}), 0);
  EXPECT_TRUE(std::isnan(value_of(term, {{9, 9}, -1, 0, -1})));
  EXPECT_THROW(raster_term("none", nullptr), std::invalid_argument);
}

TEST(FunctionTerm, IsTheFunction) {
  const TrendTerm term = function_term("east", [](const Site& site) { return site.place.x; });
  EXPECT_EQ(value_of(term, {{12.5, 0}, -1, 0, -1}), 12.5);
}

TEST(SurfaceTrend, RefusesAMatrixOfAnotherSize) {
  const std::vector<Site> sites(3);
  Matrix columns(2, 1);
  EXPECT_THROW(fill(SurfaceTrend{constant_term()}, sites, columns.view()), std::invalid_argument);
  Matrix none(3, 0);
  EXPECT_NO_THROW(fill(SurfaceTrend{}, sites, none.view()));
}

TEST(Trend, OfSumsIsTheSumOfTheTrend) {
  const Field field = two_laterals();
  const SurfaceObservations sums{{{{{0, 0}, 0, 20, 0}, {{0, 0}, 0, 60, 0}}, {0.25, 0.5}, 0, 0},
                                 {{{{0, 0}, 1, 25, 1}}, {2}, 0, 0}};
  Matrix columns(2, 2);
  fill(SurfaceTrend{constant_term(), station_term(field, 1)}, sums, columns.view());
  EXPECT_DOUBLE_EQ(columns(0, 0), 0.75);
  EXPECT_DOUBLE_EQ(columns(0, 1), 0.25 * 0.2 + 0.5 * 0.6);
  EXPECT_DOUBLE_EQ(columns(1, 0), 2);
  EXPECT_DOUBLE_EQ(columns(1, 1), 1);
  const SurfaceObservations lost{{{Site{}}, {1}, 0, 0}};
  Matrix row(1, 1);
  EXPECT_THROW(fill(SurfaceTrend{station_term(field, 1)}, lost, row.view()), std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
