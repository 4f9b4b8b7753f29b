// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/maintenance.hpp"

#include <gtest/gtest.h>

#include "evendrip/field/field.hpp"
#include "field_folder.hpp"

namespace evendrip {
namespace {

using testing::all_text;
using testing::count;
using testing::entry;
using testing::FieldFolder;

Field with(const std::string& table) {
  return read_field(FieldFolder()
                        .add("[logs]\nmaintenance = \"maintenance.csv\"\n")
                        .file("maintenance.csv", table)
                        .write());
}

TEST(MaintenanceLog, ReadsWhatWasDoneWhereAndWhen) {
  const Field plain = read_field(FieldFolder().write());
  ASSERT_GE(plain.laterals.size(), 2U);
  EXPECT_TRUE(plain.maintenance.empty());
  const std::string zone = plain.zones[0].id;
  const std::string first = plain.laterals[0].id;
  const std::string second = plain.laterals[1].id;
  const Field field = with("date,zone,laterals,action\n2026-03-02," + zone + ",,acid\n2026-06-01," +
                           zone + "," + first + "; " + second + ",repair\n2026-07-01,,,flush\n");
  EXPECT_TRUE(field.doubts.empty()) << all_text(field.doubts);
  ASSERT_EQ(field.maintenance.size(), 3U);
  EXPECT_EQ(field.maintenance[0].date, "2026-03-02");
  EXPECT_EQ(field.maintenance[0].zone, 0);
  EXPECT_TRUE(field.maintenance[0].laterals.empty());
  EXPECT_EQ(field.maintenance[1].action, "repair");
  EXPECT_EQ(field.maintenance[1].laterals, (std::vector<int>{0, 1}));
  EXPECT_EQ(field.maintenance[1].row, 3U);
  EXPECT_EQ(field.maintenance[2].zone, -1);
  EXPECT_EQ(field.inputs.back().as_written, "maintenance.csv");
}

TEST(MaintenanceLog, NamesWhatItCannotUseAndKeepsTheRest) {
  const Field field = with(
      "date,zone,laterals,action\nlast spring,,,flush\n2026-03-02,no such,,acid\n"
      "2026-03-02,,no such,repair\n2026-03-02,,,\n2026-03-03,,,flush\n");
  EXPECT_EQ(entry(field.doubts, "bad_date").found, "last spring");
  EXPECT_EQ(entry(field.doubts, "unknown_zone").place.row, 3U);
  EXPECT_EQ(entry(field.doubts, "unknown_lateral").place.column, "laterals");
  EXPECT_EQ(count(field.doubts, "value_missing"), 1);
  ASSERT_EQ(field.maintenance.size(), 1U);
  EXPECT_EQ(field.maintenance[0].date, "2026-03-03");
}

TEST(MaintenanceLog, AsksForItsColumns) {
  EXPECT_EQ(count(with("date,zone\n2026-03-02,\n").doubts, "missing_column"), 1);
}

TEST(MaintenanceEntry, TouchesItsLateralsOrItsZoneOrAll) {
  MaintenanceEntry all;
  EXPECT_TRUE(all.touches(0, 5));
  MaintenanceEntry zone;
  zone.zone = 1;
  EXPECT_TRUE(zone.touches(1, 5));
  EXPECT_FALSE(zone.touches(0, 5));
  MaintenanceEntry some = zone;
  some.laterals = {5, 7};
  EXPECT_TRUE(some.touches(1, 7));
  EXPECT_FALSE(some.touches(1, 6));
}

TEST(MaintenanceEntry, ChangesNothingByMereLooking) {
  MaintenanceEntry one;
  for (const char* action : {"repair", "Flush", "acid", "replaced tape"}) {
    one.action = action;
    EXPECT_TRUE(one.changes_emitters()) << action;
  }
  one.action = "Inspection";
  EXPECT_FALSE(one.changes_emitters());
}

}  // namespace
}  // namespace evendrip
