// SPDX-License-Identifier: Apache-2.0
#include "../../src/report/doubts_table.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(DoubtsTable, HoldsEveryDoubtWithItsPlace) {
  const Doubts doubts = {
      {"crop_has_gaps", Severity::note, {"crop.tif", "", 0, ""}, "holes", "", "", ""},
      {"mixed_units",
       Severity::doubt,
       {"log.csv", "", 12, "swath_m"},
       "units look mixed",
       "30",
       "about 9",
       "Look"}};
  const ResultLayer layer = doubts_layer(doubts);
  ASSERT_EQ(layer.rows.size(), 2U);
  for (const LayerRow& row : layer.rows) EXPECT_EQ(row.values.size(), layer.fields.size());
  EXPECT_EQ(std::get<std::string>(layer.rows[0].values[0]), "note");
  EXPECT_EQ(std::get<long long>(layer.rows[1].values[4]), 12);
  EXPECT_EQ(std::get<std::string>(layer.rows[1].values[6]), to_text(doubts[1]));
}

}  // namespace
}  // namespace evendrip
