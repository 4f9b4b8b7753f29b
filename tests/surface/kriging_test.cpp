// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/estimators.hpp"

#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <numeric>

namespace evendrip {
namespace {

const VariogramModel model{VariogramShape::exponential, 0.05, 1, 30, 0, 1};
const Grid grid{499995, 4100105, 2.5, 44, 44};
const Window whole{0, 0, 44, 44};
const Neighbourhood everything{0, std::numeric_limits<double>::infinity(), 1};

Neighbourhood nearest(int most) {
  return {most, std::numeric_limits<double>::infinity(), 1};
}

bool same_bits(const Raster& a, const Raster& b) {
  return a.reasons == b.reasons && a.values.size() == b.values.size() &&
         std::memcmp(a.values.data(), b.values.data(), a.values.size() * sizeof(float)) == 0;
}

TEST(OrdinaryKriging, ReturnsTheSampleValueAtASamplePoint) {
  const Samples samples = scattered(60);
  for (const Neighbourhood& neighbourhood : {everything, nearest(12)}) {
    const OrdinaryKriging kriging(samples, model, neighbourhood);
    for (std::size_t i = 0; i < samples.size(); i += 7) {
      const auto out = kriging.at(std::vector{samples[i].site.place}, {});
      EXPECT_DOUBLE_EQ(out[0].value, samples[i].value);
      EXPECT_EQ(out[0].variance, 0);
    }
  }
}

TEST(OrdinaryKriging, WeightsSumToOne) {
  const Samples samples = scattered(80);
  for (const VariogramShape shape :
       {VariogramShape::exponential, VariogramShape::spherical, VariogramShape::gaussian,
        VariogramShape::matern32, VariogramShape::matern52, VariogramShape::linear,
        VariogramShape::nugget}) {
    const OrdinaryKriging kriging(samples, {shape, 0.1, 1, 30, 20, 0.7}, nearest(16));
    const auto weights = kriging.weights_at({500037, 4100061});
    EXPECT_EQ(weights.samples.size(), 16U);
    const double sum = std::accumulate(weights.weights.begin(), weights.weights.end(), 0.0);
    EXPECT_NEAR(sum, 1, 1e-10) << to_text(shape);
  }
}

TEST(OrdinaryKriging, WeightsTimesValuesAreThePrediction) {
  const Samples samples = scattered(80);
  const OrdinaryKriging kriging(samples, model, nearest(16));
  const Point place{500037, 4100061};
  const auto weights = kriging.weights_at(place);
  double sum = 0;
  for (std::size_t i = 0; i < weights.samples.size(); ++i)
    sum += weights.weights[i] * samples[static_cast<std::size_t>(weights.samples[i])].value;
  EXPECT_NEAR(kriging.at(std::vector{place}, {})[0].value, sum, 1e-12);
}

TEST(OrdinaryKriging, OfAllNeighboursEqualsTheGlobalOne) {
  const Samples samples = scattered(45);
  const OrdinaryKriging global(samples, model, everything);
  const OrdinaryKriging local(samples, model, {0, 1e6, 1});
  for (double x = 1; x < 100; x += 13) {
    const std::vector<Point> place{{500000 + x, 4100050 + x / 3}};
    const Prediction a = global.at(place, {})[0];
    const Prediction b = local.at(place, {})[0];
    EXPECT_NEAR(a.value, b.value, 1e-11);
    EXPECT_NEAR(a.variance, b.variance, 1e-11);
  }
}

TEST(OrdinaryKriging, OverAGridEqualsPlaceByPlace) {
  const Samples samples = scattered(300);
  for (const Neighbourhood& neighbourhood :
       {everything, nearest(10), Neighbourhood{10, 9, 3}, Neighbourhood{0, 9, 1}}) {
    const OrdinaryKriging kriging(samples, model, neighbourhood);
    const auto surfaces = kriging.over(grid, whole, {}, {});
    std::vector<Point> places;
    for (int r = 0; r < grid.rows; ++r)
      for (int c = 0; c < grid.columns; ++c) places.push_back(grid.centre(r, c));
    const auto single = kriging.at(places, {});
    for (std::size_t i = 0; i < places.size(); ++i) {
      EXPECT_EQ(surfaces.value.has_value(i), std::isfinite(single[i].value));
      if (!surfaces.value.has_value(i)) continue;
      EXPECT_NEAR(surfaces.value.values[i], single[i].value, 1e-6);
      EXPECT_NEAR(surfaces.variance.values[i], single[i].variance, 1e-6);
    }
  }
}

TEST(OrdinaryKriging, OfASquareIsTheMeanOfItsPlacesWhereNoneIsASample) {
  const OrdinaryKriging kriging(scattered(80), model, everything);
  // Two Gauss-Legendre points of a side lie at half of it over the root of 3, weighing the same.
  const double off = 5 / std::sqrt(3.0);
  const Point middle{500041, 4100057};
  const auto at = kriging.at(std::vector<Point>{{middle.x - off, middle.y - off},
                                                {middle.x + off, middle.y - off},
                                                {middle.x - off, middle.y + off},
                                                {middle.x + off, middle.y + off}},
                             {});
  const auto mean = kriging.means_at(std::vector{middle}, 10, 2, {});
  EXPECT_NEAR(mean[0].value, (at[0].value + at[1].value + at[2].value + at[3].value) / 4, 1e-12);
}

TEST(OrdinaryKriging, OfASquareIsSurerThanOfItsMiddleByMoreThanTheNugget) {
  const OrdinaryKriging kriging(scattered(80), model, everything);
  const std::vector<Point> middle{{500041, 4100057}};
  const double place = kriging.at(middle, {})[0].variance;
  EXPECT_LT(kriging.means_at(middle, 10, 4, {})[0].variance, place - model.nugget);
  EXPECT_NEAR(kriging.means_at(middle, 1e-4, 4, {})[0].variance, place - model.nugget, 1e-5);
}

TEST(OrdinaryKriging, OfASquareAboutASampleDoesNotTakeItsValue) {
  const Samples samples = scattered(60);
  for (const Neighbourhood& neighbourhood : {everything, nearest(12)}) {
    const OrdinaryKriging kriging(samples, model, neighbourhood);
    const auto out = kriging.means_at(std::vector{samples[7].site.place}, 5, 4, {});
    EXPECT_GT(out[0].variance, 0);
    EXPECT_GT(std::abs(out[0].value - samples[7].value), 1e-6);
  }
}

TEST(OrdinaryKriging, OfCellsEqualsSquareBySquare) {
  const OrdinaryKriging kriging(scattered(200), model, nearest(12));
  std::vector<std::uint8_t> wanted(whole.cells(), 1);
  wanted[3] = 0;
  Work two;
  two.threads = 2;
  const auto cells = kriging.means_over(grid, whole, wanted, 4, {});
  const auto again = kriging.means_over(grid, whole, wanted, 4, two);
  EXPECT_TRUE(same_bits(cells.value, again.value) && same_bits(cells.variance, again.variance));
  EXPECT_EQ(cells.value.reasons[3], Reason::outside_zones);
  for (int row = 0; row < grid.rows; row += 7) {
    for (int column = 0; column < grid.columns; column += 5) {
      const std::size_t i = grid.index(row, column);
      const auto out = kriging.means_at(std::vector{grid.centre(row, column)}, grid.cell_m, 4, {});
      EXPECT_FLOAT_EQ(cells.value.values[i], static_cast<float>(out[0].value));
      EXPECT_FLOAT_EQ(cells.variance.values[i], static_cast<float>(out[0].variance));
    }
  }
}

TEST(OrdinaryKriging, RefusesASquareWithoutPoints) {
  const OrdinaryKriging kriging(scattered(20), model, nearest(12));
  EXPECT_THROW(kriging.means_at(std::vector<Point>{{500041, 4100057}}, 5, 0, {}),
               std::invalid_argument);
}

TEST(OrdinaryKriging, DoesNotDependOnTheNumberOfThreads) {
  const Samples samples = scattered(300);
  for (const Neighbourhood& neighbourhood : {everything, nearest(12)}) {
    const OrdinaryKriging kriging(samples, model, neighbourhood);
    Work four;
    four.threads = 4;
    const auto one = kriging.over(grid, whole, {}, {});
    const auto many = kriging.over(grid, whole, {}, four);
    EXPECT_TRUE(same_bits(one.value, many.value));
    EXPECT_TRUE(same_bits(one.variance, many.variance));
  }
}

TEST(OrdinaryKriging, DoesNotDependOnTheOrderOfTheSamples) {
  Samples samples = scattered(200);
  samples.push_back(samples[3]);  // two at one place
  samples.back().value += 0.2;
  const auto first = OrdinaryKriging(samples, model, nearest(12)).over(grid, whole, {}, {});
  std::shuffle(samples.begin(), samples.end(), std::mt19937_64(3));
  const auto second = OrdinaryKriging(samples, model, nearest(12)).over(grid, whole, {}, {});
  EXPECT_TRUE(same_bits(first.value, second.value));
  EXPECT_TRUE(same_bits(first.variance, second.variance));
}

TEST(OrdinaryKriging, MergesSamplesAtOnePlaceToTheirMean) {
  Samples samples = scattered(20);
  samples.push_back(samples[5]);
  samples.back().value += 1;
  const OrdinaryKriging kriging(samples, model, everything);
  EXPECT_EQ(kriging.merged(), 1);
  const auto out = kriging.at(std::vector{samples[5].site.place}, {});
  EXPECT_DOUBLE_EQ(out[0].value, samples[5].value + 0.5);
}

TEST(OrdinaryKriging, OfIdenticalValuesIsThatValueEverywhere) {
  Samples samples = scattered(40);
  for (Sample& sample : samples) sample.value = 2.5;
  const auto out = OrdinaryKriging(samples, model, nearest(8)).over(grid, whole, {}, {});
  for (const float value : out.value.values) EXPECT_FLOAT_EQ(value, 2.5F);
}

TEST(OrdinaryKriging, OfOneSampleIsItsValueWithTwiceTheSemivariance) {
  const Samples samples{sample_at(0, 0, 3)};
  for (const Neighbourhood& neighbourhood : {everything, Neighbourhood{4, 100, 1}}) {
    const OrdinaryKriging kriging(samples, model, neighbourhood);
    const auto out = kriging.at(std::vector{Point{12, 5}}, {});
    EXPECT_DOUBLE_EQ(out[0].value, 3);
    EXPECT_NEAR(out[0].variance, 2 * semivariance(model, 13), 1e-14);
  }
}

TEST(OrdinaryKriging, OfNoSamplesOrTooFewHasAReasonAndNoValue) {
  const OrdinaryKriging none({}, model, nearest(8));
  EXPECT_TRUE(std::isnan(none.at(std::vector{Point{0, 0}}, {})[0].value));
  const auto surface = none.over(grid, {0, 0, 2, 2}, {}, {});
  EXPECT_EQ(surface.value.reasons[0], Reason::too_few);
  const Samples samples = scattered(6);
  for (const double within : {1e9, std::numeric_limits<double>::infinity()}) {
    const OrdinaryKriging few(samples, model, {0, within, 7});
    EXPECT_EQ(few.over(grid, whole, {}, {}).value.reasons[0], Reason::too_few);
  }
}

TEST(OrdinaryKriging, SaysFailedWhereTheEquationsAreSingular) {
  // Without any variance every equation reads 0 = 0.
  const VariogramModel empty{VariogramShape::exponential, 0, 0, 10, 0, 1};
  for (const Neighbourhood& neighbourhood : {everything, nearest(5)}) {
    const auto out =
        OrdinaryKriging(scattered(9), empty, neighbourhood).over(grid, {0, 0, 3, 3}, {}, {});
    EXPECT_EQ(out.value.reasons[4], Reason::failed);
    EXPECT_TRUE(std::isnan(out.value.values[4]));
  }
}

TEST(OrdinaryKriging, NeverGivesANumberThatIsNoneFromNearlySingularEquations) {
  // A shape that is smooth at the origin, no nugget, and samples a hair apart.
  Samples samples = scattered(60);
  for (std::size_t i = 0; i < 20; ++i) {
    samples.push_back(samples[i]);
    samples.back().site.place.x += 1e-7;
    samples.back().value += 0.1;
  }
  const VariogramModel smooth{VariogramShape::gaussian, 0, 1, 60, 0, 1};
  for (const Neighbourhood& neighbourhood : {everything, nearest(24)}) {
    const auto out = OrdinaryKriging(samples, smooth, neighbourhood).over(grid, whole, {}, {});
    bool failed = false;
    for (std::size_t i = 0; i < whole.cells(); ++i) {
      EXPECT_EQ(std::isfinite(out.value.values[i]), out.value.has_value(i));
      EXPECT_FALSE(out.variance.values[i] < 0);
      failed = failed || out.value.reasons[i] == Reason::failed;
    }
    EXPECT_TRUE(failed);
  }
}

TEST(OrdinaryKriging, LeavesCellsThatAreNotWantedOutsideTheZones) {
  std::vector<std::uint8_t> wanted(whole.cells(), 0);
  wanted[100] = 1;
  for (const Neighbourhood& neighbourhood : {everything, nearest(5)}) {
    const auto out =
        OrdinaryKriging(scattered(30), model, neighbourhood).over(grid, whole, wanted, {});
    EXPECT_TRUE(out.value.has_value(100));
    EXPECT_EQ(out.value.reasons[99], Reason::outside_zones);
  }
}

TEST(OrdinaryKriging, StretchesDistancesAcrossTheMajorAxis) {
  // North-south axis, ratio 0.5: a sample 5 m east counts as one 10 m away.
  const VariogramModel stretched{VariogramShape::exponential, 0.1, 1, 20, 0, 0.5};
  const VariogramModel plain{VariogramShape::exponential, 0.1, 1, 20, 0, 1};
  const Samples east{sample_at(5, 0, 1), sample_at(0, 8, 2)};
  const Samples twice{sample_at(10, 0, 1), sample_at(0, 8, 2)};
  const std::vector<Point> place{{0, 0}};
  const Prediction a = OrdinaryKriging(east, stretched, everything).at(place, {})[0];
  const Prediction b = OrdinaryKriging(twice, plain, everything).at(place, {})[0];
  EXPECT_NEAR(a.value, b.value, 1e-14);
  EXPECT_NEAR(a.variance, b.variance, 1e-14);
}

}  // namespace
}  // namespace evendrip
