// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/zone_model.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "drawn_zone.hpp"
#include "evendrip/surface/prediction.hpp"
#include "evendrip/surface/surface_model.hpp"
#include "likelihood_slopes.hpp"

namespace evendrip {
namespace {

ConditionParameters weak_laterals() {
  ConditionParameters p;
  p.along = 0.02;
  p.own = 0.10;
  p.group = 0.05;
  p.emitter = 0.04;
  p.soil_short = 0.03;
  p.soil_long = 0.06;
  p.crop_error = 0.04;
  return p;
}

Site site_of(const SegmentGrid& grid, int row, int station) {
  return {{grid.across_m[static_cast<std::size_t>(row)],
           grid.stations_m[static_cast<std::size_t>(station)]},
          row,
          grid.stations_m[static_cast<std::size_t>(station)],
          0};
}

/// The same covariance of r as the surface room says it.
SurfaceModel as_surface(const ConditionParameters& p, const ConditionRanges& ranges) {
  const auto factor = [](Metric metric, double range_m) {
    return CorrelationFactor{metric, VariogramShape::exponential, range_m, 0, 1};
  };
  const auto square = [](double v) { return v * v; };
  SurfaceModel model;
  model.known_mean = 1;
  model.nugget = square(p.emitter);
  model.covariance.terms = {{"level", square(p.level), {{Metric::same_zone}}},
                            {"along", square(p.along), {factor(Metric::station, ranges.along_m)}},
                            {"own", square(p.own), {{Metric::same_lateral}}},
                            {"group", square(p.group), {factor(Metric::across, ranges.group_m)}},
                            {"local",
                             square(p.local),
                             {factor(Metric::across, ranges.local_across_m),
                              factor(Metric::station, ranges.local_along_m)}}};
  return model;
}

TEST(ZoneModel, IsTheSurfaceRoomsEstimateWithoutCrop) {
  const ConditionParameters p = weak_laterals();
  const test::DrawnZone zone = test::drawn_zone(p, 1);
  const ZoneModel model(zone.grid, zone.holes, {}, zone.ranges);
  const auto estimate = model.estimate(p);
  ASSERT_TRUE(estimate);
  SurfaceObservations observations;
  for (const HoleDatum& hole : zone.holes)
    observations.push_back(
        {{site_of(zone.grid, hole.row, hole.station)}, {1}, hole.value, hole.noise_variance});
  const SurfaceModel surface = as_surface(p, zone.ranges);
  EXPECT_NEAR(estimate->log_likelihood,
              restricted_likelihood(observations, surface, false)->log_likelihood, 1e-8);
  std::vector<Site> sites;
  for (int row = 0; row < zone.grid.rows(); ++row)
    for (int station = 0; station < zone.grid.stations(); ++station)
      sites.push_back(site_of(zone.grid, row, station));
  const auto wanted = SurfacePredictor(observations, surface, {DataUse::all}).at(sites, {});
  for (std::size_t i = 0; i < sites.size(); ++i) {
    EXPECT_NEAR(estimate->r[i], wanted[i].value, 1e-8);
    EXPECT_NEAR(estimate->r_variance[i], wanted[i].variance, 1e-8);
  }
}

TEST(ZoneModel, SeesWeakLateralsThatNoHoleHit) {
  const ConditionParameters p = weak_laterals();
  double with_crop = 0;
  double holes_alone = 0;
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    const test::DrawnZone zone = test::drawn_zone(p, seed);
    const auto both = ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges).estimate(p);
    const auto holes = ZoneModel(zone.grid, zone.holes, {}, zone.ranges).estimate(p);
    ASSERT_TRUE(both && holes);
    with_crop += test::rms_difference(both->r, zone.r);
    holes_alone += test::rms_difference(holes->r, zone.r);
  }
  EXPECT_LT(with_crop, 0.5 * holes_alone);
}

TEST(ZoneModel, LeavesSmoothSoilToTheSoil) {
  ConditionParameters p = weak_laterals();
  p.own = p.group = p.along = p.local = 0.01;
  p.soil_long = 0.10;
  const test::DrawnZone zone = test::drawn_zone(p, 3);
  const auto estimate = ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges).estimate(p);
  ASSERT_TRUE(estimate);
  EXPECT_LT(test::rms_difference(estimate->r, zone.r), 0.02);
  EXPECT_LT(test::rms_difference(estimate->soil, zone.soil), 0.05);
}

/// The crop of both outermost stations lowered on all laterals alike.
test::DrawnZone zone_with_low_ends(double lowered) {
  test::DrawnZone zone = test::drawn_zone(weak_laterals(), 31);
  const int stations = zone.grid.stations();
  for (CropDatum& datum : zone.crop) {
    const int station = datum.segments.front() % stations;
    const double at_m = zone.grid.stations_m[static_cast<std::size_t>(station)];
    datum.to_ends_m = {at_m, 10.0 * stations - at_m};
    if (std::min(datum.to_ends_m[0], datum.to_ends_m[1]) < 10) datum.value -= lowered;
  }
  return zone;
}

/// What lets r fall toward the ends.
ConditionParameters steep_along() {
  ConditionParameters p = weak_laterals();
  p.along = 0.1;
  return p;
}

/// Root mean square error of r at the outermost stations.
double error_at_ends(const test::DrawnZone& zone) {
  const ConditionParameters p = steep_along();
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto estimate = model.estimate(p);
  double squares = 0;
  for (int row = 0; row < zone.grid.rows(); ++row)
    for (const int station : {0, zone.grid.stations() - 1}) {
      const auto i = static_cast<std::size_t>(zone.grid.segment(row, station));
      squares += std::pow(estimate->r[i] - zone.r[i], 2);
    }
  return std::sqrt(squares / (2 * zone.grid.rows()));
}

TEST(ZoneModel, LeavesWhatIsLowNearBothEndsOfAllLateralsToTheEdge) {
  test::DrawnZone zone = zone_with_low_ends(0.15);
  const double with_edge = error_at_ends(zone);
  const double undisturbed = error_at_ends(zone_with_low_ends(0));
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto estimate = model.estimate(steep_along());
  ASSERT_TRUE(estimate);
  double sum = 0;
  double count = 0;
  for (std::size_t i = 0; i < zone.crop.size(); ++i) {
    if (std::min(zone.crop[i].to_ends_m[0], zone.crop[i].to_ends_m[1]) < 10) {
      sum += estimate->edge[i];
      count += 1;
    } else {
      EXPECT_EQ(estimate->edge[i], 0);
    }
  }
  EXPECT_NEAR(sum / count, -0.15, 0.05);
  for (CropDatum& datum : zone.crop) datum.to_ends_m = {edge_reach_m, edge_reach_m};
  // Half of what the ends lose and more; the rest may be water as well.
  EXPECT_LT(with_edge - undisturbed, 0.5 * (error_at_ends(zone) - undisturbed));
}

void expect_slope_of_likelihood(const ZoneModel& model) {
  test::expect_slopes(model, weak_laterals(), 5e-4);
}

TEST(ZoneModel, HasTheSlopeOfItsLikelihoodWithAnEdgeToo) {
  const test::DrawnZone zone = zone_with_low_ends(0.1);
  expect_slope_of_likelihood(ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges));
}

/// Another soil under the first laterals, of a map that ends beside one: as wide as water's groups.
test::DrawnZone zone_with_poor_soil(double poorer) {
  test::DrawnZone zone = test::drawn_zone(weak_laterals(), 41);
  for (CropDatum& datum : zone.crop) {
    const bool poor = datum.segments.front() / zone.grid.stations() < 8;
    datum.ground = {poor ? 2.0 / 3 : -1.0 / 3};
    if (poor) datum.value -= poorer;
  }
  return zone;
}

TEST(ZoneModel, PutsToTheGroundWhatFollowsIt) {
  const ConditionParameters p = weak_laterals();
  const auto error_of_r = [&p](const test::DrawnZone& zone) {
    const auto estimate = ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges).estimate(p);
    return test::rms_difference(estimate->r, zone.r);
  };
  test::DrawnZone zone = zone_with_poor_soil(0.15);
  const auto estimate = ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges).estimate(p);
  ASSERT_TRUE(estimate);
  EXPECT_NEAR(estimate->ground.front() - estimate->ground.back(), -0.15, 0.06);
  const double with_map = error_of_r(zone);
  for (CropDatum& datum : zone.crop) datum.ground.clear();
  EXPECT_LT(with_map, 0.8 * error_of_r(zone));
  zone.crop.front().ground = {1};
  EXPECT_THROW(ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges), std::invalid_argument);
}

TEST(ZoneModel, HasTheSlopeOfItsLikelihoodOnKnownGroundToo) {
  const test::DrawnZone zone = zone_with_poor_soil(0.1);
  expect_slope_of_likelihood(ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges));
}

TEST(ZoneModel, DoesNotCareInWhichOrderLateralsStand) {
  const ConditionParameters p = weak_laterals();
  const test::DrawnZone zone = test::drawn_zone(p, 2);
  const auto straight = ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges).estimate(p);
  test::DrawnZone turned = zone;
  const int rows = zone.grid.rows();
  const int stations = zone.grid.stations();
  const auto mirrored = [&](int segment) {
    return (rows - 1 - segment / stations) * stations + segment % stations;
  };
  for (HoleDatum& hole : turned.holes) hole.row = rows - 1 - hole.row;
  for (CropDatum& datum : turned.crop) datum.segments[0] = mirrored(datum.segments[0]);
  std::reverse(turned.holes.begin(), turned.holes.end());
  const auto back = ZoneModel(turned.grid, turned.holes, turned.crop, turned.ranges).estimate(p);
  ASSERT_TRUE(straight && back);
  EXPECT_NEAR(straight->log_likelihood, back->log_likelihood, 1e-7);
  for (int i = 0; i < rows * stations; ++i) {
    EXPECT_NEAR(straight->r[static_cast<std::size_t>(i)],
                back->r[static_cast<std::size_t>(mirrored(i))], 1e-8);
    EXPECT_NEAR(straight->r_variance[static_cast<std::size_t>(i)],
                back->r_variance[static_cast<std::size_t>(mirrored(i))], 1e-9);
  }
}

TEST(ZoneModel, DoesNotCareWhichWayLateralsRun) {
  const ConditionParameters p = weak_laterals();
  const test::DrawnZone zone = test::drawn_zone(p, 2);
  const auto straight = ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges).estimate(p);
  test::DrawnZone turned = zone;
  const int stations = zone.grid.stations();
  const auto mirrored = [&](int segment) {
    return segment - segment % stations + (stations - 1 - segment % stations);
  };
  for (HoleDatum& hole : turned.holes) hole.station = stations - 1 - hole.station;
  for (CropDatum& datum : turned.crop) datum.segments[0] = mirrored(datum.segments[0]);
  const auto back = ZoneModel(turned.grid, turned.holes, turned.crop, turned.ranges).estimate(p);
  ASSERT_TRUE(straight && back);
  EXPECT_NEAR(straight->log_likelihood, back->log_likelihood, 1e-7);
  for (int i = 0; i < zone.grid.segments(); ++i) {
    EXPECT_NEAR(straight->r[static_cast<std::size_t>(i)],
                back->r[static_cast<std::size_t>(mirrored(i))], 1e-8);
    EXPECT_NEAR(straight->r_variance[static_cast<std::size_t>(i)],
                back->r_variance[static_cast<std::size_t>(mirrored(i))], 1e-9);
  }
}

TEST(ZoneModel, IsRegressionOnLateralsWithoutHolesWhenTheSlopeIsKnown) {
  // Nothing but laterals, of which nothing is known before: each is the mean of its crop data over
  // the slope.
  ConditionParameters p;
  p.level = p.along = p.group = p.local = p.soil_short = p.soil_long = 1e-6;
  p.own = 1e4;
  p.response = 0.6;
  const test::DrawnZone zone = test::drawn_zone(weak_laterals(), 4);
  const auto found = ZoneModel(zone.grid, {}, zone.crop, zone.ranges).estimate(p);
  ASSERT_TRUE(found);
  for (int row = 0; row < zone.grid.rows(); ++row) {
    double sum = 0;
    for (const CropDatum& datum : zone.crop)
      if (datum.segments[0] / zone.grid.stations() == row) sum += datum.value - 1;
    const double wanted = 1 + sum / zone.grid.stations() / p.response;
    EXPECT_NEAR(found->r[static_cast<std::size_t>(zone.grid.segment(row, 0))], wanted, 1e-6);
  }
}

TEST(ZoneModel, ForetellsHolesAsItsSegmentsDo) {
  const ConditionParameters p = weak_laterals();
  const test::DrawnZone zone = test::drawn_zone(p, 5);
  ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  model.set_known_change(std::vector<double>(static_cast<std::size_t>(zone.grid.segments()), -0.1));
  const auto segments = model.estimate(p);
  const auto holes = ZoneModel(model).estimate_at_holes(p);
  ASSERT_TRUE(segments && holes);
  for (std::size_t i = 0; i < zone.holes.size(); ++i) {
    const auto at =
        static_cast<std::size_t>(zone.grid.segment(zone.holes[i].row, zone.holes[i].station));
    EXPECT_NEAR(holes->mean[i], segments->r[at], 1e-10);
    EXPECT_NEAR(holes->covariance[i * zone.holes.size() + i], segments->r_variance[at], 1e-10);
    EXPECT_NEAR(holes->covariance[i], holes->covariance[i * zone.holes.size()], 1e-12);
  }
}

TEST(ZoneModel, KnowsHowSureItIs) {
  // Drawn from the model: 90 % limits hold nine in ten of the segments, over zones.
  const ConditionParameters p = weak_laterals();
  double inside = 0;
  double all = 0;
  for (std::uint64_t seed = 11; seed <= 30; ++seed) {
    const test::DrawnZone zone = test::drawn_zone(p, seed);
    ConditionParameters without_local = p;
    without_local.local = 1e-3;
    const auto estimate =
        ZoneModel(zone.grid, zone.holes, zone.crop, zone.ranges).estimate(without_local);
    ASSERT_TRUE(estimate);
    for (std::size_t i = 0; i < zone.r.size(); ++i) {
      inside += std::abs(estimate->r[i] - zone.r[i]) < 1.645 * std::sqrt(estimate->r_variance[i]);
      all += 1;
    }
  }
  EXPECT_GT(inside / all, 0.85);
  EXPECT_LT(inside / all, 0.95);
}

TEST(ZoneModel, RefusesDataThatDoNotFit) {
  const test::DrawnZone zone = test::drawn_zone(weak_laterals(), 1);
  const auto made = [&zone](std::vector<HoleDatum> holes, const std::vector<CropDatum>& crop) {
    ZoneModel(zone.grid, std::move(holes), crop, zone.ranges);
  };
  EXPECT_THROW(made({{24, 0, 1, 0}}, {}), std::invalid_argument);
  EXPECT_THROW(made({{0, 0, 1, -1}}, {}), std::invalid_argument);
  EXPECT_THROW(made({}, {{{0, 1}, {1}, {0, 0}, 1}}), std::invalid_argument);
  EXPECT_THROW(made({}, {{{5000}, {1}, {0, 0}, 1}}), std::invalid_argument);
}

TEST(ConditionRanges, FollowTheLayoutAndThePixel) {
  const ConditionRanges fine = ranges_of(test::small_grid(), 1);
  EXPECT_NEAR(fine.along_m, 40, 1e-9);
  EXPECT_NEAR(fine.group_m, 6, 1e-9);
  EXPECT_NEAR(fine.soil_short_m, 25, 1e-9);
  EXPECT_NEAR(ranges_of(test::small_grid(), 10).soil_short_m, 40, 1e-9);
}

TEST(ZoneModelDraws, HaveTheMeanAndVarianceOfTheEstimate) {
  const test::DrawnZone zone = test::drawn_zone({}, 4);
  const ZoneModel model(zone.grid, zone.holes, zone.crop, zone.ranges);
  const auto estimate = model.estimate({});
  ASSERT_TRUE(estimate);
  constexpr int count = 400;
  const auto draws = model.draws({}, count, 11);
  ASSERT_EQ(draws.size(), static_cast<std::size_t>(count));
  double worst = 0;
  double ratio = 0;
  for (std::size_t i = 0; i < zone.r.size(); ++i) {
    double mean = 0;
    double square = 0;
    for (const auto& draw : draws) mean += draw[i] / count;
    for (const auto& draw : draws) square += (draw[i] - mean) * (draw[i] - mean) / (count - 1);
    worst = std::max(worst, std::abs(mean - estimate->r[i]) / std::sqrt(estimate->r_variance[i]));
    ratio += square / estimate->r_variance[i] / static_cast<double>(zone.r.size());
  }
  // A mean of 400 draws is off by 0.05 standard deviations; the worst of 288 by four times that.
  EXPECT_LT(worst, 0.21);
  EXPECT_NEAR(ratio, 1, 0.05);
  EXPECT_EQ(model.draws({}, 3, 11),
            std::vector<std::vector<double>>(draws.begin(), draws.begin() + 3));
}

TEST(CropDatumTooCoarse, SaysNothingOfSingleLaterals) {
  test::DrawnZone zone = test::drawn_zone({}, 5);
  ConditionParameters single;
  single.own = 0.1;
  single.group = single.local = single.along = 1e-4;
  const auto spread = [&] {
    const auto found = ZoneModel(zone.grid, {}, zone.crop, zone.ranges).estimate(single);
    double most = 0;
    for (const double own : found->own) most = std::max(most, std::abs(own));
    return most;
  };
  EXPECT_GT(spread(), 0.005);
  for (CropDatum& datum : zone.crop) datum.sees_laterals = false;
  EXPECT_LT(spread(), 1e-4);
}

}  // namespace
}  // namespace evendrip
