// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/segments.hpp"

#include <gtest/gtest.h>

#include <cmath>
#include <stdexcept>

#include "evendrip/geo/line.hpp"

#include "mapped_field.hpp"

namespace evendrip {
namespace {

TEST(Segments, CoverEveryLateralEndToEndInEqualParts) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, test::survey_of(field));
  const auto segments = segments_of(field, map, 11, {});
  ASSERT_EQ(segments.size(), 20U * 5U);  // 60 m in parts of about 11 m
  for (std::size_t i = 0; i < segments.size(); ++i) {
    EXPECT_NEAR(segments[i].from_m, 12.0 * static_cast<double>(i % 5), 1e-9);
    EXPECT_NEAR(segments[i].to_m - segments[i].from_m, 12, 1e-9);
    EXPECT_NEAR(length_m(segments[i].line), 12, 1e-9);
    EXPECT_EQ(segments[i].lateral, static_cast<int>(i / 5));
  }
}

TEST(Segments, AreTheMeanOfTheirEmittersAndSurerThanOneOfThem) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, test::survey_of(field));
  const auto segments = segments_of(field, map, 60, {});
  ASSERT_EQ(segments.size(), 20U);
  for (const Segment& segment : segments) {
    std::vector<Block> single;
    double mean = 0;
    for (int e = 1; e <= 120; ++e) {
      const double station_m = emitter_station_m(field.zones[0].emitter, e);
      single.push_back(
          {{{place_on_lateral(field, segment.lateral, station_m), segment.lateral, station_m, 0}},
           {1}});
    }
    double most = 0;
    for (const Prediction& one : map.means(single, {})) {
      mean += one.value / 120;
      most = std::max(most, one.variance);
    }
    EXPECT_NEAR(segment.r.value, mean, 1e-9);
    EXPECT_LE(segment.r.variance, most);
  }
}

TEST(Segments, FallWhereTheDischargeFalls) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, test::survey_of(field));
  for (const Segment& segment : segments_of(field, map, 20, {}))
    EXPECT_NEAR(segment.r.value, segment.from_m < 39 ? 1.0 : 0.8, 0.1);
}

TEST(Segments, NeedALength) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, test::survey_of(field));
  EXPECT_THROW(segments_of(field, map, 0, {}), std::invalid_argument);
  EXPECT_THROW(segments_of(field, map, std::nan(""), {}), std::invalid_argument);
}

TEST(Segments, OfAZoneThatIsNotMappedAreNone) {
  const Field field = test::field_of_laterals();
  const DischargeMap map = test::map_of(field, Survey{});
  EXPECT_TRUE(segments_of(field, map, 10, {}).empty());
}

}  // namespace
}  // namespace evendrip
