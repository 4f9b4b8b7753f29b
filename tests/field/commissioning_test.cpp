// SPDX-License-Identifier: Apache-2.0
#include "evendrip/field/commissioning.hpp"

#include "field_folder.hpp"

#include <fstream>

namespace evendrip {
namespace {

using testing::FieldFolder;

Field small_field(FieldFolder folder, const std::string& record) {
  if (!record.empty()) folder.file(commissioning_file, record);
  return read_field(folder.write());
}

std::vector<std::string> codes(const Doubts& doubts) {
  std::vector<std::string> list;
  for (const Doubt& doubt : doubts) list.push_back(doubt.code);
  return list;
}

TEST(Commissioning, IsNothingWhereTheFolderHasNoSuchFile) {
  Doubts doubts;
  EXPECT_FALSE(read_commissioning(small_field({}, ""), doubts));
  EXPECT_TRUE(doubts.empty());
}

TEST(Commissioning, ReadsPressuresAndFlowsInOtherUnits) {
  const Field field = small_field({},
                                  "date,what,id,zones,pressure_psi,flow_gpm,accuracy\n"
                                  "2024-04-02,port,P1,Z1,14.5,,0.2\n"
                                  "2024-04-02,meter,M1,Z1,,22,0.5\n");
  Doubts doubts;
  const auto record = read_commissioning(field, doubts);
  ASSERT_TRUE(record);
  EXPECT_TRUE(doubts.empty());
  EXPECT_EQ(record->date, "2024-04-02");
  ASSERT_EQ(record->pressures.size(), 1U);
  // NIST SP 811: 1 psi is 6.894757 kPa; 1 US gallon is 3.785412 L.
  EXPECT_NEAR(record->pressures[0].pressure_kpa, 14.5 * 6.894757, 1e-4);
  EXPECT_NEAR(record->pressures[0].accuracy_kpa, 0.2 * 6.894757, 1e-6);
  EXPECT_EQ(record->pressures[0].zones, std::vector<int>{0});
  ASSERT_EQ(record->flows.size(), 1U);
  EXPECT_NEAR(record->flows[0].flow_lph, 22 * 60 * 3.785412, 1e-2);
  EXPECT_NEAR(record->flows[0].accuracy_lph, 0.5 * 60 * 3.785412, 1e-3);
}

TEST(Commissioning, ReadsBackExactlyWhatItWrote) {
  FieldFolder folder;
  const Field field = small_field(folder, "");
  const Commissioning record{"2026-05-12",
                             {{0, {0}, 104.73, 1.5}, {0, {}, 100.0 / 3.0, 0}},
                             {{"M, main", {0}, 9802.0, 196.04}, {"M2", {0}, 1000.0 / 7.0, 0}}};
  const std::string table = commissioning_table(field, record);
  EXPECT_NE(table.find("9.802"), std::string::npos) << table;
  std::ofstream(field.folder / commissioning_file) << table;
  Doubts doubts;
  const auto again = read_commissioning(field, doubts);
  ASSERT_TRUE(again);
  EXPECT_TRUE(doubts.empty()) << to_text(doubts.front());
  EXPECT_EQ(again->date, record.date);
  ASSERT_EQ(again->pressures.size(), 2U);
  ASSERT_EQ(again->flows.size(), 2U);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_EQ(again->pressures[i].port, record.pressures[i].port);
    EXPECT_EQ(again->pressures[i].zones, record.pressures[i].zones);
    EXPECT_DOUBLE_EQ(again->pressures[i].pressure_kpa, record.pressures[i].pressure_kpa);
    EXPECT_DOUBLE_EQ(again->pressures[i].accuracy_kpa, record.pressures[i].accuracy_kpa);
    EXPECT_EQ(again->flows[i].meter, record.flows[i].meter);
    EXPECT_EQ(again->flows[i].zones, record.flows[i].zones);
    EXPECT_DOUBLE_EQ(again->flows[i].flow_lph, record.flows[i].flow_lph);
    EXPECT_DOUBLE_EQ(again->flows[i].accuracy_lph, record.flows[i].accuracy_lph);
  }
}

TEST(Commissioning, ListsEveryProblemWithItsRow) {
  const Field field = small_field({},
                                  "date,what,id,zones,pressure_kpa,flow_m3_h,accuracy\n"
                                  "2024-04-02,port,P9,Z1,100,,1\n"
                                  "2024-04-02,port,P1,Z7,0,,1\n"
                                  "2024-04-02,valve,P1,Z1,100,,1\n"
                                  "2024-04-02,meter,M1,,,9,1\n"
                                  "2024-04-02,meter,M1,Z1,,,1\n"
                                  "2024-04-02,meter,M1,Z1,,9,-1\n");
  Doubts doubts;
  read_commissioning(field, doubts);
  EXPECT_EQ(codes(doubts),
            (std::vector<std::string>{"unknown_port", "unknown_zone", "value_not_above_zero",
                                      "unknown_kind", "zones_missing", "value_missing",
                                      "accuracy_negative"}));
  for (const Doubt& doubt : doubts) {
    EXPECT_EQ(doubt.place.file, commissioning_file);
    EXPECT_GE(doubt.place.row, 2U);
    EXPECT_EQ(doubt.severity, Severity::problem);
    EXPECT_FALSE(doubt.remedy.empty());
  }
}

TEST(Commissioning, IsRefusedWithoutItsColumns) {
  const Field field = small_field({}, "date,port,pressure_kpa\n2024-04-02,P1,100\n");
  Doubts doubts;
  EXPECT_FALSE(read_commissioning(field, doubts));
  ASSERT_TRUE(has_problem(doubts));
  EXPECT_NE(to_text(doubts.front()).find("what"), std::string::npos);
}

TEST(Commissioning, DoesNotFollowALinkOutOfTheFolder) {
  const Field field = small_field({}, "");
  const auto outside = field.folder.parent_path() / "outside_record.csv";
  std::ofstream(outside) << "date,what,id,zones,pressure_kpa,flow_m3_h,accuracy\n"
                            "2024-04-02,port,P1,Z1,100,,1\n";
  std::filesystem::create_symlink(outside, field.folder / commissioning_file);
  Doubts doubts;
  EXPECT_FALSE(read_commissioning(field, doubts));
  EXPECT_EQ(codes(doubts), std::vector<std::string>{"path_leaves_folder"});
}

}  // namespace
}  // namespace evendrip
