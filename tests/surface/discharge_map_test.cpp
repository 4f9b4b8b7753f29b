// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/discharge_map.hpp"

#include "evendrip/surface/fit_limits.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstring>

namespace evendrip {
namespace {

using Method = ZoneSurface::Method;

MultiPolygon rectangle(double x0, double y0, double x1, double y1) {
  return {{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, {}}};
}

/// Two zones side by side, each 60 m x 60 m.
Field two_zones() {
  Field field;
  for (const int z : {0, 1}) {
    Zone zone;
    zone.id = z == 0 ? "west" : "east";
    zone.area = rectangle(60.0 * z, 0, 60.0 * (z + 1), 60);
    zone.lateral.spacing_m = 1.5;
    field.zones.push_back(zone);
  }
  return field;
}

MeasuredEmitter emitter_at(double x, double y, int zone, double discharge_lph) {
  MeasuredEmitter emitter;
  emitter.site.place = {x, y};
  emitter.site.zone = zone;
  emitter.site.lateral = 0;
  emitter.discharge_lph = discharge_lph;
  return emitter;
}

/// Discharge falls towards the north, in both zones alike but for their level.
void dig(Survey& survey, int zone, int count, double level_lph) {
  for (int i = 0; i < count; ++i) {
    const double x = 60.0 * zone + 3 + std::fmod(37.0 * i, 54.0);
    const double y = 2 + std::fmod(23.0 * i, 57.0);
    const double wave = 1 - 0.4 * std::pow(y / 60, 2) + 0.02 * std::sin(5.0 * i);
    survey.emitters.push_back(emitter_at(x, y, zone, level_lph * wave));
  }
}

Survey surveyed(int west, int east) {
  Survey survey;
  dig(survey, 0, west, 1.0);
  dig(survey, 1, east, 2.0);
  return survey;
}

const Grid grid{-3, 63, 1.5, 84, 44};
const Window whole{0, 0, 44, 84};

TEST(DischargeMap, TakesAModelOnceTenEmittersAreDugAndSetsItBesideOtherEstimators) {
  const DischargeMap map(two_zones(), surveyed(30, 30), grid, {});
  ASSERT_TRUE(map.choice());
  EXPECT_EQ(map.zones()[0].method, Method::model);
  EXPECT_EQ(map.zones()[1].method, Method::model);
  EXPECT_THAT(map.method_text(), testing::HasSubstr("the model \""));
  EXPECT_THAT(map.method_text(), testing::HasSubstr("discharge over the median of the zone"));
  ASSERT_FALSE(map.comparison().empty());
  const EstimatorScore& own = map.comparison().front();
  EXPECT_EQ(own.name, "this map");
  EXPECT_EQ(own.left_out, LeaveOut::emitter);
  for (const EstimatorScore& other : map.comparison()) {
    if (other.name != zone_mean_estimator().name || other.left_out != LeaveOut::emitter) continue;
    EXPECT_LT(own.rmse, 0.5 * other.rmse);  // discharge falls towards the north
  }
}

TEST(DischargeMap, FallsBackToTheMeanOfTheZoneWithTooFewEmittersAndSaysSo) {
  const DischargeMap map(two_zones(), surveyed(6, 3), grid, {});
  EXPECT_FALSE(map.choice());
  for (const ZoneSurface& zone : map.zones()) {
    EXPECT_EQ(zone.method, Method::zone_mean);
    EXPECT_THAT(zone.why, testing::HasSubstr("too few in all (9)"));
  }
  EXPECT_EQ(map.doubts().size(), 2U);
  const auto part = map.over(whole, {});
  const Cell cell = cell_of(grid, {100, 30});
  const std::size_t i = grid.index(cell.row, cell.column);
  double mean = 0;
  double squares = 0;
  for (const Sample& sample : map.samples().samples) {
    if (sample.site.zone != 1) continue;
    mean += sample.value / 3;
    squares += sample.value * sample.value;
  }
  EXPECT_NEAR(part.relative.values[i], mean, 1e-6);
  EXPECT_NEAR(part.standard_error.values[i], std::sqrt((squares - 3 * mean * mean) / 2 / 3), 1e-5);
}

TEST(DischargeMap, TakesInverseDistanceWhereThatIsAskedFor) {
  Field field = two_zones();
  field.analysis.method = SurfaceMethod::inverse_distance;
  const DischargeMap map(field, surveyed(20, 1), grid, {});
  EXPECT_FALSE(map.choice());
  EXPECT_EQ(map.zones()[0].method, Method::inverse_distance);
  EXPECT_THAT(map.zones()[0].why, testing::HasSubstr("was asked for"));
  const auto part = map.over(whole, {});
  const Cell west = cell_of(grid, {30, 30});
  const Cell east = cell_of(grid, {90, 30});
  EXPECT_GT(part.standard_error.values[grid.index(west.row, west.column)], 0);
  EXPECT_EQ(part.standard_error.reasons[grid.index(east.row, east.column)], Reason::too_few);
}

TEST(DischargeMap, TakesOrdinaryKrigingAloneWhereThatIsAskedFor) {
  Field field = two_zones();
  field.analysis.method = SurfaceMethod::kriging;
  const DischargeMap map(field, surveyed(30, 30), grid, {});
  ASSERT_TRUE(map.choice());
  EXPECT_EQ(map.choice()->table.size(), 1U);
}

TEST(DischargeMap, IsFlatWhereEmittersShowNoSpatialStructure) {
  Survey survey;
  for (int i = 0; i < 40; ++i)  // neighbours are opposites
    survey.emitters.push_back(
        emitter_at(2 + 7.0 * (i % 8), 2 + 7.0 * (i / 8), 0, (i + i / 8) % 2 == 0 ? 1.2 : 0.8));
  const DischargeMap map(two_zones(), survey, grid, {});
  const auto part = map.over(whole, {});
  float least = 10;
  float most = 0;
  for (std::size_t i = 0; i < part.relative.values.size(); ++i) {
    if (!part.relative.has_value(i)) continue;
    least = std::min(least, part.relative.values[i]);
    most = std::max(most, part.relative.values[i]);
  }
  EXPECT_LT(most - least, 0.1F);
}

TEST(DischargeMap, GivesLimitsProbabilitiesAndDepthThatAgreeWithEachOther) {
  Field field = two_zones();
  for (Zone& zone : field.zones) zone.emitter.spacing_m = 0.5;
  const DischargeMap map(field, surveyed(30, 30), grid, {});
  const auto part = map.over(whole, {});
  const double quantile = student_limits({0, 1}, 0.90, map.freedom(0)).upper;
  EXPECT_GT(quantile, 1.644854);  // of the normal distribution
  std::size_t seen = 0;
  for (std::size_t i = 0; i < part.relative.values.size(); ++i) {
    if (!part.relative.has_value(i)) continue;
    ++seen;
    EXPECT_LE(part.lower.values[i], part.relative.values[i]);
    EXPECT_GE(part.upper.values[i], part.relative.values[i]);
    EXPECT_LE(part.below_clogged.values[i], part.below_low.values[i]);
    EXPECT_NEAR(part.upper.values[i] - part.relative.values[i],
                quantile * part.standard_error.values[i], 1e-4);
    EXPECT_NEAR(part.depth_mm_h.values[i], part.discharge_lph.values[i] / (0.5 * 1.5), 1e-5);
    const bool uncertain = part.lower.values[i] < 0.75F && part.upper.values[i] > 0.90F;
    EXPECT_EQ(part.relative.reasons[i] == Reason::too_uncertain, uncertain);
    EXPECT_EQ(part.standard_error.reasons[i], Reason::value);
  }
  EXPECT_GT(seen, 1000U);
}

TEST(DischargeMap, DoesNotLetWaterCrossFromZoneToZone) {
  Survey survey = surveyed(30, 30);
  const auto before = DischargeMap(two_zones(), survey, grid, {}).over(whole, {});
  // Another level next door changes neither relative nor absolute discharge here.
  for (MeasuredEmitter& emitter : survey.emitters)
    if (emitter.site.zone == 1) emitter.discharge_lph *= 3;
  const auto after = DischargeMap(two_zones(), survey, grid, {}).over(whole, {});
  for (std::size_t i = 0; i < before.relative.values.size(); ++i) {
    if (!before.relative.has_value(i)) continue;
    EXPECT_NEAR(after.relative.values[i], before.relative.values[i], 1e-5);
    const bool east = grid.centre(0, static_cast<int>(i % 84)).x > 60;
    EXPECT_NEAR(after.discharge_lph.values[i], before.discharge_lph.values[i] * (east ? 3 : 1),
                1e-4);
  }
}

TEST(DischargeMap, LeavesOutDamagedMissingAndAmbiguousEmitters) {
  Survey survey = surveyed(12, 12);
  const DischargeMap before(two_zones(), survey, grid, {});
  MeasuredEmitter odd = emitter_at(30, 30, 0, 9);
  odd.state = EmitterState::dug_damage;
  survey.emitters.push_back(odd);
  odd.state = EmitterState::not_found;
  survey.emitters.push_back(odd);
  odd.state = EmitterState::runs;
  odd.placement = Placement::outside;
  survey.emitters.push_back(odd);
  const DischargeMap with_odd_ones(two_zones(), survey, grid, {});
  EXPECT_EQ(with_odd_ones.samples().samples.size(), before.samples().samples.size());
  EXPECT_EQ(with_odd_ones.zones()[0].median_lph, before.zones()[0].median_lph);
  // An ambiguous one counts in the median of its zone, not in the surface.
  odd.placement = Placement::ambiguous;
  survey.emitters.push_back(odd);
  const DischargeMap with_ambiguous(two_zones(), survey, grid, {});
  EXPECT_EQ(with_ambiguous.samples().samples.size(), before.samples().samples.size());
  EXPECT_GT(with_ambiguous.zones()[0].median_lph, before.zones()[0].median_lph);
}

TEST(DischargeMap, GivesTheDischargeAsRelativeTimesMedianAndAnErrorEverywhere) {
  const DischargeMap map(two_zones(), surveyed(30, 5), grid, {});
  const auto part = map.over(whole, {});
  for (int r = 0; r < grid.rows; ++r)
    for (int c = 0; c < grid.columns; ++c) {
      const std::size_t i = grid.index(r, c);
      const Point p = grid.centre(r, c);
      const bool inside = p.x > 0 && p.x < 120 && p.y > 0 && p.y < 60;
      ASSERT_EQ(part.relative.has_value(i), inside);
      EXPECT_EQ(part.discharge_lph.has_value(i), inside);
      EXPECT_EQ(part.standard_error.has_value(i), inside);
      if (!inside) continue;
      const auto zone = static_cast<std::size_t>(p.x > 60 ? 1 : 0);
      EXPECT_NEAR(part.discharge_lph.values[i],
                  part.relative.values[i] * map.zones()[zone].median_lph, 1e-6);
      EXPECT_GT(part.standard_error.values[i], 0);
    }
}

TEST(DischargeMap, DoesNotDependOnWindowsOrThreads) {
  const DischargeMap map(two_zones(), surveyed(40, 40), grid, {});
  Work two;
  two.threads = 2;
  const Raster all = map.over(whole, {}).relative;
  for (const Window& window : row_blocks(grid, 9)) {
    const Raster part = map.over(window, two).relative;
    for (int r = 0; r < window.rows; ++r)
      for (int c = 0; c < window.columns; ++c) {
        const std::size_t i = part.grid.index(r, c);
        const std::size_t j = grid.index(window.row + r, c);
        ASSERT_EQ(part.reasons[i], all.reasons[j]);
        if (!part.has_value(i)) continue;
        EXPECT_NEAR(part.values[i], all.values[j], 1e-6);
      }
  }
}

TEST(DischargeMap, OfNoEmittersOrOnlyPluggedOnesMapsNothingAndSaysSo) {
  Survey survey;
  for (int i = 0; i < 5; ++i) survey.emitters.push_back(emitter_at(5.0 * i + 2, 20, 0, 0));
  const DischargeMap map(two_zones(), survey, grid, {});
  EXPECT_EQ(map.zones()[0].method, Method::none);
  EXPECT_EQ(map.zones()[1].method, Method::none);
  EXPECT_EQ(map.doubts().size(), 2U);
  EXPECT_THAT(map.method_text(), testing::StartsWith("No zone could be mapped"));
  const auto part = map.over(whole, {});
  const Cell cell = cell_of(grid, {30, 30});
  EXPECT_EQ(part.relative.reasons[grid.index(cell.row, cell.column)], Reason::too_few);
}

/// What a clean system gives in the west: 1.2 L/h at its west edge, falling to 0.8 at its east one.
double clean_lph(double x) {
  return 1.2 - 0.4 * x / 60;
}

DischargeReference known_in_the_west(const Survey& survey) {
  DischargeReference reference;
  reference.zones = {1, 0};
  for (const MeasuredEmitter& emitter : survey.emitters) {
    reference.emitters_lph.push_back(emitter.site.zone == 0 ? clean_lph(emitter.site.place.x)
                                                            : std::nan(""));
  }
  return reference;
}

Raster clean_raster() {
  Raster raster(grid, Reason::not_computed);
  for (int r = 0; r < grid.rows; ++r)
    for (int c = 0; c < grid.columns; ++c) {
      const double x = grid.centre(r, c).x;
      if (x < 60) raster.set(grid.index(r, c), clean_lph(x));
    }
  return raster;
}

TEST(DischargeMap, IsRelativeToTheCleanSystemWhereItIsKnownAndElseToTheMedianAndSaysWhichWhere) {
  const Survey survey = surveyed(30, 30);
  const DischargeMap map(two_zones(), survey, grid, {}, known_in_the_west(survey));
  EXPECT_EQ(map.zones()[0].reference, ReferenceKind::clean_system);
  EXPECT_EQ(map.zones()[1].reference, ReferenceKind::zone_median);
  EXPECT_THAT(map.method_text(),
              testing::HasSubstr("over what a clean system would give at that place in zone west, "
                                 "over the median of the zone in zone east"));
  const Sample& first = map.samples().samples.front();
  EXPECT_DOUBLE_EQ(first.value, survey.emitters[0].discharge_lph / clean_lph(first.site.place.x));
  const Raster clean = clean_raster();
  const auto part = map.over(whole, {}, &clean);
  for (const double x : {10.0, 50.0, 70.0}) {
    const Cell cell = cell_of(grid, {x, 30});
    const std::size_t i = grid.index(cell.row, cell.column);
    const double reference =
        x < 60 ? static_cast<double>(clean.values[i]) : map.zones()[1].median_lph;
    EXPECT_NEAR(part.discharge_lph.values[i], part.relative.values[i] * reference, 1e-6);
  }
}

TEST(DischargeMap, OfEmittersThatGiveAllOfTheirExpectedDischargeIsOneAndMapsTheExpectedDischarge) {
  Survey survey = surveyed(30, 30);
  for (MeasuredEmitter& emitter : survey.emitters)
    if (emitter.site.zone == 0) emitter.discharge_lph = clean_lph(emitter.site.place.x);
  const DischargeMap map(two_zones(), survey, grid, {}, known_in_the_west(survey));
  const Raster clean = clean_raster();
  const auto part = map.over(whole, {}, &clean);
  for (std::size_t i = 0; i < clean.values.size(); ++i) {
    if (!clean.has_value(i) || !part.relative.has_value(i)) continue;
    EXPECT_NEAR(part.relative.values[i], 1, 1e-6);
    EXPECT_NEAR(part.discharge_lph.values[i], clean.values[i], 1e-6);
  }
}

TEST(DischargeMap, LeavesOutEmittersThatShouldGiveNothingAndSaysSo) {
  const Survey survey = surveyed(30, 30);
  DischargeReference reference = known_in_the_west(survey);
  reference.emitters_lph[3] = 0;
  reference.emitters_lph[4] = std::nan("");
  const DischargeMap map(two_zones(), survey, grid, {}, reference);
  EXPECT_EQ(map.zones()[0].samples, 28);
  ASSERT_FALSE(map.doubts().empty());
  EXPECT_EQ(map.doubts().front().code, "emitter_without_expected_discharge");
  EXPECT_THAT(map.doubts().front().text, testing::HasSubstr("2 measured emitters are"));
}

TEST(DischargeMap, HasNoDischargeWhereTheCleanSystemIsNotKnownInsideAZone) {
  const Survey survey = surveyed(30, 30);
  const DischargeMap map(two_zones(), survey, grid, {}, known_in_the_west(survey));
  Raster clean = clean_raster();
  const Cell cell = cell_of(grid, {30, 30});
  const std::size_t i = grid.index(cell.row, cell.column);
  clean.clear(i, Reason::failed);
  const auto part = map.over(whole, {}, &clean);
  EXPECT_EQ(part.discharge_lph.reasons[i], Reason::failed);
  EXPECT_TRUE(part.relative.has_value(i));
  EXPECT_THROW(map.over(whole, {}), std::invalid_argument);
  EXPECT_THROW(map.over({0, 0, 10, 84}, {}, &clean), std::invalid_argument);
}

TEST(DischargeMap, OfEqualDischargesIsOneEverywhere) {
  Survey survey;
  for (int i = 0; i < 20; ++i)
    survey.emitters.push_back(emitter_at(2.5 * i + 2, 3.0 * (i % 9) + 4, 0, 1.3));
  const auto part = DischargeMap(two_zones(), survey, grid, {}).over(whole, {});
  for (std::size_t i = 0; i < part.relative.values.size(); ++i) {
    if (!part.relative.has_value(i)) continue;
    EXPECT_NEAR(part.relative.values[i], 1, 1e-5);
  }
}

}  // namespace
}  // namespace evendrip
