// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/crs.hpp"

namespace evendrip {
namespace {

std::string code_of(const Transform& transform, Point p) {
  try {
    transform(p);
  } catch (const InputError& error) {
    return error.problems().front().code;
  }
  return "accepted";
}

TEST(Transform, TakesEastingAndLongitudeFirstWhateverTheAuthoritySays) {
  // EPSG:4326 is latitude first, EPSG:2193 northing first by authority; OGC:CRS84 longitude first.
  const Point lonlat{174.76, -36.85};
  const Point nz = Transform(wgs84(), parse_crs("EPSG:2193"))(lonlat);
  EXPECT_NEAR(nz.x, 1757000, 2000);
  EXPECT_NEAR(nz.y, 5920000, 2000);
  const Point same = Transform(parse_crs("OGC:CRS84"), parse_crs("EPSG:2193"))(lonlat);
  EXPECT_NEAR(same.x, nz.x, 1e-6);
  EXPECT_NEAR(same.y, nz.y, 1e-6);
}

TEST(Transform, GoesThereAndBack) {
  const Crs utm = parse_crs("EPSG:32756");
  const Transform there(wgs84(), utm);
  const Transform back(utm, wgs84());
  for (const Point p : {Point{151.2, -33.85}, Point{153.5, -28.1}, Point{150.1, -37.0}}) {
    const Point q = back(there(p));
    EXPECT_NEAR(q.x, p.x, 1e-10);
    EXPECT_NEAR(q.y, p.y, 1e-10);
  }
}

TEST(Transform, GivesSouthernNorthingsWithTheFalseNorthing) {
  const Crs south = parse_crs("EPSG:32733");
  const Crs north = parse_crs("EPSG:32633");
  const Point p{14.2, -20.5};
  const Point a = Transform(wgs84(), south)(p);
  const Point b = Transform(wgs84(), north)(p);
  EXPECT_NEAR(a.y, b.y + 1e7, 1e-6);
  EXPECT_NEAR(a.x, b.x, 1e-6);
}

TEST(Transform, RefusesPointsThatCannotBeOnEarth) {
  const Transform transform(wgs84(), parse_crs("EPSG:32614"));
  EXPECT_EQ(code_of(transform, {39.3956, -101.0683}), "not_transformable");  // swapped
  EXPECT_EQ(code_of(transform, {-101, std::nan("")}), "not_transformable");
  EXPECT_EQ(code_of(transform, {std::numeric_limits<double>::infinity(), 39}), "not_transformable");
  EXPECT_EQ(code_of(transform, {-101, 39}), "accepted");
  const Transform inverse(parse_crs("EPSG:32614"), wgs84());
  EXPECT_EQ(code_of(inverse, {1e12, 1e12}), "not_transformable");
}

TEST(Transform, TellsOperationAndAccuracy) {
  const Transform projection(wgs84(), parse_crs("EPSG:32614"));
  EXPECT_EQ(projection.operation(), "UTM zone 14N");
  EXPECT_EQ(projection.accuracy_m(), 0);
  projection({-101, 39});
  EXPECT_EQ(projection.operation(), "UTM zone 14N");
  EXPECT_EQ(projection.accuracy_m(), 0);
}

// EPSG registry, coordinate operation 1176 (NAD27 to WGS 84 (6), 7 m), chosen west of the
// Mississippi; shift computed with PROJ 9.1.1 and its three parameters.
TEST(Transform, TellsTheAccuracyOfADatumShift) {
  const Transform shift(parse_crs("EPSG:4267"), wgs84());
  const Point p = shift({-102.5, 37.2});
  EXPECT_EQ(shift.operation(), "NAD27 to WGS 84 (6)");
  EXPECT_EQ(shift.accuracy_m(), 7);
  EXPECT_NEAR(geodesic_distance_m({-102.5, 37.2}, p), 42, 1);
}

TEST(Transform, RefusesABallparkOperation) {
  try {
    const Transform transform(parse_crs("+proj=longlat +ellps=clrk66 +type=crs"), wgs84());
    FAIL() << "accepted " << transform.operation();
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().front().code, "ballpark_datum");
  }
}

TEST(Transform, RefusesAnUnknownCrs) {
  EXPECT_THROW(Transform(Crs{}, wgs84()), InputError);
  EXPECT_THROW(Transform(wgs84(), Crs{}), InputError);
}

TEST(Transform, TakesLinesAndShapesPointByPoint) {
  const Transform transform(wgs84(), parse_crs("EPSG:32614"));
  const Line line{{-101, 39}, {-101.01, 39.01}};
  EXPECT_EQ(transform(line)[1], transform(line[1]));
  const MultiPolygon shape{{{{-101, 39}, {-100.9, 39}, {-100.9, 39.1}},
                            {{{-100.92, 39.02}, {-100.91, 39.02}, {-100.91, 39.03}}}}};
  const MultiPolygon out = transform(shape);
  EXPECT_EQ(out[0].outer[2], transform(shape[0].outer[2]));
  EXPECT_EQ(out[0].holes[0][1], transform(shape[0].holes[0][1]));
}

TEST(TransformedExtent, HoldsEveryPointOfTheExtent) {
  const Transform transform(wgs84(), parse_crs("EPSG:32614"));
  const Extent lonlat{-102.9, 38.9, -98.1, 39.4};
  const Extent extent = transformed_extent(lonlat, transform).grown(1);
  for (int i = 0; i <= 30; ++i) {
    for (int j = 0; j <= 30; ++j) {
      const Point p{lonlat.x_min + lonlat.width() * i / 30,
                    lonlat.y_min + lonlat.height() * j / 30};
      EXPECT_TRUE(extent.contains(transform(p)));
    }
  }
  EXPECT_TRUE(transformed_extent(Extent{}, transform).empty());
}

}  // namespace
}  // namespace evendrip
