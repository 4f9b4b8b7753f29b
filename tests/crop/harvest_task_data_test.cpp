// SPDX-License-Identifier: Apache-2.0
// Harvest logs of task data written by hand. Identifiers and units: ISO 11783-11 data dictionary
// (87 mg/s, 84 and 181 mg/m2, 99 and 184 ppm, 67 mm, 397 mm/s, 141 work state).
#include "evendrip/crop/harvest_log.hpp"

#include "invented_field.hpp"
#include "own_folder.hpp"
#include "task_folder.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

using invented::small_field;
using test::LogRecord;

CropSource task_of(const std::vector<std::string>& ddis, const std::vector<LogRecord>& records,
                   const std::string& main = test::task_data_xml()) {
  const std::filesystem::path folder = test::fresh_folder("task");
  const auto put = [&](const char* name, const std::string& bytes) {
    std::ofstream(folder / name, std::ios::binary) << bytes;
  };
  put("TASKDATA.XML", main);
  put("TLG00001.XML", test::log_header_xml(ddis));
  put("TLG00001.BIN", test::bytes_of_log(records));
  CropSource source;
  source.id = "invented";
  source.kind = "yield";
  source.file = {folder, "", "crop/task"};
  source.moisture_basis_frac = 0.155;
  return source;
}

/// Records 2 s apart on the central meridian of zone 14, 1e-5 degrees of latitude from each other.
std::vector<LogRecord> northward(int count) {
  std::vector<LogRecord> records;
  for (int i = 0; i < count; ++i) {
    records.push_back({static_cast<std::uint32_t>(36'000'000 + 2000 * i),
                       16'932,
                       397'485'000 + 100 * i,
                       -990'000'000,
                       4,
                       {}});
  }
  return records;
}

TEST(HarvestTaskData, TurnsMassFlowSpeedAndWidthIntoYield) {
  std::vector<LogRecord> records = northward(3);
  records[0].values = {{0, 12'000'000}, {1, 200'000}, {2, 6'000}, {3, 1'500}};
  records[2].values = {{0, 9'000'000}};
  const HarvestLog log =
      read_harvest_log(small_field(), task_of({"0057", "0063", "0043", "018D"}, records));
  ASSERT_EQ(log.size(), 3U);
  const Point first = Transform(wgs84(), small_field().crs)({-99, 39.7485});
  EXPECT_NEAR(distance_m(log.places[0], first), 0, 1e-6);
  EXPECT_TRUE(log.has_mass_flow);
  EXPECT_EQ(log.time_s, (std::vector<double>{0, 2, 4}));
  EXPECT_NEAR(log.mass_flow_kg_s[1], 12, 1e-12);
  EXPECT_NEAR(log.swath_m[1], 6, 1e-12);
  EXPECT_NEAR(log.distance_m[1], 3, 1e-12);
  // 24 kg at 20 % on 18 m2.
  EXPECT_NEAR(log.yield_t_ha[1], 10 * 24 * 0.8 / 0.845 / 18, 1e-9);
  EXPECT_NEAR(log.yield_t_ha[2], 10 * 18 * 0.8 / 0.845 / 18, 1e-9);
  EXPECT_EQ(log.machines, (std::vector<std::string>{"Bittern 4"}));
}

TEST(HarvestTaskData, CutsNothingWhileTheMachineDoesNotWork) {
  std::vector<LogRecord> records = northward(3);
  records[0].values = {{0, 12'000'000}, {1, 6'000}, {2, 1}};
  records[1].values = {{2, 0}};
  records[2].values = {{2, 1}};
  const HarvestLog log =
      read_harvest_log(small_field(), task_of({"0057", "0043", "008D"}, records));
  EXPECT_EQ(log.swath_m, (std::vector<double>{6, 0, 6}));
  EXPECT_TRUE(std::isnan(log.yield_t_ha[1]));
  EXPECT_FALSE(std::isnan(log.yield_t_ha[2]));
}

TEST(HarvestTaskData, ReadsYieldByAreaWetAndDry) {
  std::vector<LogRecord> records = northward(2);
  records[0].values = {{0, 900'000}, {1, 200'000}};
  HarvestLog log = read_harvest_log(small_field(), task_of({"0054", "0063"}, records));
  EXPECT_FALSE(log.has_mass_flow);
  EXPECT_NEAR(log.yield_t_ha[0], 9 * 0.8 / 0.845, 1e-12);
  // Dry mass at a reference moisture of 14 %.
  records[0].values = {{0, 900'000}, {1, 140'000}};
  log = read_harvest_log(small_field(), task_of({"00B5", "00B8"}, records));
  EXPECT_NEAR(log.yield_t_ha[0], 9 * 0.86 / 0.845, 1e-12);
}

TEST(HarvestTaskData, TakesDistancesFromTheTotalDriven) {
  std::vector<LogRecord> records = northward(3);
  records[0].values = {{0, 12'000'000}, {1, 6'000}, {2, 100'000}};
  records[1].values = {{2, 102'500}};
  records[2].values = {{2, 500}};  // set back
  const HarvestLog log =
      read_harvest_log(small_field(), task_of({"0057", "0043", "0075"}, records));
  EXPECT_NEAR(log.distance_m[1], 2.5, 1e-12);
  EXPECT_TRUE(std::isnan(log.distance_m[2]));
}

TEST(HarvestTaskData, LeavesRecordsWithoutAFixOut) {
  std::vector<LogRecord> records = northward(3);
  for (LogRecord& record : records) record.values = {{0, 900'000}};
  records[1].status = 0;
  const HarvestLog log = read_harvest_log(small_field(), task_of({"0054"}, records));
  EXPECT_EQ(log.size(), 2U);
  EXPECT_EQ(log.set_aside, 1U);
  EXPECT_EQ(log.first_set_aside, 2U);
  EXPECT_EQ(log.lines, (std::vector<std::size_t>{1, 3}));
}

TEST(HarvestTaskData, TellsATruncatedLogAndKeepsItsRecords) {
  std::vector<LogRecord> records = northward(3);
  for (LogRecord& record : records) record.values = {{0, 900'000}};
  const CropSource source = task_of({"0054"}, records);
  std::filesystem::resize_file(source.file.path / "TLG00001.BIN", 3 * 21 - 4);
  const HarvestLog log = read_harvest_log(small_field(), source);
  EXPECT_EQ(log.size(), 2U);
  EXPECT_TRUE(std::any_of(log.doubts.begin(), log.doubts.end(),
                          [](const Doubt& doubt) { return doubt.code == "log_truncated"; }));
}

std::string first_code(const CropSource& source) {
  try {
    read_harvest_log(small_field(), source);
  } catch (const InputError& error) {
    return error.problems().front().code;
  }
  return "";
}

TEST(HarvestTaskData, RefusesLogsWithoutYieldWithoutPlacesOrOnTheWrongSideOfTheEarth) {
  std::vector<LogRecord> records = northward(2);
  records[0].values = {{0, 900'000}};
  EXPECT_EQ(first_code(task_of({"0043"}, records)), "no_yield_logged");
  EXPECT_EQ(first_code(task_of({"0054"}, {})), "no_yield_logged");
  for (LogRecord& record : records) record.east = -record.east;
  EXPECT_EQ(first_code(task_of({"0054"}, records)), "wrong_hemisphere");
  for (LogRecord& record : records) record.status = 0;
  EXPECT_EQ(first_code(task_of({"0054"}, records)), "no_places");
}

/// A harvester whose header has two sections, and task data of it.
std::string two_sections_xml() {
  return R"(<?xml version="1.0" encoding="UTF-8"?>
<ISO11783_TaskData VersionMajor="4">
<DVC A="DVC-1" B="Bittern 4"><DET A="DET-1" B="1" C="1" D="machine" E="0" F="0"/>
<DET A="DET-2" B="2" C="4" D="left" E="1" F="1"/><DET A="DET-3" B="3" C="4" D="right" E="2" F="1"/>
</DVC>
<TSK A="TSK1" B="Curlew Bottom, maize" G="4"><TLG A="TLG00001" C="1"/></TSK>
</ISO11783_TaskData>
)";
}

/// Source whose header gives each identifier its element.
CropSource sections_of(const std::vector<std::pair<std::string, std::string>>& quantities,
                       const std::vector<LogRecord>& records) {
  const CropSource source = task_of({}, records, two_sections_xml());
  std::string header = R"(<TIM A="" D="4"><PTN A="" B="" D=""/>)";
  for (const auto& [ddi, element] : quantities)
    header += "<DLV A=\"" + ddi + R"(" B="" C=")" + element + "\"/>";
  std::ofstream(source.file.path / "TLG00001.XML", std::ios::binary) << header + "</TIM>\n";
  return source;
}

bool has(const HarvestLog& log, const std::string& code) {
  return std::any_of(log.doubts.begin(), log.doubts.end(),
                     [&](const Doubt& doubt) { return doubt.code == code; });
}

TEST(HarvestTaskData, AddsUpTheFlowsAndWidthsOfSections) {
  std::vector<LogRecord> records = northward(4);
  // Flows of 4 and 8 kg/s on widths of 2 and 4 m at 0.5 m/s; then the left section is off.
  records[0].values = {{0, 4'000'000}, {1, 8'000'000}, {2, 2'000}, {3, 4'000},
                       {4, 500},       {5, 1},         {6, 1}};
  records[2].values = {{0, 0}, {5, 0}};
  const HarvestLog log = read_harvest_log(small_field(), sections_of({{"0057", "DET-2"},
                                                                      {"0057", "DET-3"},
                                                                      {"0043", "DET-2"},
                                                                      {"0043", "DET-3"},
                                                                      {"018D", "DET-1"},
                                                                      {"008D", "DET-2"},
                                                                      {"008D", "DET-3"}},
                                                                     records));
  EXPECT_NEAR(log.mass_flow_kg_s[1], 12, 1e-12);
  EXPECT_NEAR(log.swath_m[1], 6, 1e-12);
  EXPECT_NEAR(log.yield_t_ha[1], 10 * 24 / 6.0, 1e-9);  // 24 kg on 6 m2
  EXPECT_NEAR(log.mass_flow_kg_s[3], 8, 1e-12);
  EXPECT_NEAR(log.swath_m[3], 4, 1e-12);
  EXPECT_NEAR(log.yield_t_ha[3], 10 * 16 / 4.0, 1e-9);
  EXPECT_TRUE(has(log, "sections_joined"));
  EXPECT_FALSE(has(log, "units_look_mixed"));
}

TEST(HarvestTaskData, TakesTheMeanByWidthOfYieldsPerArea) {
  std::vector<LogRecord> records = northward(2);
  records[0].values = {{0, 600'000}, {1, 900'000}, {2, 2'000}, {3, 4'000}};
  const HarvestLog log = read_harvest_log(
      small_field(),
      sections_of({{"0054", "DET-2"}, {"0054", "DET-3"}, {"0043", "DET-2"}, {"0043", "DET-3"}},
                  records));
  EXPECT_NEAR(log.yield_t_ha[0], (2 * 6 + 4 * 9) / 6.0, 1e-9);
}

TEST(HarvestTaskData, TellsSectionsThatDifferByThePound) {
  std::vector<LogRecord> records = northward(2);
  records[0].values = {{0, 900'000}, {1, 1'984'000}};
  const HarvestLog log =
      read_harvest_log(small_field(), sections_of({{"0054", "DET-2"}, {"0054", "DET-3"}}, records));
  EXPECT_TRUE(has(log, "units_look_mixed"));
}

TEST(HarvestTaskData, ReadsVolumesByTheDensityStated) {
  std::vector<LogRecord> records = northward(2);
  records[0].values = {{0, 16'000}, {1, 6'000}, {2, 1'500}};  // 16 L/s
  CropSource source = task_of({"0056", "0043", "018D"}, records);
  EXPECT_EQ(first_code(source), "bulk_density_not_stated");
  source.bulk_density_kg_m3 = 750;
  const HarvestLog flow = read_harvest_log(small_field(), source);
  EXPECT_NEAR(flow.mass_flow_kg_s[0], 12, 1e-12);
  EXPECT_NEAR(flow.yield_t_ha[1], 10 * 24 / 18.0, 1e-9);
  records[0].values = {{0, 1'200}};  // 1.2 L/m2
  source = task_of({"0053"}, records);
  EXPECT_EQ(first_code(source), "bulk_density_not_stated");
  source.bulk_density_kg_m3 = 750;
  EXPECT_NEAR(read_harvest_log(small_field(), source).yield_t_ha[0], 9, 1e-9);  // 0.9 kg/m2
}

}  // namespace
}  // namespace evendrip
