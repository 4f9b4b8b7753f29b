// SPDX-License-Identifier: Apache-2.0
// Surfaces predicted from a model, against figures in print and against R gstat on public data:
// meuse (R sp; Burrough & McDonnell 1998) and jura (R gstat; Goovaerts 1997).
#include "evendrip/surface/prediction.hpp"

#include "gstat_oracle.hpp"
#include "surface_samples.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <string>
#include <vector>

namespace evendrip {
namespace {

CovarianceModel plane(VariogramShape shape, double variance, double range_m, double azimuth_deg = 0,
                      double ratio = 1) {
  return {{{"local", variance, {{Metric::plane, shape, range_m, azimuth_deg, ratio}}}}};
}

/// Isaaks & Srivastava 1989, "An Introduction to Applied Geostatistics", Table 12.1.
Samples seven_points() {
  return {sample_at(61, 139, 477), sample_at(63, 140, 696), sample_at(64, 129, 227),
          sample_at(68, 128, 646), sample_at(71, 140, 606), sample_at(73, 141, 791),
          sample_at(75, 128, 783)};
}

// Figures 12.3 to 12.20 of that book (geoR's regression test quotes them): estimate and variance as
// printed, then to more digits computed with R gstat. Covariance c exp(-3h/a); the variance is of
// the noisy value at a new point.
TEST(SurfaceInPrint, GivesTheEightEstimatesOfIsaaksAndSrivastava) {
  using enum VariogramShape;
  struct Figure {
    const char* name;
    CovarianceModel covariance;
    double nugget, printed, printed_variance, value, variance;
  };
  const std::vector<Figure> figures{
      {"12.3", plane(exponential, 10, 10 / 3.), 0, 593, 8.96, 592.7289, 8.9561},
      {"12.6", plane(exponential, 20, 10 / 3.), 0, 593, 17.91, 592.7289, 17.9121},
      {"12.8", plane(gaussian, 10, 10 / std::sqrt(3.)), 0, 559, 4.78, 559.3700, 4.7806},
      {"12.10", plane(exponential, 5, 10 / 3.), 5, 597, 10.31, 596.7770, 10.3059},
      {"12.12", plane(exponential, 10, 20 / 3.), 0, 572, 5.76, 572.3899, 5.7585},
      {"12.16", plane(exponential, 10, 20 / 3., 135, 0.5), 0, 620, 6.30, 619.808, 6.2986},
      {"12.18", plane(exponential, 10, 20 / 3., 45, 0.5), 0, 574, 8.16, 574.049, 8.1563},
      {"12.20", plane(exponential, 10, 100 / 3., 135, 0.1), 0, 654, 2.83, 653.738, 2.8300}};
  const Site target{{65, 137}, -1, 0, -1};
  for (const Figure& figure : figures) {
    const SurfaceModel model{{constant_term()}, 0, figure.covariance, figure.nugget};
    for (const DataUse use : {DataUse::all, DataUse::nearest, DataUse::common}) {
      const SurfacePredictor predictor(observations_of(seven_points()), model,
                                       {use, 7, Target::emitter});
      const Prediction out = predictor.at({&target, 1}, {})[0];
      EXPECT_NEAR(out.value, figure.printed, 0.5) << figure.name;
      EXPECT_NEAR(out.variance, figure.printed_variance, 0.0051) << figure.name;
      EXPECT_NEAR(out.value, figure.value, 6e-4) << figure.name;
      EXPECT_NEAR(out.variance, figure.variance, 6e-5) << figure.name;
    }
  }
}

class SurfaceAndGstat : public testing::Test {
 protected:
  void SetUp() override {
    const auto tables = gstat_tables();
    if (!tables) GTEST_SKIP() << "needs Rscript with sp, gstat, sf and spData";
    ASSERT_FALSE(tables->empty()) << "the R script failed";
    folder_ = *tables;
  }
  Columns table(const std::string& name) const { return read_columns(folder_ / name); }
  Samples meuse() const {
    Columns c = table("meuse.csv");
    Samples out;
    for (std::size_t i = 0; i < c["x"].size(); ++i)
      out.push_back(sample_at(c["x"][i], c["y"][i], c["zinc"][i]));
    return out;
  }
  Samples meuse_log_zinc() const {
    Samples out = meuse();
    for (Sample& sample : out) sample.value = std::log(sample.value);
    return out;
  }
  SurfaceModel model(const std::string& name, VariogramShape shape,
                     const SurfaceTrend& trend) const {
    Columns c = table(name);
    return {trend, 0, plane(shape, c["partial_sill"][0], c["range"][0]), c["nugget"][0]};
  }

  std::filesystem::path folder_;
};

std::vector<Site> sites_of(Columns& c) {
  std::vector<Site> sites;
  for (std::size_t i = 0; i < c["x"].size(); ++i)
    sites.push_back({{c["x"][i], c["y"][i]}, -1, 0, -1});
  return sites;
}

/// Every place within 1e-9 relative; returns the predictions.
std::vector<Prediction> expect_same(const SurfacePredictor& predictor,
                                    const std::vector<Site>& sites, Columns& expected) {
  const std::vector<Prediction> out = predictor.at(sites, {});
  for (std::size_t i = 0; i < sites.size(); ++i) {
    EXPECT_NEAR(out[i].value, expected["value"][i], 1e-9 * std::abs(expected["value"][i])) << i;
    EXPECT_NEAR(out[i].variance, expected["variance"][i], 1e-9 * expected["variance"][i]) << i;
  }
  return out;
}

struct Summary {
  double least = 0, mean = 0, largest = 0, mean_variance = 0;
};
Summary summary_of(const std::vector<Prediction>& predictions) {
  const auto by_value = [](const Prediction& a, const Prediction& b) { return a.value < b.value; };
  const auto [low, high] = std::minmax_element(predictions.begin(), predictions.end(), by_value);
  Summary out{low->value, 0, high->value, 0};
  for (const Prediction& p : predictions) {
    out.mean += p.value / static_cast<double>(predictions.size());
    out.mean_variance += p.variance / static_cast<double>(predictions.size());
  }
  return out;
}

constexpr PredictionOptions every_emitter{DataUse::all, 32, Target::emitter};

TEST_F(SurfaceAndGstat, KrigeMeuseTheSameWithAKnownMean) {
  SurfaceModel simple = model("meuse_spherical.csv", VariogramShape::spherical, {});
  simple.known_mean = 5.885776;
  Columns expected = table("meuse_simple.csv");
  const SurfacePredictor predictor(observations_of(meuse_log_zinc()), simple, every_emitter);
  const Summary out = summary_of(expect_same(predictor, sites_of(expected), expected));
  // Computed with gstat 2.1-0.
  EXPECT_NEAR(out.mean, 5.697502, 6e-7);
  EXPECT_NEAR(out.mean_variance, 0.184851, 6e-7);
}

TEST_F(SurfaceAndGstat, KrigeMeuseTheSameWithAConstant) {
  const SurfaceModel ordinary =
      model("meuse_spherical.csv", VariogramShape::spherical, {constant_term()});
  Columns expected = table("meuse_kriging.csv");
  const SurfacePredictor predictor(observations_of(meuse_log_zinc()), ordinary, every_emitter);
  const Summary out = summary_of(expect_same(predictor, sites_of(expected), expected));
  // Computed with gstat 2.1-0.
  EXPECT_NEAR(out.least, 4.776555, 6e-7);
  EXPECT_NEAR(out.mean, 5.707229, 6e-7);
  EXPECT_NEAR(out.largest, 7.439991, 6e-7);
  EXPECT_NEAR(out.mean_variance, 0.185332, 6e-7);
}

TEST_F(SurfaceAndGstat, KrigeMeuseTheSameWithATrendInTheDistanceToTheRiver) {
  // The distance travels with the sites as their station.
  const SurfaceTrend trend{constant_term(), function_term("sqrt(dist)", [](const Site& site) {
                             return std::sqrt(site.station_m);
                           })};
  const SurfaceModel universal = model("meuse_residual.csv", VariogramShape::exponential, trend);
  // Printed in the gstat vignette: 0.05712231, 0.17641559, 340.3201.
  EXPECT_NEAR(universal.nugget, 0.05712231, 1e-4 * 0.057);
  EXPECT_NEAR(universal.covariance.terms[0].variance, 0.17641559, 1e-4 * 0.18);
  Samples samples = meuse_log_zinc();
  Columns at_data = table("meuse_dist.csv");
  for (std::size_t i = 0; i < samples.size(); ++i) samples[i].site.station_m = at_data["data"][i];
  Columns expected = table("meuse_universal.csv");
  std::vector<Site> sites = sites_of(expected);
  Columns at_grid = table("meuse_grid_dist.csv");
  for (std::size_t i = 0; i < sites.size(); ++i) sites[i].station_m = at_grid["grid"][i];
  const SurfacePredictor predictor(observations_of(samples), universal, every_emitter);
  const Summary out = summary_of(expect_same(predictor, sites, expected));
  // Computed with gstat 2.1-0.
  EXPECT_NEAR(out.least, 4.501913, 6e-7);
  EXPECT_NEAR(out.mean, 5.701562, 6e-7);
  EXPECT_NEAR(out.largest, 7.527166, 6e-7);
  EXPECT_NEAR(out.mean_variance, 0.128172, 6e-7);
}

/// A square of 40 m about a place, `across` each way at these shares of its half side.
Block square_about(const Site& middle, const std::vector<double>& across,
                   const std::vector<double>& weights) {
  Block block;
  for (std::size_t i = 0; i < across.size(); ++i) {
    for (std::size_t j = 0; j < across.size(); ++j) {
      Site site = middle;
      site.place.x += 20 * across[i];
      site.place.y += 20 * across[j];
      block.sites.push_back(site);
      block.weights.push_back(weights[i] * weights[j]);
    }
  }
  return block;
}

class BlocksOfMeuse : public SurfaceAndGstat {
 protected:
  std::vector<Prediction> means(const std::vector<double>& across,
                                const std::vector<double>& weights) const {
    std::vector<Block> blocks;
    Columns at = table("meuse_block.csv");
    for (const Site& site : sites_of(at)) blocks.push_back(square_about(site, across, weights));
    return predictor(Target::surface).means(blocks, {});
  }
  SurfacePredictor predictor(Target target) const {
    return {observations_of(meuse()),
            {{constant_term()}, 0, plane(VariogramShape::spherical, 134000, 800), 24200},
            {DataUse::nearest, 40, target}};
  }
};

TEST_F(BlocksOfMeuse, HaveTheSameMeansByGaussQuadrature) {
  // Four points each way; Abramowitz & Stegun 1964, Table 25.4.
  const double a = 0.861136311594053;
  const double b = 0.339981043584856;
  const double u = 0.347854845137454 / 2;
  const double v = 0.652145154862546 / 2;
  const std::vector<Prediction> out = means({-a, -b, b, a}, {u, v, v, u});
  // Printed in gstat's tests/blockkr.Rout.save.
  const std::array values{268.7576, 663.4915, 251.4606, 532.5776, 664.4039, 565.5436};
  const std::array variances{19447.67, 16991.33, 21579.71, 73807.91, 23589.17, 155113.23};
  Columns expected = table("meuse_block.csv");
  for (std::size_t i = 0; i < values.size(); ++i) {
    EXPECT_NEAR(out[i].value, values[i], 6e-5);
    EXPECT_NEAR(out[i].variance, variances[i], 6e-3);
    // Even points agree to 1e-9 (below): gstat holds weights in single precision (from memory).
    EXPECT_NEAR(out[i].value, expected["value"][i], 1e-7 * expected["value"][i]);
    EXPECT_NEAR(out[i].variance, expected["variance"][i], 1e-7 * expected["variance"][i]);
  }
}

TEST_F(BlocksOfMeuse, HaveTheSameMeansBySixteenEvenPoints) {
  const std::vector<double> quarters(4, 0.25);
  const std::vector<Prediction> out = means({-0.75, -0.25, 0.25, 0.75}, quarters);
  EXPECT_NEAR(out[0].value, 268.7324, 6e-5);  // printed there too: 268.7324, 19568.76
  EXPECT_NEAR(out[0].variance, 19568.76, 6e-3);
  Columns expected = table("meuse_block_16.csv");
  for (std::size_t i = 0; i < out.size(); ++i) {
    EXPECT_NEAR(out[i].value, expected["value"][i], 1e-9 * expected["value"][i]);
    EXPECT_NEAR(out[i].variance, expected["variance"][i], 1e-9 * expected["variance"][i]);
  }
}

TEST_F(BlocksOfMeuse, HaveTheSameValuesAtTheirMiddles) {
  Columns expected = table("meuse_block_point.csv");
  const auto out = expect_same(predictor(Target::emitter), sites_of(expected), expected);
  // Computed with gstat 2.1-0.
  EXPECT_NEAR(out[0].value, 268.3639, 6e-5);
  EXPECT_NEAR(out[0].variance, 48498.473, 6e-4);
  EXPECT_NEAR(out[5].value, 565.6172, 6e-5);
  EXPECT_NEAR(out[5].variance, 184521.157, 6e-4);
}

TEST_F(SurfaceAndGstat, KrigeCadmiumOfTheJuraTheSameFromTwoStructures) {
  Columns data = table("jura.csv");
  Samples samples;
  for (std::size_t i = 0; i < data["x"].size(); ++i)
    samples.push_back(sample_at(data["x"][i], data["y"][i], data["Cd"][i]));
  ASSERT_EQ(samples.size(), 259U);
  // Kilometres. The model is Goovaerts' (from memory).
  SurfaceModel cadmium{{constant_term()}, 0, plane(VariogramShape::spherical, 0.30, 0.2), 0.30};
  cadmium.covariance.terms.push_back(plane(VariogramShape::spherical, 0.26, 1.3).terms[0]);
  Columns expected = table("jura_kriging_16.csv");
  const SurfacePredictor predictor(observations_of(samples), cadmium,
                                   {DataUse::nearest, 16, Target::emitter});
  const std::vector<Site> sites = sites_of(expected);
  std::vector<Prediction> out = predictor.at(sites, {});
  int ties = 0;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    // Places stand on a lattice: of neighbours at one distance either may count.
    if (tied(samples, 16, sites[i].place)) {
      out[i] = {expected["value"][i], expected["variance"][i]};
      ++ties;
    }
    EXPECT_NEAR(out[i].value, expected["value"][i], 1e-9 * expected["value"][i]) << i;
    EXPECT_NEAR(out[i].variance, expected["variance"][i], 1e-9) << i;
  }
  EXPECT_LT(ties, 10);
  // Computed with gstat 2.1-0.
  EXPECT_NEAR(out[0].value, 0.7870657, 6e-8);
  EXPECT_NEAR(out[0].variance, 0.6626188, 6e-8);
  EXPECT_NEAR(out[1].value, 2.0222325, 6e-8);
  EXPECT_NEAR(out[2].variance, 0.8050440, 6e-8);
  const std::vector<double> check = table("jura_check.csv")["Cd"];
  ASSERT_EQ(check.size(), 100U);
  double error = 0;
  double absolute = 0;
  double squares = 0;
  for (std::size_t i = 0; i < check.size(); ++i) {
    const double off = check[i] - out[i].value;
    error += off / 100;
    absolute += std::abs(off) / 100;
    squares += off * off / 100;
  }
  EXPECT_NEAR(error, -0.124346, 6e-7);
  EXPECT_NEAR(absolute, 0.595388, 6e-7);
  EXPECT_NEAR(std::sqrt(squares), 0.762567, 6e-7);
}

}  // namespace
}  // namespace evendrip
