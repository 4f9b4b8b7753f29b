// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/prediction.hpp"

#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>
#include <random>
#include <stdexcept>
#include <stop_token>

#include <Eigen/Dense>

#include "evendrip/base/error.hpp"

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

CovarianceTerm term_of(const char* name, double variance, std::vector<CorrelationFactor> factors) {
  return {name, variance, std::move(factors)};
}

/// What laterals share, what lies close on one lateral, and what lies close on the ground.
CovarianceModel line_aware() {
  return {{term_of("laterals", 0.3, {{Metric::same_lateral}}),
           term_of("along", 0.5, {{Metric::along_lateral, VariogramShape::matern32, 25}}),
           term_of("local", 0.8, {{Metric::plane, VariogramShape::exponential, 30, 20, 0.6}})}};
}

CovarianceModel plane(VariogramShape shape, double range_m) {
  return {{term_of("local", 1, {{Metric::plane, shape, range_m}})}};
}

TrendTerm station_trend() {
  return function_term("station", [](const Site& s) { return s.station_m / 50; });
}
TrendTerm north_trend() {
  return function_term("north", [](const Site& s) { return (s.place.y - 4100050) / 40; });
}

/// Sites on laterals 5 m apart, 100 m long, running east; a zone for each half.
Site site_on(int lateral, double station_m) {
  Site site;
  site.place = {500000 + station_m, 4100000 + 5.0 * lateral};
  site.lateral = lateral;
  site.station_m = station_m;
  site.zone = lateral < 10 ? 0 : 1;
  return site;
}

SurfaceObservations digs(std::size_t count, double noise, unsigned seed = 11) {
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> station(0, 100);
  std::uniform_int_distribution<int> lateral(0, 19);
  std::normal_distribution<double> normal;
  SurfaceObservations out;
  for (std::size_t i = 0; i < count; ++i) {
    const Site site = site_on(lateral(random), station(random));
    const double value = 1 + 0.3 * std::sin(site.place.x / 17) + 0.1 * normal(random);
    out.push_back({{site}, {1}, value, noise});
  }
  return out;
}

/// Besides points a mean over a stretch and a total over two laterals.
SurfaceObservations mixed(std::size_t count) {
  SurfaceObservations out = digs(count, 0.02);
  SurfaceObservation stretch;
  for (int k = 0; k < 9; ++k) stretch.sites.push_back(site_on(4, 30 + k));
  stretch.weights.assign(9, 1.0 / 9);
  stretch.value = 1.2;
  stretch.noise_variance = 0.01;
  SurfaceObservation total = stretch;
  for (Site& site : total.sites) site = site_on(12, site.station_m + 20);
  total.weights.assign(9, 2.0);
  total.value = 17;
  out.push_back(stretch);
  out.push_back(total);
  return out;
}

std::vector<Site> some_sites(std::size_t count, unsigned seed = 3) {
  std::vector<Site> out;
  for (const SurfaceObservation& o : digs(count, 0, seed)) out.push_back(o.sites[0]);
  return out;
}

/// Cells of 2 m over the laterals; what lies south of them is in no zone.
struct Map {
  Grid grid{499990, 4100104, 2, 60, 58};
  Window window{0, 0, 58, 60};
  std::vector<Site> sites;
  Map() {
    for (int r = 0; r < grid.rows; ++r) {
      for (int c = 0; c < grid.columns; ++c) {
        const Point p = grid.centre(r, c);
        const double lateral = std::round((p.y - 4100000) / 5);
        Site site;
        if (lateral >= 0 && lateral < 20)
          site = site_on(static_cast<int>(lateral), std::clamp(p.x - 500000, 0.0, 100.0));
        site.place = p;
        sites.push_back(site);
      }
    }
  }
};

double weighted_covariance(const CovarianceModel& model, const SurfaceObservation& a,
                           const SurfaceObservation& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.sites.size(); ++i)
    for (std::size_t j = 0; j < b.sites.size(); ++j)
      sum += a.weights[i] * b.weights[j] * covariance(model, a.sites[i], b.sites[j]);
  return sum;
}

Eigen::VectorXd trend_of(const SurfaceTrend& trend, const SurfaceObservation& a) {
  Eigen::VectorXd out = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(trend.size()));
  for (std::size_t i = 0; i < a.sites.size(); ++i) {
    for (std::size_t j = 0; j < trend.size(); ++j) {
      double value = 0;
      trend[j].fill({&a.sites[i], 1}, {&value, 1});
      out[static_cast<Eigen::Index>(j)] += a.weights[i] * value;
    }
  }
  return out;
}

/// The bordered equations as the textbooks have them, by Gaussian elimination.
Prediction brute(const SurfaceObservations& observations, const SurfaceModel& model, Target target,
                 const SurfaceObservation& place) {
  const auto n = static_cast<Eigen::Index>(observations.size());
  const auto p = static_cast<Eigen::Index>(model.trend.size());
  Eigen::MatrixXd a = Eigen::MatrixXd::Zero(n + p, n + p);
  Eigen::VectorXd right(n + p);
  Eigen::VectorXd y(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const SurfaceObservation& own = observations[static_cast<std::size_t>(i)];
    double weights = 0;
    double squares = 0;
    for (const double w : own.weights) {
      weights += w;
      squares += w * w;
    }
    y[i] = own.value - (p == 0 ? model.known_mean * weights : 0);
    for (Eigen::Index j = 0; j < n; ++j)
      a(i, j) =
          weighted_covariance(model.covariance, own, observations[static_cast<std::size_t>(j)]);
    a(i, i) += own.noise_variance + model.nugget * squares;
    a.block(i, n, 1, p) = trend_of(model.trend, own).transpose();
    a.block(n, i, p, 1) = trend_of(model.trend, own);
    right[i] = weighted_covariance(model.covariance, own, place);
  }
  right.tail(p) = trend_of(model.trend, place);
  const Eigen::VectorXd solved = a.fullPivLu().solve(right);
  double own = weighted_covariance(model.covariance, place, place);
  if (target == Target::emitter)
    for (const double w : place.weights) own += w * w * model.nugget;
  return {(p == 0 ? model.known_mean : 0) + solved.head(n).dot(y), own - solved.dot(right)};
}

bool same_bits(const Raster& a, const Raster& b) {
  return a.reasons == b.reasons && a.values.size() == b.values.size() &&
         std::memcmp(a.values.data(), b.values.data(), a.values.size() * sizeof(float)) == 0;
}

TEST(SurfacePredictor, SolvesTheEquationsOfTheTextbooks) {
  const SurfaceObservations observations = mixed(40);
  const std::vector<Site> sites = some_sites(25);
  for (const SurfaceTrend& trend :
       {SurfaceTrend{}, SurfaceTrend{constant_term()},
        SurfaceTrend{constant_term(), station_trend(), north_trend()}}) {
    const SurfaceModel model{trend, 0.9, line_aware(), 0.05};
    for (const Target target : {Target::surface, Target::emitter}) {
      const SurfacePredictor predictor(observations, model, {DataUse::all, 32, target});
      const std::vector<Prediction> out = predictor.at(sites, {});
      for (std::size_t i = 0; i < sites.size(); ++i) {
        const Prediction expected = brute(observations, model, target, {{sites[i]}, {1}, 0, 0});
        EXPECT_NEAR(out[i].value, expected.value, 1e-10);
        EXPECT_NEAR(out[i].variance, expected.variance, 1e-10);
      }
    }
  }
}

TEST(SurfacePredictor, SolvesThemForMeansOverBlocks) {
  const SurfaceObservations observations = mixed(30);
  const SurfaceModel model{{constant_term(), station_trend()}, 0, line_aware(), 0.05};
  std::vector<Block> blocks;
  for (int b = 0; b < 11; ++b) {
    Block block;
    for (int k = 0; k < 3 + b; ++k) block.sites.push_back(site_on(2 * b % 20, 8 * b + 1.5 * k));
    block.weights.assign(block.sites.size(), 1.0 / (3 + b));
    blocks.push_back(block);
  }
  for (const Target target : {Target::surface, Target::emitter}) {
    const SurfacePredictor predictor(observations, model, {DataUse::all, 32, target});
    const std::vector<Prediction> out = predictor.means(blocks, {});
    for (std::size_t i = 0; i < blocks.size(); ++i) {
      const Prediction expected =
          brute(observations, model, target, {blocks[i].sites, blocks[i].weights, 0, 0});
      EXPECT_NEAR(out[i].value, expected.value, 1e-10);
      EXPECT_NEAR(out[i].variance, expected.variance, 1e-10);
    }
  }
}

TEST(SurfacePredictor, GivesABlockTheMeanOfItsSitesAndNoMoreThanTheirMeanVariance) {
  const SurfaceModel model{{constant_term(), north_trend()}, 0, line_aware(), 0.05};
  const SurfacePredictor predictor(mixed(50), model, {});
  Block block;
  block.sites = some_sites(17, 8);
  block.weights.assign(17, 1.0 / 17);
  double value = 0;
  double variance = 0;
  for (const Prediction& p : predictor.at(block.sites, {})) {
    value += p.value / 17;
    variance += p.variance / 17;
  }
  const Block one{{block.sites[0]}, {1}};
  const std::vector<Block> blocks{block, one};
  const std::vector<Prediction> out = predictor.means(blocks, {});
  EXPECT_NEAR(out[0].value, value, 1e-12);
  EXPECT_LT(out[0].variance, variance);
  EXPECT_GT(out[0].variance, 0);
  const Prediction single = predictor.at(one.sites, {})[0];
  EXPECT_NEAR(out[1].value, single.value, 1e-13);
  EXPECT_NEAR(out[1].variance, single.variance, 1e-13);
}

TEST(SurfacePredictor, ReturnsWhatWasObservedWhereThereIsNoNoise) {
  const SurfaceObservations observations = digs(60, 0);
  const SurfaceModel model{{constant_term(), station_trend()}, 0, line_aware(), 0};
  std::vector<Site> sites;
  for (const SurfaceObservation& o : observations) sites.push_back(o.sites[0]);
  for (const DataUse use : {DataUse::all, DataUse::nearest, DataUse::common}) {
    const std::vector<Prediction> out =
        SurfacePredictor(observations, model, {use, 12, Target::surface}).at(sites, {});
    for (std::size_t i = 0; i < sites.size(); ++i) {
      EXPECT_NEAR(out[i].value, observations[i].value, 1e-11);
      EXPECT_NEAR(out[i].variance, 0, 1e-12);
      EXPECT_GE(out[i].variance, 0);
    }
  }
}

TEST(SurfacePredictor, ReproducesAnyMultipleOfItsTrend) {
  SurfaceObservations observations = mixed(40);
  const SurfaceTrend trend{constant_term(), station_trend(), north_trend()};
  const SurfaceModel model{trend, 0, line_aware(), 0.1};
  for (SurfaceObservation& o : observations)
    o.value = trend_of(trend, o).dot(Eigen::Vector3d(3, -0.7, 0.4));
  const std::vector<Site> sites = some_sites(40);
  for (const DataUse use : {DataUse::all, DataUse::nearest}) {
    const std::vector<Prediction> out =
        SurfacePredictor(observations, model, {use, 24, Target::surface}).at(sites, {});
    for (std::size_t i = 0; i < sites.size(); ++i)
      EXPECT_NEAR(out[i].value,
                  trend_of(trend, {{sites[i]}, {1}, 0, 0}).dot(Eigen::Vector3d(3, -0.7, 0.4)),
                  1e-10);
  }
}

TEST(SurfacePredictor, IsLeastSquaresWhereNothingIsShared) {
  const SurfaceObservations observations = digs(30, 0);
  const SurfaceModel model{{constant_term(), north_trend()}, 0, {}, 0.2};
  Eigen::MatrixXd x(30, 2);
  Eigen::VectorXd y(30);
  for (Eigen::Index i = 0; i < 30; ++i) {
    x.row(i) = trend_of(model.trend, observations[static_cast<std::size_t>(i)]);
    y[i] = observations[static_cast<std::size_t>(i)].value;
  }
  const Eigen::MatrixXd inverse = (x.transpose() * x).inverse();
  const Eigen::VectorXd b = inverse * x.transpose() * y;
  const std::vector<Site> sites = some_sites(9);
  const auto out = SurfacePredictor(observations, model, {}).at(sites, {});
  const auto emitters =
      SurfacePredictor(observations, model, {DataUse::all, 32, Target::emitter}).at(sites, {});
  for (std::size_t i = 0; i < sites.size(); ++i) {
    const Eigen::VectorXd x0 = trend_of(model.trend, {{sites[i]}, {1}, 0, 0});
    EXPECT_NEAR(out[i].value, x0.dot(b), 1e-12);
    EXPECT_NEAR(out[i].variance, 0.2 * x0.dot(inverse * x0), 1e-12);
    EXPECT_NEAR(emitters[i].variance, out[i].variance + 0.2, 1e-12);
  }
}

TEST(SurfacePredictor, NeverKnowsLessThanBeforeNorMoreThanEverything) {
  for (const VariogramShape shape :
       {VariogramShape::exponential, VariogramShape::spherical, VariogramShape::matern52}) {
    const SurfaceModel model{{}, 1, plane(shape, 20), 1e-4};
    for (const DataUse use : {DataUse::all, DataUse::nearest, DataUse::common}) {
      const SurfacePredictor predictor(digs(150, 0), model, {use, 16, Target::surface});
      const Map map;
      const auto out = predictor.over(map.grid, map.window, map.sites, {});
      for (std::size_t i = 0; i < map.sites.size(); ++i) {
        if (!out.variance.has_value(i)) continue;
        EXPECT_GE(out.variance.values[i], 0);
        EXPECT_LE(out.variance.values[i], 1 + 1e-6);
      }
    }
  }
}

TEST(SurfacePredictor, WithEveryObservationNearIsThatOfAll) {
  const SurfaceObservations observations = mixed(60);
  const SurfaceModel model{{constant_term(), station_trend()}, 0, line_aware(), 0.05};
  const std::vector<Site> sites = some_sites(70);
  const auto all = SurfacePredictor(observations, model, {DataUse::all}).at(sites, {});
  for (const DataUse use : {DataUse::nearest, DataUse::common}) {
    const SurfacePredictor predictor(observations, model, {use, 62, Target::surface});
    EXPECT_EQ(predictor.use_text(), "all 62 measurements");
    const auto out = predictor.at(sites, {});
    for (std::size_t i = 0; i < sites.size(); ++i) {
      EXPECT_NEAR(out[i].value, all[i].value, 1e-12);
      EXPECT_NEAR(out[i].variance, all[i].variance, 1e-12);
    }
  }
}

TEST(SurfacePredictor, OverAGridEqualsPlaceByPlace) {
  const Map map;
  const SurfaceModel model{{constant_term(), station_trend()}, 0, line_aware(), 0.05};
  for (const DataUse use : {DataUse::all, DataUse::nearest}) {
    const SurfacePredictor predictor(mixed(90), model, {use, 20, Target::surface});
    const auto out = predictor.over(map.grid, map.window, map.sites, {});
    const auto single = predictor.at(map.sites, {});
    for (std::size_t i = 0; i < map.sites.size(); ++i) {
      if (map.sites[i].zone < 0) {
        EXPECT_EQ(out.value.reasons[i], Reason::outside_zones);
        continue;
      }
      ASSERT_TRUE(out.value.has_value(i));
      EXPECT_NEAR(out.value.values[i], single[i].value, 3e-7);
      EXPECT_NEAR(out.variance.values[i], single[i].variance, 3e-7);
    }
  }
}

TEST(SurfacePredictor, OfCommonNeighboursStaysCloseToThatOfAll) {
  const Map map;
  const SurfaceModel model{{constant_term()}, 0, plane(VariogramShape::exponential, 30), 0.3};
  const SurfaceObservations observations = digs(600, 0);
  const auto all = SurfacePredictor(observations, model, {DataUse::all})
                       .over(map.grid, map.window, map.sites, {});
  const auto common = SurfacePredictor(observations, model, {DataUse::common, 32, Target::surface})
                          .over(map.grid, map.window, map.sites, {});
  double squares = 0;
  double cells = 0;
  for (std::size_t i = 0; i < map.sites.size(); ++i) {
    if (!all.value.has_value(i)) continue;
    const double off = static_cast<double>(common.value.values[i] - all.value.values[i]);
    EXPECT_GE(common.variance.values[i], all.variance.values[i] - 1e-6F);
    squares += off * off / static_cast<double>(all.variance.values[i]);
    cells += 1;
  }
  // Small beside the error of the prediction itself.
  EXPECT_LT(std::sqrt(squares / cells), 0.25);
  EXPECT_GT(squares, 0);
}

TEST(SurfacePredictor, DoesNotDependOnTheNumberOfThreads) {
  const Map map;
  const SurfaceModel model{{constant_term(), station_trend()}, 0, line_aware(), 0.05};
  Work four;
  four.threads = 4;
  for (const DataUse use : {DataUse::all, DataUse::nearest, DataUse::common}) {
    const SurfacePredictor predictor(mixed(80), model, {use, 16, Target::surface});
    const auto one = predictor.over(map.grid, map.window, map.sites, {});
    const auto many = predictor.over(map.grid, map.window, map.sites, four);
    EXPECT_TRUE(same_bits(one.value, many.value));
    EXPECT_TRUE(same_bits(one.variance, many.variance));
  }
}

TEST(SurfacePredictor, DoesNotDependOnHowTheGridIsCutIntoWindows) {
  const Map map;
  const SurfaceModel model{{constant_term(), station_trend()}, 0, line_aware(), 0.05};
  for (const DataUse use : {DataUse::all, DataUse::nearest, DataUse::common}) {
    const SurfacePredictor predictor(mixed(80), model, {use, 16, Target::surface});
    const auto whole = predictor.over(map.grid, map.window, map.sites, {});
    for (int row = 0; row < map.grid.rows; row += 5) {
      const Window window{row, 0, std::min(5, map.grid.rows - row), map.grid.columns};
      const std::size_t first = map.grid.index(row, 0);
      const auto part =
          predictor.over(map.grid, window, std::span(map.sites).subspan(first, window.cells()), {});
      for (std::size_t i = 0; i < window.cells(); ++i) {
        ASSERT_EQ(part.value.reasons[i], whole.value.reasons[first + i]);
        if (!part.value.has_value(i)) continue;
        ASSERT_EQ(part.value.values[i], whole.value.values[first + i]) << to_text(use);
        ASSERT_EQ(part.variance.values[i], whole.variance.values[first + i]);
      }
    }
  }
}

TEST(SurfacePredictor, GivesMirroredDataAMirroredSurface) {
  SurfaceObservations observations;
  const auto mirrored = [](Site site) {
    site.place.x = 1000100 - site.place.x;
    return site;
  };
  for (const SurfaceObservation& o : digs(20, 0.01)) {
    observations.push_back(o);
    observations.push_back(o);
    observations.back().sites[0] = mirrored(o.sites[0]);
  }
  const SurfaceModel model{{constant_term()}, 0, plane(VariogramShape::matern32, 20), 0.05};
  const SurfacePredictor predictor(observations, model, {});
  for (const Site& site : some_sites(12)) {
    const std::vector<Site> both{site, mirrored(site)};
    const auto out = predictor.at(both, {});
    EXPECT_NEAR(out[0].value, out[1].value, 1e-10);
    EXPECT_NEAR(out[0].variance, out[1].variance, 1e-10);
  }
}

TEST(SurfacePredictor, IsOrdinaryKrigingWhereTheTrendIsConstant) {
  const Samples samples = scattered(120);
  const SurfaceModel model{
      {constant_term()},
      0,
      {{term_of("local", 0.9, {{Metric::plane, VariogramShape::spherical, 40, 30, 0.5}})}},
      0.1};
  const VariogramModel variogram{VariogramShape::spherical, 0.1, 0.9, 40, 30, 0.5};
  std::vector<Site> sites;
  std::vector<Point> places;
  for (const Sample& sample : scattered(50, 100, 9)) {
    sites.push_back(sample.site);
    places.push_back(sample.site.place);
  }
  for (const int most : {0, 14}) {
    Neighbourhood neighbourhood;
    neighbourhood.most = most;
    const auto expected = OrdinaryKriging(samples, variogram, neighbourhood).at(places, {});
    const DataUse use = most == 0 ? DataUse::all : DataUse::nearest;
    const auto out =
        SurfacePredictor(observations_of(samples), model, {use, std::max(1, most), Target::emitter})
            .at(sites, {});
    for (std::size_t i = 0; i < sites.size(); ++i) {
      EXPECT_NEAR(out[i].value, expected[i].value, 1e-10);
      EXPECT_NEAR(out[i].variance, expected[i].variance, 1e-10);
    }
  }
}

TEST(SurfacePredictor, SaysWhichMeasurementsCount) {
  const SurfaceModel model{{constant_term()}, 0, plane(VariogramShape::exponential, 30), 0.3};
  const SurfacePredictor few(digs(60, 0), model, {});
  EXPECT_EQ(few.use(), DataUse::all);
  EXPECT_EQ(few.use_text(), "all 60 measurements");
  const SurfacePredictor many(digs(900, 0), model, {});
  EXPECT_EQ(many.use(), DataUse::common);
  EXPECT_EQ(many.use_text(), "the 32 measurements nearest to each square of cells");
  const SurfacePredictor nearest(digs(60, 0), model, {DataUse::nearest, 8, Target::surface});
  EXPECT_EQ(nearest.use_text(), "the 8 measurements nearest to every place");
}

TEST(SurfacePredictor, HasNoValueWhereATrendTermHasNone) {
  const TrendTerm half = function_term(
      "half", [](const Site& s) { return s.place.x < 500060 ? s.place.x - 500000 : nan; });
  SurfaceObservations observations = digs(50, 0.01);
  std::erase_if(observations,
                [](const SurfaceObservation& o) { return o.sites[0].place.x > 500055; });
  const SurfaceModel model{{constant_term(), half}, 0, line_aware(), 0.05};
  const Map map;
  for (const DataUse use : {DataUse::all, DataUse::nearest, DataUse::common}) {
    const SurfacePredictor predictor(observations, model, {use, 10, Target::surface});
    const auto out = predictor.over(map.grid, map.window, map.sites, {});
    for (std::size_t i = 0; i < map.sites.size(); ++i) {
      if (map.sites[i].zone < 0) continue;
      const bool there = map.sites[i].place.x < 500060;
      EXPECT_EQ(out.value.reasons[i], there ? Reason::value : Reason::no_source);
      EXPECT_EQ(std::isfinite(out.value.values[i]), there);
    }
    const std::vector<Site> sites{site_on(3, 20), site_on(3, 90)};
    const auto at = predictor.at(sites, {});
    EXPECT_TRUE(std::isfinite(at[0].value));
    EXPECT_TRUE(std::isnan(at[1].value));
  }
}

TEST(SurfacePredictor, UsesATrendTermAmongNeighboursThatCannotTellItIfTheyNeedNot) {
  // Zone 1 apart: its neighbours all have the same indicator, and so has every place there.
  const TrendTerm north =
      function_term("north", [](const Site& s) { return s.zone == 1 ? 1.0 : 0.0; });
  const SurfaceModel model{
      {constant_term(), north}, 0, plane(VariogramShape::exponential, 20), 0.1};
  const SurfaceModel plain{{constant_term()}, 0, plane(VariogramShape::exponential, 20), 0.1};
  const SurfaceObservations observations = digs(200, 0.01);
  const std::vector<Site> sites{site_on(18, 50), site_on(2, 50)};
  const PredictionOptions nearest{DataUse::nearest, 8, Target::surface};
  const auto out = SurfacePredictor(observations, model, nearest).at(sites, {});
  const auto expected = SurfacePredictor(observations, plain, nearest).at(sites, {});
  for (std::size_t i = 0; i < sites.size(); ++i) {
    EXPECT_NEAR(out[i].value, expected[i].value, 1e-12);
    EXPECT_NEAR(out[i].variance, expected[i].variance, 1e-12);
  }
  // A place that is marked as the other zone cannot be told from these neighbours.
  Site wrong = site_on(18, 50);
  wrong.zone = 0;
  EXPECT_TRUE(
      std::isnan(SurfacePredictor(observations, model, nearest).at({&wrong, 1}, {})[0].value));
}

TEST(SurfacePredictor, RefusesWhatCannotBeSolved) {
  const SurfaceModel smooth{{constant_term()}, 0, plane(VariogramShape::exponential, 30), 0};
  SurfaceObservations twice = digs(20, 0);
  twice.push_back(twice[4]);
  EXPECT_THROW(SurfacePredictor(twice, smooth, {}), std::invalid_argument);
  const SurfaceModel dependent{
      {constant_term(), constant_term()}, 0, plane(VariogramShape::exponential, 30), 0.1};
  EXPECT_THROW(SurfacePredictor(digs(20, 0), dependent, {}), std::invalid_argument);
  EXPECT_THROW(SurfacePredictor(digs(1, 0), smooth, {}), std::invalid_argument);
  EXPECT_THROW(SurfacePredictor({}, {{}, 1, plane(VariogramShape::exponential, 30), 0}, {}),
               std::invalid_argument);
  EXPECT_THROW(SurfacePredictor(digs(20, 0), smooth, {DataUse::nearest, 0, Target::surface}),
               std::invalid_argument);
  const SurfaceModel nowhere{
      {constant_term(), function_term("none", [](const Site&) { return nan; })},
      0,
      plane(VariogramShape::exponential, 30),
      0.1};
  EXPECT_THROW(SurfacePredictor(digs(20, 0), nowhere, {}), std::invalid_argument);
  SurfaceObservations odd = digs(20, 0);
  odd[3].weights.push_back(1);
  EXPECT_THROW(SurfacePredictor(odd, smooth, {}), std::invalid_argument);
  const SurfacePredictor good(digs(20, 0.1), smooth, {});
  const std::vector<Block> blocks{{}};
  EXPECT_THROW(good.means(blocks, {}), std::invalid_argument);
  EXPECT_THROW(good.over(Map().grid, {0, 0, 4, 4}, some_sites(3), {}), std::invalid_argument);
}

TEST(SurfacePredictor, NeverGivesANumberThatIsNoneFromNearlySingularEquations) {
  // Places a hair apart and a shape that is smooth there: all but singular without noise.
  SurfaceObservations observations = digs(60, 0);
  for (int i = 0; i < 20; ++i) {
    observations.push_back(observations[static_cast<std::size_t>(i)]);
    observations.back().sites[0].place.x += 1e-7;
    observations.back().sites[0].station_m += 1e-7;
    observations.back().value += 0.1;
  }
  const Map map;
  for (const VariogramShape shape : {VariogramShape::gaussian, VariogramShape::matern52}) {
    const SurfaceModel model{{constant_term()}, 0, plane(shape, 60), 0};
    EXPECT_THROW(SurfacePredictor(observations, model, {DataUse::all}), std::invalid_argument);
    for (const DataUse use : {DataUse::nearest, DataUse::common}) {
      const auto out = SurfacePredictor(observations, model, {use, 24, Target::surface})
                           .over(map.grid, map.window, map.sites, {});
      int failed = 0;
      for (std::size_t i = 0; i < map.sites.size(); ++i) {
        const bool known = out.value.has_value(i);
        failed += out.value.reasons[i] == Reason::failed ? 1 : 0;
        EXPECT_EQ(std::isfinite(out.value.values[i]), known);
        EXPECT_EQ(out.variance.has_value(i), known);
        EXPECT_FALSE(out.variance.values[i] < 0);
      }
      EXPECT_GT(failed, 0);
    }
  }
}

TEST(SurfacePredictor, StopsWhenAskedAndTellsHowFarItIs) {
  const Map map;
  const SurfaceModel model{{constant_term()}, 0, line_aware(), 0.05};
  const SurfacePredictor predictor(digs(50, 0.01), model, {});
  std::stop_source stop;
  Work work;
  work.stop = stop.get_token();
  double told = 0;
  work.progress = [&](double done) {
    told = done;
    if (done > 0.3) stop.request_stop();
  };
  EXPECT_THROW(predictor.over(map.grid, map.window, map.sites, work), Interrupted);
  EXPECT_GT(told, 0.3);
  EXPECT_LT(told, 1);
}

TEST(NormalLimits, HoldTheShareTheyName) {
  const PredictionLimits limits = normal_limits({10, 4}, 0.90);
  // 1.6448536 is the 95 % point of the normal distribution.
  EXPECT_NEAR(limits.lower, 10 - 2 * 1.6448536269514722, 1e-12);
  EXPECT_NEAR(limits.upper, 10 + 2 * 1.6448536269514722, 1e-12);
  EXPECT_EQ(normal_limits({3, 0}, 0.5).lower, 3);
  EXPECT_TRUE(std::isnan(normal_limits({nan, nan}, 0.9).upper));
  EXPECT_THROW(normal_limits({0, 1}, 1), std::invalid_argument);
}

TEST(ProbabilityBelow, IsThatOfTheNormalDistribution) {
  EXPECT_NEAR(probability_below({10, 4}, 10), 0.5, 1e-15);
  EXPECT_NEAR(probability_below({10, 4}, 10 - 2 * 1.6448536269514722), 0.05, 1e-12);
  EXPECT_NEAR(probability_below({10, 4}, 14), 0.9772498680518208, 1e-12);
  EXPECT_EQ(probability_below({10, 0}, 10.5), 1);
  EXPECT_EQ(probability_below({10, 0}, 9.5), 0);
  EXPECT_TRUE(std::isnan(probability_below({nan, nan}, 1)));
}

}  // namespace
}  // namespace evendrip
