// SPDX-License-Identifier: Apache-2.0
#include "../../src/condition/fault_words.hpp"

#include <gtest/gtest.h>

#include "../hydraulics/small_zone.hpp"

namespace evendrip {
namespace {

struct Laid {
  Field field = invented_zone::field_of({6, 30, 1.5, 0.5, 0.25, LateralEnds::closed});
  ZoneNetwork network;
  Laid() {
    Doubts doubts;
    network = *zone_network(field, 0, Terrain(field), {}, doubts);
  }
  std::string words(const Fault& fault, std::vector<int> laterals = {}) const {
    return fault_words(field, network, {fault, std::move(laterals)});
  }
};

TEST(FaultWords, NameTheLateralAndThePlace) {
  const Laid laid;
  EXPECT_EQ(laid.words({FaultKind::pinch, true, 2, 0, 0.9}), "lateral L3: inlet narrowed");
  EXPECT_EQ(laid.words({FaultKind::shut, true, 2, 0, 0}), "lateral L3: inlet shut");
  EXPECT_EQ(laid.words({FaultKind::cut, true, 2, 12.4, 0.1}), "lateral L3: cut open at 12 m");
}

TEST(FaultWords, NameTheFirstAndTheLastOfSeveralLaterals) {
  const Laid laid;
  EXPECT_EQ(laid.words({FaultKind::pinch, true, 2, 0, 0.9}, {2, 3}),
            "laterals L3 and L4: inlets narrowed");
  EXPECT_EQ(laid.words({FaultKind::shut, true, 1, 12.4, 0}, {1, 2, 3, 4}),
            "laterals L2 to L5: shut at 12 m");
}

TEST(FaultWords, NameTheJointsAboutAPlaceOfAManifold) {
  const Laid laid;
  EXPECT_EQ(laid.words({FaultKind::pinch, false, 0, 3, 0.9}),
            "manifold supply: narrowed at 3 m, between the joints of L2 and L3");
  EXPECT_EQ(laid.words({FaultKind::shut, false, 0, 0.3, 0}),
            "manifold supply: shut at 0 m, beside the joint of L1");
}

TEST(FaultWords, SayHowFarThePlaceIsKnown) {
  const Laid laid;
  const auto on_manifold = [](double station_m) {
    return SharedFault{{FaultKind::pinch, false, 0, station_m, 0.9}, {}};
  };
  const auto reach = [&](std::vector<LikelyPlace> places) {
    return reach_words(laid.field, laid.network, places);
  };
  EXPECT_EQ(reach({{on_manifold(3), 1, {-0.4, -0.4}}}), "");
  EXPECT_EQ(reach({{on_manifold(3), 0.95, {0, -0.4}}, {on_manifold(1.5), 0.05, {-0.4, -0.4}}}), "");
  EXPECT_EQ(reach({{on_manifold(3), 0.6, {0, -0.4}}, {on_manifold(1.5), 0.4, {-0.4, -0.4}}}),
            "; it may lie anywhere from manifold supply, 2 m, between the joints of L1 and L2, to "
            "manifold supply, 3 m, between the joints of L2 and L3");
  EXPECT_EQ(reach({{{{FaultKind::shut, true, 2, 0, 0}, {2}}, 0.6, {-1, -1}},
                   {{{FaultKind::shut, true, 2, 12.4, 0}, {2}}, 0.4, {0, -1}}}),
            "; it may lie anywhere from lateral L3, inlet, to lateral L3, 12 m");
}

TEST(FaultWords, SayWhatIsLeft) {
  const Laid laid;
  EXPECT_EQ(
      fault_words(laid.field, laid.network, {{FaultKind::pinch, true, 2, 0, 0.9}, {2}}, 0.713),
      "lateral L3: inlet narrowed, delivery beyond it 71 % of clean");
  EXPECT_EQ(fault_words(laid.field, laid.network, {{FaultKind::cut, true, 2, 9, 0.1}, {2}}, 0.5),
            "lateral L3: cut open at 9 m, delivery of what it starves 50 % of clean");
}

// 1 ft = 0.3048 m, NIST Handbook 44, appendix C.
TEST(FaultWords, StateStationsInTheUnitsOfTheReports) {
  Laid laid;
  laid.field.report_units = UnitSystem::us;
  EXPECT_EQ(laid.words({FaultKind::cut, true, 2, 12.4, 0.1}), "lateral L3: cut open at 41 ft");
  EXPECT_EQ(laid.words({FaultKind::pinch, false, 0, 3, 0.9}),
            "manifold supply: narrowed at 10 ft, between the joints of L2 and L3");
}

}  // namespace
}  // namespace evendrip
