// SPDX-License-Identifier: Apache-2.0
#include "../../src/hydraulics/doubt_places.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(LayerPlace, IsTheFileAndItsLayerOrElseTheKey) {
  Field field;
  field.layer_files = {{"laterals", "lines.geojson"}, {"manifolds", "system.gpkg|pipes"}};
  EXPECT_EQ(layer_place(field, "laterals"), (Place{"lines.geojson", "", 0, ""}));
  EXPECT_EQ(layer_place(field, "manifolds"), (Place{"system.gpkg", "pipes", 0, ""}));
  EXPECT_EQ(layer_place(field, "ports"), (Place{"field.toml", "[layers] ports", 0, ""}));
}

TEST(TellOnce, LeavesOutWhatWasTold) {
  Doubts doubts;
  const Doubt one{"a", Severity::doubt, {"f", "", 0, ""}, "text", "", "", ""};
  tell_once(doubts, one);
  tell_once(doubts, one);
  EXPECT_EQ(doubts.size(), 1U);
  Doubt other = one;
  other.text = "another text";
  tell_once(doubts, other);
  EXPECT_EQ(doubts.size(), 2U);
}

TEST(SomeOf, CutsLongLists) {
  EXPECT_EQ(some_of({"A"}), "A");
  EXPECT_EQ(some_of({"A", "B", "C", "D", "E"}), "A, B, C, D, E");
  EXPECT_EQ(some_of({"A", "B", "C", "D", "E", "F", "G"}), "A, B, C, D, E and 2 more");
}

}  // namespace
}  // namespace evendrip
