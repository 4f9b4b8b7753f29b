// SPDX-License-Identifier: Apache-2.0
// Projected coordinates against tests/reference/projections.txt, and published geodesics.
#include <gtest/gtest.h>

#include <string>

#include "evendrip/base/error.hpp"
#include "evendrip/crs/crs.hpp"
#include "reference_table.hpp"

namespace evendrip {
namespace {

/// Code of the error that a CRS gives; empty if it is taken.
std::string refusal_of(const std::string& crs) {
  try {
    parse_crs(crs);
  } catch (const InputError& error) {
    return error.problems().front().code;
  }
  return "";
}

bool is_number(const std::string& cell) {
  return cell.find_first_not_of("0123456789.") == std::string::npos;
}

TEST(Projections, AgreeWithPublishedPoints) {
  const auto rows = test::reference_table("projections.txt");
  for (const auto& cells : rows) {
    SCOPED_TRACE(cells[0]);
    ASSERT_EQ(cells.size(), 8U);
    if (!is_number(cells[7])) {
      EXPECT_EQ(refusal_of(cells[2]), cells[7]);
      continue;
    }
    const Transform transform(parse_crs(cells[1]), parse_crs(cells[2]));
    const Point found = transform({std::stod(cells[3]), std::stod(cells[4])});
    const double tolerance = std::stod(cells[7]);
    EXPECT_NEAR(found.x, std::stod(cells[5]), tolerance);
    EXPECT_NEAR(found.y, std::stod(cells[6]), tolerance);
  }
  EXPECT_GE(rows.size(), 19U);
}

// GeographicLib's documented example, and two lines of public geodesic test suites (near-antipodal,
// pole to pole).
TEST(Geodesic, AgreesWithPublishedDistances) {
  EXPECT_NEAR(geodesic_distance_m({-73.8, 40.6}, {-0.5, 51.6}), 5551759.400318679, 1e-6);
  EXPECT_NEAR(geodesic_distance_m({174.81, -41.32}, {-5.5, 40.96}), 19959679.267353822, 1e-6);
  EXPECT_NEAR(geodesic_distance_m({0, 90}, {0, -90}), 20003931.458625447, 1e-6);
}

// The whole ellipsoid in eight triangles: WGS 84 area 510065621724088 m2 (GeographicLib, from
// memory).
TEST(GroundArea, OfTheEarthIsTheEllipsoids) {
  const Crs lonlat = wgs84();
  const MultiPolygon octant{{{{0, 0}, {90, 0}, {0, 90}}, {}}};
  EXPECT_NEAR(8 * ground_area_m2(lonlat, octant), 510065621724088.0, 1e3);
}

}  // namespace
}  // namespace evendrip
