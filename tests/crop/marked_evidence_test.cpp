// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/evidence.hpp"

#include "marked_field.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstddef>
#include <functional>
#include <numbers>
#include <vector>

namespace evendrip {
namespace {

using invented::untouched_place;
using invented::wide_crop;
using invented::wide_field;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::SizeIs;

/// Pixels of a metre whose median is 5 units.
CropEvidence pixels_of(const RasterReader& relative) {
  CropEvidence evidence;
  const Grid& grid = relative.grid();
  const Raster raster = relative.read({0, 0, grid.rows, grid.columns});
  for (int row = 0; row < grid.rows; ++row)
    for (int column = 0; column < grid.columns; ++column) {
      EvidenceDatum datum;
      datum.place = grid.centre(row, column);
      datum.value = 5 * static_cast<double>(raster.values[grid.index(row, column)]);
      datum.along_m = datum.across_m = 1;
      evidence.data.push_back(datum);
    }
  evidence.typical = {1, 1, 0, 0};
  evidence.median = 5;
  return evidence;
}

double wave(double east_m, double width_m) {
  return std::cos(2 * std::numbers::pi * (east_m - 2) / width_m);
}

MachineStripe stripe_of(double width_m, double axis_deg, std::vector<int> zones) {
  MachineStripe stripe;
  stripe.width_m = width_m;
  stripe.axis_deg = axis_deg;
  stripe.zones = std::move(zones);
  return stripe;
}

/// Mean over the data whose untouched place is told, over the median.
double mean_where(const CropEvidence& evidence, double turn_deg,
                  const std::function<double(Point)>& weight) {
  double sum = 0;
  double weights = 0;
  for (const EvidenceDatum& datum : evidence.data) {
    const double w = weight(untouched_place(datum.place, turn_deg));
    sum += w * datum.value / evidence.median;
    weights += std::abs(w);
  }
  return sum / weights;
}

TEST(MachineStripesInEvidence, AreTakenOutAsAWaveWithItsAmplitude) {
  for (const double turn_deg : {0.0, 32.0}) {
    const Field field = wide_field(2, turn_deg);
    const auto crop = wide_crop(field, turn_deg, 0.1, 2,
                                [](double east, double) { return 0.04 * wave(east, 9); });
    const CropEvidence before = pixels_of(*crop);
    CropEvidence after = before;
    mark_machine_stripes(after, field, machine_stripes(field, *crop, {}, {}));
    ASSERT_THAT(after.waves, SizeIs(1));
    EXPECT_NEAR(after.waves[0].width_m, 9, 0.1);
    EXPECT_NEAR(after.waves[0].amplitude, 0.04, 0.005);
    EXPECT_LT(after.waves[0].amplitude_error, 0.004);
    EXPECT_GT(after.waves[0].amplitude_error, 0);
    EXPECT_THAT(after.waves[0].told, HasSubstr("zones Z1, Z2"));
    ASSERT_THAT(after.doubts, SizeIs(1));
    EXPECT_EQ(after.doubts[0].code, "machine_stripes_taken_out");
    const auto along_wave = [](Point p) {
      return p.x < 0 || p.x > 108 || p.y < 0 || p.y > 120 ? 0 : wave(p.x, 9);
    };
    EXPECT_GT(mean_where(before, turn_deg, along_wave), 0.025);
    EXPECT_NEAR(mean_where(after, turn_deg, along_wave), 0, 0.003);
    for (std::size_t i = 0; i < after.data.size(); ++i) {
      EXPECT_FALSE(after.data[i].marked);
      EXPECT_NEAR(after.data[i].value + static_cast<double>(after.data[i].taken_out),
                  before.data[i].value, 1e-5);
    }
  }
}

TEST(MachineStripesInEvidence, HardlyTakeAFaultOfALateralWithThem) {
  const Field field = wide_field(2);
  const auto weak = [](double east) { return east > 30 && east < 31.5; };
  const auto crop = wide_crop(field, 0, 0.1, 4, [&](double east, double) {
    return 0.04 * wave(east, 9) - (weak(east) ? 0.25 : 0);
  });
  CropEvidence evidence = pixels_of(*crop);
  mark_machine_stripes(evidence, field, {stripe_of(9, 0, {0, 1})});
  ASSERT_THAT(evidence.waves, SizeIs(1));
  const auto on = [&](Point p) { return p.x > 30 && p.x < 31 ? 1.0 : 0.0; };
  const auto off = [&](Point p) { return p.x > 33 && p.x < 60 ? 1.0 : 0.0; };
  const double deficit = mean_where(evidence, 0, off) - mean_where(evidence, 0, on);
  EXPECT_NEAR(deficit, 0.25, 0.02);
}

TEST(MachineStripesInEvidence, ThatAreNarrowTracksAreMarked) {
  const Field field = wide_field(2);
  const auto on_track = [](double east) {
    return east - 12 * std::floor(east / 12) >= 5 && east - 12 * std::floor(east / 12) < 7;
  };
  const auto crop =
      wide_crop(field, 0, 0.1, 5, [&](double east, double) { return on_track(east) ? -0.2 : 0; });
  CropEvidence evidence = pixels_of(*crop);
  mark_machine_stripes(evidence, field, {stripe_of(12, 0, {0, 1})});
  EXPECT_THAT(evidence.waves, IsEmpty());
  double marked = 0;
  double tracks = 0;
  double hit = 0;
  for (const EvidenceDatum& datum : evidence.data) {
    const bool track = on_track(untouched_place(datum.place, 0).x);
    EXPECT_EQ(datum.mark, datum.marked ? Mark::machine : Mark::none);
    marked += datum.marked ? 1 : 0;
    tracks += track ? 1 : 0;
    hit += track && datum.marked ? 1 : 0;
    EXPECT_EQ(datum.taken_out, 0);
  }
  EXPECT_GT(hit, 0.9 * tracks);
  EXPECT_LE(marked, 0.26 * static_cast<double>(evidence.data.size()));
  ASSERT_THAT(evidence.doubts, SizeIs(1));
  EXPECT_EQ(evidence.doubts[0].code, "machine_tracks_marked");
}

TEST(MachineStripesInEvidence, StayWithinTheirZonesAndLeaveEarlierMarks) {
  const Field field = wide_field(2);
  const auto crop =
      wide_crop(field, 0, 0.1, 6, [](double east, double) { return 0.04 * wave(east, 9); });
  CropEvidence evidence = pixels_of(*crop);
  mark_headland(evidence, field, 10);
  mark_machine_stripes(evidence, field, {stripe_of(9, 0, {0})});
  ASSERT_THAT(evidence.waves, SizeIs(1));
  for (const EvidenceDatum& datum : evidence.data) {
    const Point p = untouched_place(datum.place, 0);
    const bool headland = p.y < 10 || p.y > 110;
    EXPECT_EQ(datum.mark, headland ? Mark::headland : Mark::none);
    EXPECT_TRUE(p.x < 60 || datum.taken_out == 0);
  }
}

TEST(MachineStripesInEvidence, ThatADatumSpansAreLeftAlone) {
  const Field field = wide_field(2);
  const auto crop =
      wide_crop(field, 0, 0.1, 7, [](double east, double) { return 0.04 * wave(east, 9); });
  CropEvidence evidence = pixels_of(*crop);
  evidence.typical.across_m = 9;
  mark_machine_stripes(evidence, field, {stripe_of(9, 0, {0, 1})});
  EXPECT_THAT(evidence.waves, IsEmpty());
  CropEvidence none;
  mark_machine_stripes(none, field, {stripe_of(9, 0, {0, 1}), stripe_of(6, 0, {})});
  EXPECT_THAT(none.waves, IsEmpty());
}

TEST(Marks, HaveNames) {
  EXPECT_EQ(to_text(Mark::none), "");
  EXPECT_EQ(to_text(Mark::headland), "headland");
  EXPECT_EQ(to_text(Mark::machine), "machine");
}

}  // namespace
}  // namespace evendrip
