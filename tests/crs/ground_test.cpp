// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/crs.hpp"

namespace evendrip {
namespace {

MultiPolygon square(double x, double y, double side) {
  return {{{{x, y}, {x + side, y}, {x + side, y + side}, {x, y + side}}, {}}};
}

TEST(ScaleFactor, IsThatOfUtmOnTheCentralMeridian) {
  const Crs utm = parse_crs("EPSG:32614");
  EXPECT_NEAR(scale_factor(utm, {500000, 4362000}), 0.9996, 1e-9);
  // Scale grows with the square of the distance from the meridian: k0 (1 + x^2 / 2R^2), Snyder
  // 1987, USGS Professional Paper 1395, p. 61.
  const double x = 178000 / 0.9996;
  EXPECT_NEAR(scale_factor(utm, {500000 - 178000, 4362000}),
              0.9996 * (1 + x * x / (2 * 6.374e6 * 6.374e6)), 1e-6);
}

TEST(ScaleFactor, IsGridLengthOverGroundLength) {
  const Crs utm = parse_crs("EPSG:32756");
  const Point p{333471.8, 6253018.2};
  const Line line{{p.x - 50, p.y - 50}, {p.x + 50, p.y + 50}};
  const double grid = std::hypot(100, 100);
  EXPECT_NEAR(grid / ground_length_m(utm, line), scale_factor(utm, p), 1e-8);
  EXPECT_NEAR(1e4 / ground_area_m2(utm, square(p.x - 50, p.y - 50, 100)),
              std::pow(scale_factor(utm, p), 2), 1e-7);
}

TEST(ScaleFactor, IsTheSameInFeetAndMetres) {
  const Crs feet = parse_crs("EPSG:2277");
  const Crs metres = metric_twin(feet);
  const Point p{1000000, 3200000};
  EXPECT_NEAR(scale_factor(metres, p),
              scale_factor(feet, {p.x / feet.unit_to_metre, p.y / feet.unit_to_metre}), 1e-12);
}

TEST(Convergence, IsTheTurnOfTrueNorthInBothHemispheres) {
  for (const char* code : {"EPSG:32614", "EPSG:32756"}) {
    const Crs utm = parse_crs(code);
    const Transform to_lonlat(utm, wgs84());
    const Transform to_grid(wgs84(), utm);
    for (const double x : {320000.0, 500000.0, 700000.0}) {
      const Point p{x, 6253018};
      const Point lonlat = to_lonlat(p);
      const Point north = to_grid({lonlat.x, lonlat.y + 1e-4});
      const double turn = std::atan2(north.x - p.x, north.y - p.y) * 180 / std::numbers::pi;
      EXPECT_NEAR(convergence_deg(utm, p), turn, 1e-4) << code << ' ' << x;
    }
  }
}

TEST(GroundArea, SubtractsHolesAndIgnoresOrientation) {
  const Crs utm = parse_crs("EPSG:32614");
  MultiPolygon shape = square(322000, 4362000, 300);
  const double whole = ground_area_m2(utm, shape);
  const MultiPolygon inner = square(322100, 4362100, 50);
  shape[0].holes.push_back(inner[0].outer);
  EXPECT_NEAR(ground_area_m2(utm, shape), whole - ground_area_m2(utm, inner), 1e-6);
  shape[0].outer = {shape[0].outer.rbegin(), shape[0].outer.rend()};
  EXPECT_NEAR(ground_area_m2(utm, shape), whole - ground_area_m2(utm, inner), 1e-6);
}

TEST(GroundArea, IsTheSameFromAnyCrs) {
  const Crs utm = parse_crs("EPSG:32614");
  const Crs web = parse_crs("EPSG:3857");
  const MultiPolygon shape = square(322000, 4362000, 200);
  const double area = ground_area_m2(utm, shape);
  const MultiPolygon lonlat = Transform(utm, wgs84())(shape);
  EXPECT_NEAR(ground_area_m2(wgs84(), lonlat), area, 1e-2);
  const MultiPolygon popular = Transform(wgs84(), web)(lonlat);
  EXPECT_NEAR(ground_area_m2(web, popular), area, 1e-2);
  // The trap: the popular sphere's own areas are too large by about 1 / cos^2(latitude).
  const double cosine = std::cos(39.4 * std::numbers::pi / 180);
  EXPECT_NEAR(area_m2(popular) / area * cosine * cosine, 1, 0.01);
}

TEST(GroundLength, OfManyLinesIsThatOfEach) {
  const Crs utm = parse_crs("EPSG:32614");
  const std::vector<Line> lines{{{322000, 4362000}, {322100, 4362000}},
                                {{322000, 4362000}, {322000, 4364000}, {322010, 4364000}}};
  const std::vector<double> lengths = ground_lengths_m(utm, lines);
  ASSERT_EQ(lengths.size(), 2U);
  EXPECT_EQ(lengths[0], ground_length_m(utm, lines[0]));
  EXPECT_EQ(lengths[1], ground_length_m(utm, lines[1]));
}

TEST(GroundLength, RefusesAnUnknownCrs) {
  EXPECT_THROW(ground_length_m(Crs{}, {{0, 0}, {1, 1}}), InputError);
}

}  // namespace
}  // namespace evendrip
