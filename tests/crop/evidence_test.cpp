// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/evidence.hpp"

#include "evendrip/base/random.hpp"
#include "raster_source.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <numbers>
#include <string>
#include <vector>

namespace evendrip {
namespace {

using invented::raster_source;
using invented::rectangle;
using invented::small_field;
using invented::south;
using invented::west;
using ::testing::HasSubstr;

double unit_normal(std::mt19937_64& stream) {
  const auto uniform = [&] { return (static_cast<double>(stream() >> 11U) + 0.5) * 0x1.0p-53; };
  return std::sqrt(-2 * std::log(uniform())) * std::cos(2 * std::numbers::pi * uniform());
}

/// One zone of 300 x 300 m, laterals 1.5 m apart that run north.
Field large_field() {
  Field field = small_field();
  field.zones.resize(1);
  field.laterals.clear();
  field.zones[0].area = rectangle(west, south, 300, 300);
  field.zones[0].lateral.spacing_m = 1.5;
  for (int i = 0; i < 200; ++i) {
    Lateral lateral;
    lateral.id = std::to_string(i + 1);
    lateral.zone = 0;
    const double x = west + 0.75 + 1.5 * i;
    lateral.line = {{x, south}, {x, south + 300}};
    lateral.length_m = 300;
    field.laterals.push_back(lateral);
  }
  return field;
}

CropEvidence evidence_of_raster(const Field& field, const CropSource& source) {
  const IndexLayer layer = open_index(field, source, {west, south + 300, 1.5, 200, 200}, {});
  return evidence_of(field, source, layer, {});
}

/// Pixels of `pixel_m` with values of mean 0.8 and independent errors.
CropSource noisy_pixels(const std::string& name, double pixel_m, double sd) {
  std::mt19937_64 stream = item_stream(21, {1});
  const auto side = static_cast<int>(std::ceil(300 / pixel_m));
  return raster_source(name, "biomass",
                       {{west, south + 300, pixel_m, side, side}, 1, GDT_Float32, "", ""},
                       [&](int, Point) { return 0.8 + sd * unit_normal(stream); });
}

TEST(PartOf, KeepsTheLayerAndSomeOfItsData) {
  CropEvidence layer;
  layer.id = "one";
  layer.median = 3;
  layer.data.resize(5);
  for (std::size_t i = 0; i < layer.data.size(); ++i) layer.data[i].value = static_cast<double>(i);
  const CropEvidence part = part_of(layer, [](const EvidenceDatum& d) { return d.value >= 3; });
  EXPECT_EQ(part.id, "one");
  EXPECT_EQ(part.median, 3);
  ASSERT_EQ(part.data.size(), 2U);
  EXPECT_EQ(part.data[0].value, 3);
  EXPECT_EQ(part.data[1].value, 4);
}

TEST(EvidenceOfARaster, HoldsItsOwnPixelsWithWhatTheySee) {
  CropSource source = noisy_pixels("pixels.tif", 10, 0.02);
  source.days_since_water = 6;
  source.date = "2026-07-01";
  const CropEvidence evidence = evidence_of_raster(large_field(), source);
  ASSERT_EQ(evidence.data.size(), 900U);
  EXPECT_EQ(evidence.data[0].place, (Point{west + 5, south + 295}));
  EXPECT_NEAR(evidence.typical.across_m, 10, 0.01);
  // Sensor 0.3 and position 0.25 of a pixel; its own lattice, so nothing of resampling.
  EXPECT_NEAR(evidence.typical.blur_m, 10 * std::hypot(0.3, 0.25), 0.01);
  EXPECT_EQ(evidence.days_since_water, 6);
  EXPECT_EQ(evidence.date, "2026-07-01");
  EXPECT_NEAR(evidence.laterals_seen, 10 / 1.5, 0.01);
  EXPECT_THAT(evidence.told, HasSubstr("A pixel of 10 m spans 6.7 laterals"));
  EXPECT_THAT(evidence.told, HasSubstr("single laterals are not seen"));
  source.blur_m = 4;
  source.position_accuracy_m = 3;
  EXPECT_NEAR(evidence_of_raster(large_field(), source).typical.blur_m, 5, 1e-3);
}

TEST(EvidenceOfARaster, SpeaksInTheReportUnitsOfTheField) {
  Field field = large_field();
  field.report_units = UnitSystem::us;
  const CropEvidence evidence = evidence_of_raster(field, noisy_pixels("us.tif", 10, 0.02));
  EXPECT_THAT(evidence.told, HasSubstr("A pixel of 32.8 ft spans 6.7 laterals"));
  EXPECT_THAT(evidence.told, HasSubstr(" ft long"));
  EXPECT_THAT(evidence.told, testing::Not(HasSubstr(" m ")));
}

TEST(EvidenceOfARaster, FindsTheErrorOfAPixel) {
  for (const double sd : {0.01, 0.04}) {
    const CropEvidence evidence = evidence_of_raster(large_field(), noisy_pixels("e.tif", 3, sd));
    // 10,000 pixels: the median absolute deviation of so many differences is off by some 2 %.
    EXPECT_NEAR(evidence.data[0].error, sd, 0.06 * sd);
    EXPECT_NEAR(evidence.relative_error, sd / 0.8, 0.06 * sd / 0.8);
  }
}

TEST(EvidenceOfARaster, IsNotMisledByATrend) {
  std::mt19937_64 stream = item_stream(5, {2});
  const CropSource source = raster_source(
      "slope.tif", "biomass", {{west, south + 300, 3, 100, 100}, 1, GDT_Float32, "", ""},
      [&](int, Point p) { return 0.4 + 0.001 * (p.x - west) + 0.01 * unit_normal(stream); });
  EXPECT_NEAR(evidence_of_raster(large_field(), source).data[0].error, 0.01, 0.0008);
}

TEST(StripResponse, IsTheIntegralOfWhatDataSee) {
  for (const double sd : {0.4, 2.0, 6.0}) {
    for (const double width : {1.5, 6.0}) {
      const auto share = [&](double x) {
        const auto below = [&](double u) { return 0.5 * std::erfc(-u / std::numbers::sqrt2); };
        return below((0.5 * width - x) / sd) - below((-0.5 * width - x) / sd);
      };
      double squares = 0;
      const double step = 0.01;
      for (double x = -60; x < 60; x += step) squares += share(x) * share(x) * step;
      const StripResponse response = strip_response(width, sd);
      EXPECT_NEAR(response.squares_m, squares, 1e-4 * squares);
      EXPECT_NEAR(response.middle, share(0), 1e-9);
    }
  }
  EXPECT_EQ(strip_response(3, 0).squares_m, 3);
  EXPECT_EQ(strip_response(0, 1).squares_m, 0);
}

/// Share of a strip about 0 that a blurred box about x sees.
double share_seen(double x, double strip_m, double box_m, double blur_m) {
  constexpr int steps = 200;
  double sum = 0;
  for (int i = 0; i < steps; ++i) {
    const double u = x + box_m * ((i + 0.5) / steps - 0.5);
    const auto below = [&](double edge) {
      return 0.5 * std::erfc(-(edge - u) / blur_m / std::numbers::sqrt2);
    };
    sum += below(0.5 * strip_m) - below(-0.5 * strip_m);
  }
  return sum / steps;
}

TEST(SmallestFault, StandsOutThreeStandardErrorsAmongPixels) {
  const CropEvidence evidence = evidence_of_raster(large_field(), noisy_pixels("s.tif", 5, 0.06));
  ASSERT_GT(evidence.smallest_width_m, 0);
  const Footprint& typical = evidence.typical;
  // The deficit estimated by least squares from pixels that each see their blurred square of it;
  // the strip lies anywhere among the pixels.
  double squares = 0;
  constexpr int shifts = 10;
  for (int shift = 0; shift < shifts; ++shift) {
    double across = 0;
    double along = 0;
    for (int pixel = -40; pixel <= 40; ++pixel) {
      const double x = typical.across_m * (pixel + shift / double{shifts});
      across +=
          std::pow(share_seen(x, evidence.smallest_width_m, typical.across_m, typical.blur_m), 2);
      along +=
          std::pow(share_seen(x, evidence.smallest_length_m, typical.along_m, typical.blur_m), 2);
    }
    squares += across * along / shifts;
  }
  const double standard_error = evidence.relative_error / std::sqrt(squares);
  EXPECT_NEAR(standard_error, 0.1 / 3, 0.05 * 0.1 / 3);
  EXPECT_GE(share_seen(0, evidence.smallest_width_m, typical.across_m, typical.blur_m), 0.48);
}

TEST(SmallestFault, GrowsWithThePixelAndItsError) {
  const Field field = large_field();
  const CropEvidence fine = evidence_of_raster(field, noisy_pixels("fine.tif", 1, 0.02));
  const CropEvidence coarse = evidence_of_raster(field, noisy_pixels("coarse_p.tif", 10, 0.02));
  const CropEvidence noisy = evidence_of_raster(field, noisy_pixels("noisy.tif", 1, 0.3));
  EXPECT_NEAR(fine.smallest_width_m, 1.5, 1e-9);
  EXPECT_THAT(fine.told, HasSubstr("a single lateral"));
  EXPECT_GE(coarse.smallest_width_m, 6);
  EXPECT_GT(noisy.smallest_length_m, 5 * fine.smallest_length_m);
  const CropEvidence hopeless = evidence_of_raster(field, noisy_pixels("none.tif", 30, 0.79));
  EXPECT_EQ(hopeless.smallest_width_m, 0);
  EXPECT_THAT(hopeless.told, HasSubstr("does not show"));
}

/// Passes north and south, 9 m wide, a record each second at 1.5 m/s.
struct Harvest {
  HarvestLog log;
  CleanedLog cleaned;
};
Harvest harvest_of(double sd) {
  Harvest harvest;
  std::mt19937_64 stream = item_stream(9, {4});
  for (int pass = 0; pass < 33; ++pass) {
    for (int k = 0; k < 200; ++k) {
      const double y = south + 0.75 + 1.5 * (pass % 2 == 0 ? k : 199 - k);
      harvest.log.places.push_back({west + 4.5 + 9 * pass, y});
      harvest.log.duration_s.push_back(1);
      harvest.log.distance_m.push_back(1.5);
      harvest.log.swath_m.push_back(9);
      harvest.cleaned.yield_t_ha.push_back(10 + sd * unit_normal(stream));
      harvest.cleaned.step.push_back(SetAside::kept);
      harvest.cleaned.pass.push_back(pass);
      harvest.cleaned.heading_deg.push_back(pass % 2 == 0 ? 0 : 180);
      harvest.cleaned.cut_width_m.push_back(9);
    }
  }
  harvest.log.yield_t_ha = harvest.cleaned.yield_t_ha;
  return harvest;
}

TEST(EvidenceOfALog, SaysThatAHeaderSpansSixLaterals) {
  Harvest harvest = harvest_of(0.5);
  harvest.cleaned.step[7] = SetAside::speed;
  CropSource source;
  source.kind = "yield";
  source.position_accuracy_m = 0.3;
  const CropEvidence evidence = evidence_of(large_field(), source, harvest.log, harvest.cleaned);
  EXPECT_EQ(evidence.data.size(), 33U * 200 - 1);
  EXPECT_NEAR(evidence.laterals_seen, 6, 1e-6);
  EXPECT_THAT(evidence.told, HasSubstr("A record of a cut of 9 m spans 6.0 laterals"));
  EXPECT_EQ(evidence.typical.across_m, 9);
  // 1.5 m of travel and grain mixed over 2 s x 1.5 m/s.
  EXPECT_NEAR(evidence.typical.along_m, std::sqrt(1.5 * 1.5 + 12 * 3.0 * 3.0), 1e-5);
  EXPECT_NEAR(evidence.typical.blur_m, 0.3, 1e-6);
  EXPECT_NEAR(evidence.data[0].error, 0.5, 0.04);
  EXPECT_NEAR(evidence.relative_error, 0.05, 0.004);
  EXPECT_GT(evidence.smallest_width_m, 1.5);
  EXPECT_EQ(evidence.unit, "t/ha");
}

TEST(EvidenceOfALog, SpansLateralsByItsLengthWhereItCrossesThem) {
  const Harvest harvest = harvest_of(0.5);
  Field field = large_field();
  field.laterals[0].line = {{west, south}, {west + 300, south}};  // the longest runs east
  field.laterals[0].length_m = 301;
  CropSource source;
  source.kind = "yield";
  const CropEvidence evidence = evidence_of(field, source, harvest.log, harvest.cleaned);
  EXPECT_NEAR(evidence.laterals_seen, evidence.typical.along_m / 1.5, 1e-6);
}

TEST(EvidenceOfALog, TellsThatAWidthIsNotKnown) {
  Harvest harvest = harvest_of(0.5);
  const double unknown = std::numeric_limits<double>::quiet_NaN();
  for (std::size_t i = 0; i < harvest.log.size(); ++i)
    harvest.log.swath_m[i] = harvest.cleaned.cut_width_m[i] = unknown;
  const CropEvidence evidence = evidence_of(large_field(), {}, harvest.log, harvest.cleaned);
  ASSERT_EQ(evidence.doubts.size(), 1U);
  EXPECT_EQ(evidence.doubts[0].code, "crop_width_not_known");
}

TEST(MarkHeadland, MarksBothEndsOfTheLaterals) {
  CropEvidence evidence;
  for (const double y : {5.0, 12.0, 150.0, 288.0, 297.0}) {
    EvidenceDatum datum;
    datum.place = {west + 30, south + y};
    evidence.data.push_back(datum);
  }
  mark_headland(evidence, large_field(), 10);
  std::vector<bool> marked;
  for (const EvidenceDatum& datum : evidence.data) marked.push_back(datum.marked);
  EXPECT_THAT(marked, ::testing::ElementsAre(true, false, false, false, true));
}

}  // namespace
}  // namespace evendrip
