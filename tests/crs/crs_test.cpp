// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crs/crs.hpp"

#include <gtest/gtest.h>

#include "evendrip/base/error.hpp"

namespace evendrip {
namespace {

template <typename Action>
std::string code_of(const Action& action) {
  try {
    action();
  } catch (const InputError& error) {
    return error.problems().front().code;
  }
  return "accepted";
}

Extent around(double lon, double lat) {
  return {lon - 0.01, lat - 0.01, lon + 0.01, lat + 0.01};
}

TEST(ParseCrs, TakesCodesWktAndProjStrings) {
  const Crs utm = parse_crs("EPSG:32614");
  EXPECT_EQ(utm.name, "WGS 84 / UTM zone 14N");
  EXPECT_EQ(utm.code, "EPSG:32614");
  EXPECT_FALSE(utm.geographic);
  EXPECT_EQ(utm.unit_to_metre, 1);
  EXPECT_TRUE(same_crs(parse_crs("32614"), utm));
  EXPECT_TRUE(same_crs(parse_crs(utm.wkt), utm));
  EXPECT_TRUE(same_crs(parse_crs("+proj=utm +zone=14 +datum=WGS84 +type=crs"), utm));
  EXPECT_FALSE(same_crs(parse_crs("32613"), utm));
  EXPECT_FALSE(same_crs(Crs{}, Crs{}));
}

TEST(ParseCrs, KnowsFeetAndDegrees) {
  // EPSG: US survey foot 1200/3937 m (2277), international foot 0.3048 m (2223).
  const Crs survey = parse_crs("EPSG:2277");
  EXPECT_EQ(survey.unit_name, "US survey foot");
  EXPECT_NEAR(survey.unit_to_metre, 1200.0 / 3937, 1e-15);
  EXPECT_NEAR(parse_crs("EPSG:2223").unit_to_metre, 0.3048, 1e-15);
  EXPECT_TRUE(wgs84().geographic);
  EXPECT_EQ(wgs84().unit_name, "degree");
}

TEST(ParseCrs, DropsHeights) {
  EXPECT_EQ(parse_crs("EPSG:26914+5703").code, "EPSG:26914");
  EXPECT_EQ(parse_crs("EPSG:4979").geographic, true);
}

TEST(ParseCrs, RefusesWhatItCannotUse) {
  for (const char* text : {"", "EPSG:999999", "nonsense", "EPSG:4978", "EPSG:5703",
                           "https://example.org/crs", "/etc/hostname", "99999999999999"}) {
    EXPECT_EQ(code_of([&] { parse_crs(text); }), "unknown_crs") << text;
  }
}

TEST(ParseCrs, PrintsNothingWhenItRefuses) {
  testing::internal::CaptureStderr();
  testing::internal::CaptureStdout();
  EXPECT_EQ(code_of([] { parse_crs("EPSG:999999"); }), "unknown_crs");
  EXPECT_EQ(code_of([] {
              Transform(wgs84(), parse_crs("EPSG:32614"))({-101, 95});
            }),
            "not_transformable");
  EXPECT_EQ(testing::internal::GetCapturedStderr(), "");
  EXPECT_EQ(testing::internal::GetCapturedStdout(), "");
}

// Zone limits and the exceptions 31V/32V and 31X-37X: NGA.SIG.0012 (2014), figure of UTM zones,
// from memory. The three farm places: zones as in tests/reference/projections.txt.
TEST(UtmFor, FindsTheZoneInBothHemispheres) {
  EXPECT_EQ(utm_for(around(-101.0683, 39.3956)).code, "EPSG:32614");
  EXPECT_EQ(utm_for(around(-119.9, 36.6)).code, "EPSG:32611");
  EXPECT_EQ(utm_for(around(151.2, -33.85)).code, "EPSG:32756");
  EXPECT_EQ(utm_for(around(-34.9, -7.9)).code, "EPSG:32725");
  EXPECT_EQ(utm_for({-180, 10, -179.9, 10.1}).code, "EPSG:32601");
  EXPECT_EQ(utm_for({179.9, -10, 180, -9.9}).code, "EPSG:32760");
  EXPECT_EQ(utm_for({180, 0, 180, 0}).code, "EPSG:32660");
}

TEST(UtmFor, KeepsTheExceptionsOfNorwayAndSvalbard) {
  EXPECT_EQ(utm_for(around(5.3, 60.4)).code, "EPSG:32632");
  EXPECT_EQ(utm_for(around(2.5, 60.4)).code, "EPSG:32631");
  EXPECT_EQ(utm_for(around(5.3, 55.5)).code, "EPSG:32631");
  EXPECT_EQ(utm_for(around(5.3, 64.5)).code, "EPSG:32631");
  EXPECT_EQ(utm_for(around(8.5, 78)).code, "EPSG:32631");
  EXPECT_EQ(utm_for(around(9.5, 78)).code, "EPSG:32633");
  EXPECT_EQ(utm_for(around(20.5, 78)).code, "EPSG:32633");
  EXPECT_EQ(utm_for(around(21.5, 78)).code, "EPSG:32635");
  EXPECT_EQ(utm_for(around(33.5, 78)).code, "EPSG:32637");
  EXPECT_EQ(utm_for(around(9.5, 71)).code, "EPSG:32632");
}

TEST(UtmFor, RefusesWhatIsNoPlaceOfAField) {
  EXPECT_EQ(code_of([] { utm_for(around(39.4, -101.07)); }), "not_lonlat");  // swapped
  EXPECT_EQ(code_of([] { utm_for(Extent{}); }), "not_lonlat");
  EXPECT_EQ(code_of([] { utm_for({321000, 4362000, 322000, 4363000}); }), "not_lonlat");
  EXPECT_EQ(code_of([] { utm_for({-101, 39, -90, 40}); }), "extent_too_wide");
  EXPECT_EQ(code_of([] { utm_for({-101, -39, -100, 39}); }), "extent_too_wide");
  EXPECT_EQ(code_of([] { utm_for(around(10, 86)); }), "outside_utm");
}

TEST(MetricTwin, HoldsTheSamePlacesInMetres) {
  for (const char* code : {"EPSG:2277", "EPSG:2223", "EPSG:2228"}) {
    const Crs feet = parse_crs(code);
    const Crs metres = metric_twin(feet);
    EXPECT_EQ(metres.unit_to_metre, 1);
    const Point lonlat{-100.2, 33.1};
    const Point a = Transform(wgs84(), feet)(lonlat);
    const Point b = Transform(wgs84(), metres)(lonlat);
    EXPECT_NEAR(a.x * feet.unit_to_metre, b.x, 1e-6) << code;
    EXPECT_NEAR(a.y * feet.unit_to_metre, b.y, 1e-6) << code;
    EXPECT_FALSE(same_crs(feet, metres));
  }
}

TEST(MetricTwin, IsTheCrsItselfWhereThatIsMetric) {
  const Crs utm = parse_crs("EPSG:32756");
  EXPECT_EQ(metric_twin(utm).wkt, utm.wkt);
}

TEST(MetricTwin, RefusesDegreesAndAxesToTheSouth) {
  EXPECT_EQ(code_of([] { metric_twin(wgs84()); }), "degrees_refused");
  EXPECT_EQ(code_of([] { metric_twin(parse_crs("EPSG:2048")); }), "axes_refused");
  EXPECT_EQ(code_of([] { metric_twin(Crs{}); }), "unknown_crs");
}

TEST(LibraryVersions, NameAllFour) {
  const std::string text = library_versions();
  for (const char* name : {"GDAL 3.", "PROJ ", "GEOS 3.", "Boost 1."}) {
    EXPECT_NE(text.find(name), std::string::npos) << text;
  }
}

}  // namespace
}  // namespace evendrip
