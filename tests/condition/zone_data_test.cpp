// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_data.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace evendrip {
namespace {

/// Ten laterals that run north from y = 0 to 60, 1.5 m apart from x = 0.75 on.
Field lined_field() {
  Field field;
  field.zones.resize(1);
  field.zones[0].area = {{{{0, 0}, {15, 0}, {15, 60}, {0, 60}}, {}}};
  for (int i = 0; i < 10; ++i) {
    Lateral lateral;
    lateral.zone = 0;
    lateral.length_m = 60;
    const double x = 0.75 + 1.5 * i;
    lateral.line = {{x, 0}, {x, 60}};
    field.laterals.push_back(lateral);
  }
  return field;
}

CropEvidence evidence_with(std::vector<EvidenceDatum> data) {
  CropEvidence evidence;
  evidence.kind = "biomass";
  evidence.median = 0.5;
  evidence.data = std::move(data);
  return evidence;
}

EvidenceDatum datum_at(Point place, float side_m, double value = 0.5) {
  EvidenceDatum datum;
  datum.place = place;
  datum.along_m = datum.across_m = side_m;
  datum.value = value;
  return datum;
}

/// Pixels over the middle of the zone, higher to the north, of soils by place.
template <class Soil>
CropEvidence on_ground(double rise_m_per_m, std::vector<std::string> names, const Soil& soil_of) {
  std::vector<EvidenceDatum> data;
  for (double y = 5; y < 56; y += 2)
    for (double x = 3; x < 13; x += 2) {
      data.push_back(datum_at({x, y}, 1));
      data.back().elevation_m = static_cast<float>(100 + rise_m_per_m * y);
      data.back().soil_unit = soil_of(Point{x, y});
    }
  CropEvidence evidence = evidence_with(std::move(data));
  evidence.soil_units = std::move(names);
  return evidence;
}

std::vector<CropDatum> data_of(const CropEvidence& evidence) {
  const Field field = lined_field();
  return crop_data(field, segment_grid(field, 0, 10), evidence, {});
}

TEST(CropData, StandOverTheMeanOfTheirGround) {
  const auto data = data_of(on_ground(0.02, {"loam", "sand"}, [](Point p) { return p.y > 36; }));
  ASSERT_FALSE(data.empty());
  double height = 0;
  double squares = 0;
  double soil = 0;
  for (const CropDatum& datum : data) {
    ASSERT_EQ(datum.ground.size(), 2U);
    height += datum.ground[0];
    squares += datum.ground[0] * datum.ground[0];
    soil += datum.ground[1];
  }
  EXPECT_NEAR(height, 0, 1e-6);
  EXPECT_NEAR(squares / static_cast<double>(data.size()), 1, 1e-9);
  EXPECT_NEAR(soil, 0, 1e-9);
  // The rarer soil is apart by 1 from the commoner one.
  EXPECT_NEAR(data.back().ground[1] - data.front().ground[1], 1, 1e-12);
}

TEST(CropData, HaveNoTermForLevelGroundOneSoilOrARareOne) {
  const auto one = [](Point) { return 0; };
  EXPECT_TRUE(data_of(on_ground(0.001, {"loam"}, one)).front().ground.empty());
  const auto rare = [](Point p) { return p.y > 54 && p.x > 10; };
  EXPECT_TRUE(data_of(on_ground(0, {"loam", "sand"}, rare)).front().ground.empty());
  // A map that ends within the zone: what it does not tell of is another ground.
  const auto half = [](Point p) { return p.y > 30 ? 0 : -1; };
  EXPECT_EQ(data_of(on_ground(0, {"loam"}, half)).front().ground.size(), 1U);
  CropEvidence gaps = on_ground(0.02, {}, one);
  gaps.data[60].elevation_m = std::numeric_limits<float>::quiet_NaN();
  EXPECT_TRUE(data_of(gaps).front().ground.empty());
}

TEST(HoleData, FallInTheSegmentsOfTheirLaterals) {
  const SegmentGrid grid = segment_grid(lined_field(), 0, 10);
  const Samples samples{{{{2.25, 34}, 1, 34, 0}, 0.9, 0.01}, {{{0, 0}, -1, 0, 0}, 0.7, 0.01}};
  const auto holes = hole_data(grid, samples);
  ASSERT_EQ(holes.size(), 1U);
  EXPECT_EQ(holes[0].row, 1);
  EXPECT_EQ(holes[0].station, 3);
  EXPECT_DOUBLE_EQ(holes[0].value, 0.9);
}

TEST(CropData, OfASmallPixelSpeaksOfItsLateralAndTheNextOnes) {
  const Field field = lined_field();
  const SegmentGrid grid = segment_grid(field, 0, 10);
  const auto data = crop_data(field, grid, evidence_with({datum_at({3.75, 25}, 1, 0.4)}), {});
  ASSERT_EQ(data.size(), 1U);
  // Laterals 1.5 m apart: the pixel is one metre wide on the third, and plants draw from half a
  // spacing (standard deviation) across.
  EXPECT_EQ(data[0].segments, (std::vector<int>{1 * 6 + 2, 2 * 6 + 2, 3 * 6 + 2}));
  EXPECT_GT(data[0].weights[1], 0.6);
  EXPECT_NEAR(data[0].weights[0], data[0].weights[2], 1e-12);
  EXPECT_NEAR(std::accumulate(data[0].weights.begin(), data[0].weights.end(), 0.0), 1, 1e-12);
  EXPECT_DOUBLE_EQ(data[0].value, 0.8);
  EXPECT_DOUBLE_EQ(data[0].to_ends_m[0], 25);
  EXPECT_DOUBLE_EQ(data[0].to_ends_m[1], 35);
}

TEST(CropData, OfAWidePixelIsSharedByTheLateralsUnderIt) {
  const Field field = lined_field();
  const SegmentGrid grid = segment_grid(field, 0, 10);
  const auto data = crop_data(field, grid, evidence_with({datum_at({7.5, 25}, 7.5F)}), {});
  ASSERT_EQ(data.size(), 1U);
  EXPECT_NEAR(std::accumulate(data[0].weights.begin(), data[0].weights.end(), 0.0), 1, 1e-12);
  double middle = 0;
  for (std::size_t k = 0; k < data[0].segments.size(); ++k)
    middle += data[0].weights[k] * (0.75 + 1.5 * (data[0].segments[k] / grid.stations()));
  EXPECT_NEAR(middle, 7.5, 0.4);
  EXPECT_GE(data[0].segments.size(), 4U);
}

TEST(CropData, TurnWithTheirHeadingAndWidenWithTheirBlur) {
  const Field field = lined_field();
  const SegmentGrid grid = segment_grid(field, 0, 10);
  const auto laterals = [&](float heading_deg, float blur_m) {
    EvidenceDatum datum = datum_at({7.5, 25}, 0.5F);
    datum.along_m = 9;
    datum.heading_deg = heading_deg;
    datum.blur_m = blur_m;
    const auto data = crop_data(field, grid, evidence_with({datum}), {});
    int least = 99;
    int most = -1;
    for (const int segment : data.at(0).segments) {
      least = std::min(least, segment / grid.stations());
      most = std::max(most, segment / grid.stations());
    }
    return most - least + 1;
  };
  EXPECT_LE(laterals(0, 0), 4);
  EXPECT_GE(laterals(90, 0), 7);
  EXPECT_GE(laterals(0, 1.5F), 5);
}

TEST(CropData, LeaveOutWhatLiesOutsideIsMarkedOrHasNoValue) {
  const Field field = lined_field();
  const SegmentGrid grid = segment_grid(field, 0, 10);
  EvidenceDatum marked = datum_at({7.5, 25}, 1);
  marked.marked = true;
  const CropEvidence evidence =
      evidence_with({datum_at({0, 25}, 3), datum_at({-20, 25}, 1), marked,
                     datum_at({7.5, 25}, 1, std::nan("")), datum_at({7.5, 35}, 1)});
  EXPECT_EQ(crop_data(field, grid, evidence, {}).size(), 1U);
}

TEST(MovedAcross, MovesTheLayerOnTheGroundToWhereRowsAscend) {
  Field field = lined_field();
  const SegmentGrid grid = segment_grid(field, 0, 10);
  field.scale_factor = 0.5;  // of the map, a metre on the ground is half a unit
  const CropEvidence moved = moved_across(evidence_with({datum_at({7.5, 25}, 1)}), field, grid, 3);
  EXPECT_NEAR(moved.data[0].place.x, 7.5 + 1.5 * grid.across.x, 1e-12);
  EXPECT_NEAR(moved.data[0].place.y, 25 + 1.5 * grid.across.y, 1e-12);
  EXPECT_EQ(moved.data[0].value, 0.5);
}

TEST(CropData, TurnTemperaturesRound) {
  const Field field = lined_field();
  const SegmentGrid grid = segment_grid(field, 0, 10);
  CropEvidence evidence = evidence_with({datum_at({7.5, 25}, 1, 30)});
  evidence.kind = "canopy_temperature";
  evidence.median = 27;
  EXPECT_DOUBLE_EQ(crop_data(field, grid, evidence, {}).at(0).value, 0.9);
}

/// What 1 - exp(-K) loses of its share for each share that K loses (Baret & Guyot 1991, Remote
/// Sens. Environ. 35:161-173, from memory: extinction times leaf area of a closed canopy 1.5
/// to 2.5).
TEST(UsualResponse, OfAnIndexHoldsWhatSaturationLeavesOfThatOfYield) {
  const ResponsePrior yield = usual_response("yield");
  const ResponsePrior index = usual_response("biomass");
  for (const double k : {1.5, 2.0, 2.5}) {
    const double left = yield.median * k * std::exp(-k) / -std::expm1(-k);
    EXPECT_LT(std::abs(std::log(left / index.median)), index.log_sd) << k;
  }
  EXPECT_LT(index.median, yield.median / 2);
  EXPECT_GT(index.log_sd, yield.log_sd);
}

}  // namespace
}  // namespace evendrip
