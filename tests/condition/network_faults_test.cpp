// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/network_faults.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "../hydraulics/small_zone.hpp"

namespace evendrip {
namespace {

struct Zoned {
  Field field;
  Expectation expectation;
  SegmentGrid grid;

  explicit Zoned(LateralEnds ends)
      : Zoned(invented_zone::field_of({12, 100, 1.5, 0.5, 0.25, ends})) {}
  explicit Zoned(Field laid) : field(std::move(laid)) {
    expectation = expect(field, {}, {}, {});
    grid = segment_grid(field, 0, 5);
  }
  const ExpectedZone& zone() const { return expectation.zones[0]; }
  std::vector<double> response(const Fault& fault) const {
    return fault_responses(grid, zone(), {fault}, {})[0].change;
  }
  double at(const std::vector<double>& change, int row, int station) const {
    return change[static_cast<std::size_t>(grid.segment(row, station))];
  }
};

double sum_of(const std::vector<double>& change) {
  double sum = 0;
  for (const double c : change) sum += c;
  return sum;
}

TEST(FaultResponses, OfAShutLateralWithClosedEndsTakeAllOfItAndHardlyTouchTheOthers) {
  const Zoned zoned(LateralEnds::closed);
  const auto change = zoned.response({FaultKind::shut, true, 4, 0, 0});
  for (int row = 0; row < zoned.grid.rows(); ++row)
    for (int station = 0; station < zoned.grid.stations(); ++station) {
      if (row == 4) {
        EXPECT_DOUBLE_EQ(zoned.at(change, row, station), -1);
      } else {
        EXPECT_GE(zoned.at(change, row, station), 0);
        EXPECT_LT(zoned.at(change, row, station), 0.01);
      }
    }
}

TEST(FaultResponses, StartWhereTheFaultSits) {
  const Zoned zoned(LateralEnds::closed);
  const auto change = zoned.response({FaultKind::shut, true, 4, 50, 0});
  EXPECT_GE(zoned.at(change, 4, 8), 0);
  EXPECT_DOUBLE_EQ(zoned.at(change, 4, 11), -1);
}

TEST(FaultResponses, AreFedFromBehindByAFlushManifold) {
  const Zoned zoned(LateralEnds::flush_manifold);
  const auto change = zoned.response({FaultKind::shut, true, 4, 0, 0});
  EXPECT_LT(zoned.at(change, 4, 0), -0.01);
  EXPECT_GT(zoned.at(change, 4, 0), -0.5);
  EXPECT_GT(zoned.at(change, 4, 19), zoned.at(change, 4, 0));
}

TEST(FaultResponses, GrowWithTheSeverity) {
  for (const LateralEnds ends : {LateralEnds::closed, LateralEnds::flush_manifold}) {
    const Zoned zoned(ends);
    double before = 0;
    for (const double severity : {0.7, 0.85, 0.92, 0.96, 0.99}) {
      const double sum = sum_of(zoned.response({FaultKind::pinch, true, 4, 25, severity}));
      EXPECT_LT(sum, before);
      before = sum;
    }
    EXPECT_LT(sum_of(zoned.response({FaultKind::shut, true, 4, 25, 0})), before);
  }
}

TEST(FaultResponses, OfAManifoldStarveTheLateralsBehindIt) {
  const Zoned zoned(LateralEnds::closed);
  const auto change = zoned.response({FaultKind::pinch, false, 0, 9, 0.99});
  EXPECT_GE(zoned.at(change, 3, 10), 0);
  EXPECT_LT(zoned.at(change, 8, 10), -0.05);
  EXPECT_NEAR(zoned.at(change, 7, 10), zoned.at(change, 11, 10), 0.01);
}

TEST(FaultResponses, DoNotDependOnTheOrderOfTheLateralsNorOnTheirBearing) {
  const Zoned zoned(LateralEnds::flush_manifold);
  Field turned = zoned.field;
  std::reverse(turned.laterals.begin(), turned.laterals.end());
  for (Lateral& lateral : turned.laterals)
    for (Point& p : lateral.line) p = {-p.y, p.x};
  for (Manifold& manifold : turned.manifolds)
    for (Point& p : manifold.line) p = {-p.y, p.x};
  for (Port& port : turned.ports) port.place = {-port.place.y, port.place.x};
  for (Point& p : turned.zones[0].area[0].outer) p = {-p.y, p.x};
  const Zoned other(turned);
  const auto a = zoned.response({FaultKind::pinch, true, 4, 25, 0.95});
  const auto b = other.response({FaultKind::pinch, true, 7, 25, 0.95});
  for (int row = 0; row < 12; ++row) {
    const int twin = other.grid.row_of(11 - zoned.grid.laterals[static_cast<std::size_t>(row)]);
    for (int station = 0; station < 20; ++station)
      EXPECT_NEAR(zoned.at(a, row, station), other.at(b, twin, station), 1e-7);
  }
}

TEST(FaultResponses, DoNotDependOnTheThreads) {
  const Zoned zoned(LateralEnds::flush_manifold);
  const auto faults = candidate_faults(zoned.field, zoned.grid, zoned.zone());
  Work two;
  two.threads = 2;
  const auto a = fault_responses(zoned.grid, zoned.zone(), faults, {});
  const auto b = fault_responses(zoned.grid, zoned.zone(), faults, two);
  for (std::size_t i = 0; i < faults.size(); ++i) EXPECT_EQ(a[i].change, b[i].change);
}

TEST(CandidateFaults, StandAtInletsQuartersAndManifoldSections) {
  const Zoned zoned(LateralEnds::closed);
  const auto faults = candidate_faults(zoned.field, zoned.grid, zoned.zone());
  std::set<int> inlets;
  int cuts = 0;
  int on_manifold = 0;
  for (const Fault& fault : faults) {
    if (fault.on_lateral && fault.station_m == 0) inlets.insert(fault.line);
    cuts += fault.kind == FaultKind::cut ? 1 : 0;
    on_manifold += fault.on_lateral ? 0 : 1;
  }
  EXPECT_EQ(inlets.size(), 12U);
  EXPECT_EQ(cuts, 12);
  EXPECT_EQ(on_manifold, 12);
  EXPECT_EQ(faults.size(), 12U * 5 + static_cast<std::size_t>(on_manifold));
}

TEST(SharedCandidates, AreThoseOfEachLateralAndOfNeighboursThatTheCropCanSpeakOf) {
  const Zoned zoned(LateralEnds::closed);
  const auto single = candidate_faults(zoned.field, zoned.grid, zoned.zone());
  const auto fine = shared_candidates(zoned.field, zoned.grid, zoned.zone(), 1);
  // Of 12 laterals groups of 3 begin at each of ten, of 6 at every second of seven; four places.
  EXPECT_EQ(fine.size(), single.size() + 4 * (10 + 4));
  const auto coarse = shared_candidates(zoned.field, zoned.grid, zoned.zone(), 5);
  for (std::size_t i = 0; i < coarse.size(); ++i) {
    const SharedFault& one = coarse[i];
    EXPECT_EQ(one.laterals.empty(), !one.fault.on_lateral);
    if (i < single.size() && one.fault.on_lateral) {
      EXPECT_EQ(one.laterals, std::vector{one.fault.line});
    }
    if (i >= single.size()) {
      EXPECT_TRUE(one.laterals.size() == 5 || one.laterals.size() == 10);
    }
  }
  const std::vector<Fault> each = faults_of(coarse.back());
  ASSERT_EQ(each.size(), 10U);
  for (std::size_t i = 1; i < each.size(); ++i) {
    EXPECT_EQ(zoned.grid.row_of(each[i].line), zoned.grid.row_of(each[i - 1].line) + 1);
    EXPECT_EQ(each[i].station_m, each[0].station_m);
  }
}

TEST(CandidateFaults, OnManifoldsAllTakeWater) {
  const Zoned zoned(LateralEnds::closed);
  for (const Fault& fault : candidate_faults(zoned.field, zoned.grid, zoned.zone()))
    if (!fault.on_lateral) {
      EXPECT_LT(sum_of(zoned.response(fault)), -10) << fault.station_m;
    }
}

TEST(CandidateFaults, AreNoneInAZoneThatIsNotComputed) {
  Field field = invented_zone::field_of({});
  field.manifolds.clear();
  const Zoned zoned(field);
  EXPECT_TRUE(candidate_faults(zoned.field, zoned.grid, zoned.zone()).empty());
  EXPECT_TRUE(zoned.response({FaultKind::shut, true, 4, 0, 0}).empty());
}

}  // namespace
}  // namespace evendrip
