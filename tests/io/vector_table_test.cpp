// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/vector.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::code_of;
using test::fresh_folder;
using test::problems_of;
using test::put;
using ::testing::ElementsAre;

TEST(TableLayer, ListsEveryCellThatIsNoCoordinate) {
  const fs::path file =
      put(fresh_folder() / "p.csv", "id;lat;lon\nA;38,5;-99,25\nB;north;-99\nC;nan;-99\nD;;\n");
  const Doubts problems = problems_of([&] { read_vector({file, "", "p.csv"}); });
  ASSERT_EQ(problems.size(), 2U);
  EXPECT_EQ(problems[0].place, (Place{"p.csv", "", 3, "lat"}));
  EXPECT_EQ(problems[1].place.row, 4U);
}

TEST(TableLayer, ReadsDecimalCommasAndKeepsRowsWithoutAPlace) {
  const fs::path file = put(fresh_folder() / "p.csv",
                            "id;lat;lon\nA;38,5;-99,25\nPe\xF1"
                            "a;;\n");
  VectorLayer layer = read_vector({file, "", "p.csv"});
  ASSERT_EQ(layer.features.size(), 2U);
  EXPECT_THAT(layer.features[0].points, ElementsAre(Point{-99.25, 38.5}));
  EXPECT_EQ(layer.features[0].number, 2U);
  EXPECT_TRUE(layer.features[1].points.empty());
  Doubts doubts;
  in_crs(std::move(layer), parse_crs("EPSG:32614"), {}, doubts);
  ASSERT_EQ(doubts.size(), 1U);
  EXPECT_EQ(doubts[0].code, "latin1_text");
}

TEST(TableLayer, ReadsWellKnownTextAndTellsWhatIsNone) {
  const fs::path folder = fresh_folder();
  const fs::path good = put(folder / "g.csv", "id,wkt\nA,\"LINESTRING (1 2, 3 4)\"\n");
  EXPECT_EQ(read_vector({good, "", "g.csv"}).features[0].lines.size(), 1U);
  const fs::path bad = put(folder / "b.csv", "id,wkt\nA,POINT (1 2)\nB,POINT (here)\n");
  const Doubts problems = problems_of([&] { read_vector({bad, "", "b.csv"}); });
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "bad_geometry");
  EXPECT_EQ(problems[0].place.row, 3U);
}

TEST(TableLayer, TellsHalfAPlaceAndTablesWithoutPlaces) {
  const fs::path folder = fresh_folder();
  const fs::path half = put(folder / "h.csv", "id,lat,lon\nA,38.5,-99\nB,38.5,\n");
  const Doubts problems = problems_of([&] { read_vector({half, "", "h.csv"}); });
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "half_a_place");
  EXPECT_EQ(problems[0].place.row, 3U);
  const fs::path none = put(folder / "n.csv", "id,kind\nA,mound\n");
  EXPECT_EQ(code_of([&] { read_vector({none, "", "n.csv"}); }), "no_shapes");
}

}  // namespace
}  // namespace evendrip
