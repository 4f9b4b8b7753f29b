// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/covariance.hpp"

#include "surface_sites.hpp"

#include <Eigen/Eigenvalues>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>
#include <stdexcept>

namespace evendrip {
namespace {

using Kind = CovarianceParameter::Kind;

constexpr VariogramShape shapes[] = {VariogramShape::exponential, VariogramShape::spherical,
                                     VariogramShape::gaussian, VariogramShape::matern32,
                                     VariogramShape::matern52};

/// A correlation from the variogram, which is coded apart.
double rho(VariogramShape shape, double distance_m, double range_m) {
  return 1 - semivariance({shape, 0, 1, range_m, 0, 1}, distance_m);
}

CovarianceModel one(const CorrelationFactor& factor) {
  return {{{"one", 2, {factor}}}};
}

Site site_at(double x, double y, int lateral = -1, double station_m = 0, int zone = -1) {
  return {{x, y}, lateral, station_m, zone};
}

TEST(Covariance, FollowsTheFormulaOfEachShape) {
  for (const VariogramShape shape : shapes) {
    const CovarianceModel model = one({Metric::plane, shape, 10, 0, 1});
    for (const double d : {0.0, 1e-6, 3.0, 9.999, 10.0, 35.0}) {
      const double value = covariance(model, site_at(7, 5), site_at(7 + 0.6 * d, 5 - 0.8 * d));
      EXPECT_NEAR(value, 2 * rho(shape, d, 10), 1e-12) << to_text(shape) << " at " << d;
    }
  }
}

TEST(Covariance, MeasuresDistanceAsEachMetricSays) {
  const auto shape = VariogramShape::exponential;
  // 30 m along a bearing of 90 degrees and 4 m across it.
  const Site a = site_at(0, 0, 3, 10, 0);
  const Site b = site_at(30, 4, 3, 42, 0);
  const Site other = site_at(30, 4, 4, 42, 1);
  const auto plane = one({Metric::plane, shape, 20, 90, 0.5});
  EXPECT_NEAR(covariance(plane, a, b), 2 * std::exp(-std::hypot(30, 8) / 20), 1e-12);
  const auto along = one({Metric::along_lateral, shape, 20, 0, 1});
  EXPECT_NEAR(covariance(along, a, b), 2 * std::exp(-32.0 / 20), 1e-12);
  EXPECT_EQ(covariance(along, a, other), 0);
  const auto station = one({Metric::station, shape, 20, 0, 1});
  EXPECT_NEAR(covariance(station, a, other), 2 * std::exp(-32.0 / 20), 1e-12);
  const auto across = one({Metric::across, shape, 20, 90, 1});
  EXPECT_NEAR(covariance(across, a, other), 2 * std::exp(-4.0 / 20), 1e-12);
  const auto lateral = one({Metric::same_lateral, shape, 20, 0, 1});
  EXPECT_EQ(covariance(lateral, a, b), 2);
  EXPECT_EQ(covariance(lateral, a, other), 0);
  const auto zone = one({Metric::same_zone, shape, 20, 0, 1});
  EXPECT_EQ(covariance(zone, a, b), 2);
  EXPECT_EQ(covariance(zone, a, other), 0);
}

TEST(Covariance, HasNoCommonLateralOrZoneWithoutOne) {
  const Site lost = site_at(1, 2);
  EXPECT_EQ(covariance(one({Metric::same_lateral}), lost, lost), 0);
  EXPECT_EQ(covariance(one({Metric::along_lateral}), lost, lost), 0);
  EXPECT_EQ(covariance(one({Metric::same_zone}), lost, lost), 0);
  EXPECT_EQ(variance_at(one({Metric::plane}), lost), 2);
}

TEST(Covariance, IsTheSumOfTheProductsOfItsParts) {
  const CovarianceModel model = every_metric();
  const auto sites = sites_on_laterals(30);
  for (const Site& a : sites) {
    for (const Site& b : sites) {
      double expected = 0;
      for (const CovarianceTerm& term : model.terms) {
        double product = term.variance;
        for (const CorrelationFactor& factor : term.factors)
          product *= covariance({{{"", 1, {factor}}}}, a, b);
        expected += product;
      }
      EXPECT_NEAR(covariance(model, a, b), expected, 1e-14);
    }
  }
}

TEST(Covariance, IsPositiveDefiniteAndSymmetric) {
  const auto sites = sites_on_laterals(70);
  const auto least_eigenvalue = [&](const CovarianceModel& model) {
    Matrix matrix = covariances_of(model, sites, sites);
    const Eigen::Map<const Eigen::MatrixXd> values(matrix.elements.data(), 70, 70);
    EXPECT_EQ((values - values.transpose()).cwiseAbs().maxCoeff(), 0);
    return Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd>(values, Eigen::EigenvaluesOnly)
        .eigenvalues()
        .minCoeff();
  };
  for (const VariogramShape shape : shapes) {
    for (const Metric metric :
         {Metric::plane, Metric::along_lateral, Metric::station, Metric::across}) {
      const double ratio = metric == Metric::plane ? 0.3 : 1;
      EXPECT_GT(least_eigenvalue(one({metric, shape, 12, bearing_deg, ratio})), -1e-12)
          << to_text(shape);
    }
  }
  EXPECT_GT(least_eigenvalue(every_metric()), 0);
}

TEST(Covariance, OfAnElementDoesNotDependOnTheMatrixAroundIt) {
  const CovarianceModel model = every_metric();
  const auto sites = sites_on_laterals(53);
  const Matrix whole = covariances_of(model, sites, sites);
  const std::span<const Site> all(sites);
  const Matrix part = covariances_of(model, all.subspan(5, 30), all.subspan(11, 4));
  for (int j = 0; j < 4; ++j)
    for (int i = 0; i < 30; ++i) EXPECT_EQ(part(i, j), whole(i + 5, j + 11));
  for (std::size_t i = 0; i < sites.size(); ++i)
    EXPECT_EQ(variance_at(model, sites[i]), whole(static_cast<int>(i), static_cast<int>(i)));
}

TEST(Covariance, DoesNotChangeWhenTheFieldIsTurnedOrShifted) {
  const auto sites = sites_on_laterals(40);
  auto moved = sites;
  const double turn = 0.7;
  for (Site& site : moved) {
    const double x = site.place.x - 500000;
    const double y = site.place.y - 4100000;
    site.place = {200000 + x * std::cos(turn) + y * std::sin(turn),
                  300000 - x * std::sin(turn) + y * std::cos(turn)};
  }
  CovarianceModel turned = every_metric();
  for (CovarianceTerm& term : turned.terms)
    for (CorrelationFactor& factor : term.factors)
      factor.azimuth_deg += turn * 180 / std::numbers::pi;
  const Matrix before = covariances_of(every_metric(), sites, sites);
  const Matrix after = covariances_of(turned, moved, moved);
  for (std::size_t k = 0; k < before.elements.size(); ++k)
    EXPECT_NEAR(after.elements[k], before.elements[k], 1e-9);
}

TEST(Covariance, KeepsToItsBlockOfALargerMatrix) {
  const auto sites = sites_on_laterals(9);
  std::vector<double> large(12 * 11, 5);
  fill(every_metric(), sites, sites, {large.data() + 1 + 12, 9, 9, 12});
  const Matrix alone = covariances_of(every_metric(), sites, sites);
  for (int j = 0; j < 11; ++j) {
    for (int i = 0; i < 12; ++i) {
      const double value = large[static_cast<std::size_t>(i + 12 * j)];
      const bool inside = i >= 1 && i < 10 && j >= 1 && j < 10;
      EXPECT_EQ(value, inside ? alone(i - 1, j - 1) : 5);
    }
  }
}

void expect_gradient_of(const CovarianceModel& model) {
  const auto sites = sites_on_laterals(45);
  constexpr double step = 1e-5;
  for (const CovarianceParameter& parameter : parameters_of(model)) {
    const double value = value_of(model, parameter);
    const auto at = [&](double factor) {
      CovarianceModel near = model;
      set_value(near, parameter, value * factor);
      return covariances_of(near, sites, sites);
    };
    const Matrix above = at(std::exp(step));
    const Matrix below = at(std::exp(-step));
    Matrix gradient(sites.size(), sites.size());
    fill_gradient(model, parameter, sites, sites, gradient.view());
    for (std::size_t k = 0; k < gradient.elements.size(); ++k) {
      const double numeric = (above.elements[k] - below.elements[k]) / (2 * step);
      ASSERT_NEAR(gradient.elements[k], numeric, 1e-9) << to_text(model, parameter);
    }
  }
}

TEST(CovarianceGradient, AgreesWithFiniteDifferences) {
  expect_gradient_of(every_metric());
  for (const VariogramShape shape : shapes) {
    expect_gradient_of(one({Metric::plane, shape, 30, bearing_deg, 0.35}));
    expect_gradient_of(one({Metric::along_lateral, shape, 30, 0, 1}));
  }
}

TEST(CovarianceParameters, AreListedTermByTermAndNamed) {
  const CovarianceModel model = every_metric();
  std::vector<std::string> names;
  for (const CovarianceParameter& parameter : parameters_of(model))
    names.push_back(to_text(model, parameter));
  EXPECT_THAT(names, testing::ElementsAre("local: variance", "local: range", "local: ratio",
                                          "laterals: variance", "laterals: range",
                                          "bands: variance", "bands: range in station",
                                          "bands: range across the laterals", "lines: variance",
                                          "zone: variance", "zone: range", "all: variance"));
  const CovarianceModel round = one({Metric::plane, VariogramShape::spherical, 30, 0, 1});
  EXPECT_EQ(parameters_of(round).size(), 2U) << "isotropy stays";
  EXPECT_EQ(value_of(model, {Kind::range, 2, 1}), 9);
}

TEST(Covariance, RefusesWhatIsNoModel) {
  const Site site;
  const auto refused = [&](const CovarianceModel& model) {
    EXPECT_THROW(covariance(model, site, site), std::invalid_argument);
  };
  refused(one({Metric::plane, VariogramShape::linear, 1, 0, 1}));
  refused(one({Metric::station, VariogramShape::nugget, 1, 0, 1}));
  refused(one({Metric::plane, VariogramShape::spherical, 0, 0, 1}));
  refused(one({Metric::plane, VariogramShape::spherical, 1, 0, 1.5}));
  refused(one({Metric::plane, VariogramShape::spherical, 1, 0, 0}));
  refused({{{"none", 0, {}}}});
  double value = 0;
  EXPECT_THROW(fill(every_metric(), {&site, 1}, {&site, 1}, {&value, 2, 1, 2}),
               std::invalid_argument);
}

}  // namespace
}  // namespace evendrip
