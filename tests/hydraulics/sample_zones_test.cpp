// SPDX-License-Identifier: Apache-2.0
// Every zone of the sample fields is built and solved.
#include "evendrip/hydraulics/zone_network.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <filesystem>
#include <numeric>
#include <set>

namespace evendrip {
namespace {

class SampleZones : public testing::TestWithParam<const char*> {
 protected:
  Field field_ = read_field(std::filesystem::path(EVENDRIP_TEST_DATA).parent_path() /
                            "sample_fields" / GetParam());
};

TEST_P(SampleZones, AreBuiltAndSolved) {
  const Terrain terrain(field_);
  EXPECT_TRUE(terrain.known());
  for (std::size_t z = 0; z < field_.zones.size(); ++z) {
    SCOPED_TRACE(field_.zones[z].id);
    Doubts doubts;
    const auto zone = zone_network(field_, static_cast<int>(z), terrain, {}, doubts);
    ASSERT_TRUE(zone);
    for (const Doubt& doubt : doubts) EXPECT_EQ(doubt.code, "joint_bridged") << to_text(doubt);
    const auto laterals =
        std::count_if(field_.laterals.begin(), field_.laterals.end(),
                      [z](const Lateral& lateral) { return lateral.zone == static_cast<int>(z); });
    EXPECT_EQ(static_cast<std::ptrdiff_t>(zone->laterals.size()), laterals);
    EXPECT_GT(zone->elevation_sd_m, 0);
    EXPECT_LT(zone->elevation_sd_m, 0.2);
    const NetworkState state = solve_network(zone->network);
    EXPECT_LT(state.imbalance_frac, 1e-9);
    const double rated = field_.zones[z].emitter.discharge_lph;
    for (const double discharge : state.discharge_lph) {
      EXPECT_GT(discharge, 0.75 * rated);
      EXPECT_LT(discharge, 1.25 * rated);
    }
    EXPECT_GE(zone->ports.size(), 4U);
  }
}

TEST_P(SampleZones, JoinFlushManifoldsWhereTheFieldSaysSo) {
  const Terrain terrain(field_);
  for (std::size_t z = 0; z < field_.zones.size(); ++z) {
    Doubts doubts;
    const auto zone = zone_network(field_, static_cast<int>(z), terrain, {}, doubts);
    ASSERT_TRUE(zone);
    const bool flush = std::any_of(
        zone->sections.begin(), zone->sections.end(), [&](const NetworkSection& section) {
          return !field_.manifolds[static_cast<std::size_t>(section.manifold)].supply;
        });
    EXPECT_EQ(flush, field_.zones[z].lateral.ends == LateralEnds::flush_manifold);
  }
}

INSTANTIATE_TEST_SUITE_P(Fields, SampleZones,
                         testing::Values("heron_flat", "cottonwood_draw", "wattle_bend"));

}  // namespace
}  // namespace evendrip
