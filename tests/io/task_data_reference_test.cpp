// SPDX-License-Identifier: Apache-2.0
// The decoder of time logs against an independent reader of ISO 11783-10, npm isoxml 1.11.2
// (Apache-2.0): by the values that it gave for these bytes (tests/reference/task_data_isoxml.txt),
// and live where node, npm and its registry are within reach.
#include "evendrip/io/task_data.hpp"

#include "reference_table.hpp"
#include "task_folder.hpp"
#include "test_files.hpp"

#include <cpl_vsi.h>
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::little_endian;
using test::LogRecord;

/// Values that come and go, negative ones, both hemispheres, a day that ends.
std::string plain_log() {
  std::vector<LogRecord> records;
  std::int32_t value = 5'200'000;
  for (int i = 0; i < 40; ++i) {
    const bool next_day = i >= 20;
    LogRecord record{static_cast<std::uint32_t>(next_day ? 500 * (i - 20) : 86'390'000 + 500 * i),
                     static_cast<std::uint16_t>(next_day ? 16'933 : 16'932),
                     i % 2 == 0 ? 397'485'000 + 13 * i : -397'485'000 - 17 * i,
                     i % 3 == 0 ? 1'790'000'001 : -990'000'000 + 7 * i,
                     static_cast<std::uint8_t>(1 + i % 5),
                     {}};
    value = value * 3 % 7'000'001 - 1'500'000;
    if (i % 2 == 0) record.values.push_back({0, value});
    if (i % 5 == 1) record.values.push_back({2, -i});
    if (i % 7 == 2) record.values.push_back({1, 2'147'483'647 - i});
    records.push_back(record);
  }
  return test::bytes_of_log(records);
}

const std::string full_header =
    R"(<TIM A="" D="4"><PTN A="" B="" C="" D="" E="" F="" G="" H="" I=""/>)"
    R"(<DLV A="0057" B="" C="DET-1"/></TIM>)";

/// Every field that a header may declare.
std::string full_log() {
  std::string bytes;
  for (std::int32_t i = 0; i < 5; ++i) {
    bytes += little_endian(static_cast<std::uint32_t>(1000 * i)) + little_endian(std::uint16_t{1}) +
             little_endian(397'485'000 + i) + little_endian(-990'000'000 - i) +
             little_endian(255'000 + i) + little_endian(std::uint8_t{4}) +
             little_endian(std::uint16_t{15}) + little_endian(std::uint16_t{9}) +
             little_endian(std::uint8_t{12}) + little_endian(std::uint32_t{2000}) +
             little_endian(std::uint16_t{1}) + little_endian(std::uint8_t{1}) +
             little_endian(std::uint8_t{0}) + little_endian(77 + i);
  }
  return bytes;
}

fs::path written_zip() {
  const fs::path zip = test::fresh_folder() / "task.zip";
  const std::string archive = "/vsizip/" + zip.string();
  VSILFILE* whole = VSIFOpenL(archive.c_str(), "wb");
  const auto put = [&](const std::string& name, const std::string& bytes) {
    VSILFILE* file = VSIFOpenL((archive + "/TASKDATA/" + name).c_str(), "wb");
    VSIFWriteL(bytes.data(), 1, bytes.size(), file);
    VSIFCloseL(file);
  };
  put("TASKDATA.XML", test::task_data_xml(R"(<TSK A="TSK2" G="4"><TLG A="TLG00002"/></TSK>)"));
  put("TLG00001.xml", test::log_header_xml({"0057", "0063", "0043"}));
  put("TLG00001.bin", plain_log());
  put("TLG00002.xml", full_header);
  put("TLG00002.bin", full_log());
  VSIFCloseL(whole);
  return zip;
}

using Rows = std::vector<std::vector<std::string>>;

/// Each row of the other reader against ours; counts are compared too.
void expect_same(const TaskData& data, const Rows& rows) {
  std::size_t row = 0;
  for (const TimeLog& log : data.logs) {
    for (std::size_t r = 0; r < log.records(); ++r, ++row) {
      ASSERT_LT(row, rows.size());
      const std::vector<std::string>& theirs = rows[row];
      ASSERT_GE(theirs.size(), 6U);
      EXPECT_EQ(theirs[0], log.name);
      EXPECT_EQ(std::stoul(theirs[1]), r + 1);
      EXPECT_NEAR(std::stod(theirs[2]), log.time_s[r], 1e-6) << row;
      EXPECT_NEAR(std::stod(theirs[3]), log.lonlat[r].y, 1e-12) << row;
      EXPECT_NEAR(std::stod(theirs[4]), log.lonlat[r].x, 1e-12) << row;
      EXPECT_EQ(std::stoi(theirs[5]), log.status[r]) << row;
      for (std::size_t q = 0; q < log.quantities.size(); ++q) {
        const double ours = log.values[r * log.quantities.size() + q];
        const std::string cell = 6 + q < theirs.size() ? theirs[6 + q] : "";
        EXPECT_EQ(cell.empty(), std::isnan(ours)) << row << " " << q;
        if (cell.empty()) continue;
        EXPECT_EQ(std::stod(cell), ours) << row << " " << q;
      }
    }
  }
  EXPECT_EQ(row, rows.size());
}

TEST(TaskDataPeer, GaveTheseValues) {
  const fs::path zip = written_zip();
  expect_same(read_task_data({zip, "", "task.zip"}), test::reference_table("task_data_isoxml.txt"));
}

/// The folder with the other reader; empty if it cannot be had.
fs::path peer_folder() {
  const fs::path folder = fs::path(EVENDRIP_TEST_OUTPUT) / "peer_isoxml";
  fs::create_directories(folder);
  if (std::system("node --version >/dev/null 2>&1") != 0) return {};
  if (!fs::exists(folder / "node_modules" / "isoxml")) {
    const std::string install = "timeout 120 npm install --silent --no-audit --no-fund --prefix '" +
                                folder.string() + "' isoxml@1.11.2 >'" +
                                (folder / "install.log").string() + "' 2>&1";
    if (std::system(install.c_str()) != 0) return {};
  }
  fs::copy_file(fs::path(EVENDRIP_TEST_DATA) / "io" / "task_data_peer.mjs",
                folder / "task_data_peer.mjs", fs::copy_options::overwrite_existing);
  return folder;
}

TEST(TaskDataPeer, ReadsTheSameLive) {
  const fs::path folder = peer_folder();
  if (folder.empty()) GTEST_SKIP() << "node, npm or isoxml 1.11.2 is not within reach";
  const fs::path zip = written_zip();
  const fs::path out = folder / "values.txt";
  const std::string run = "cd '" + folder.string() + "' && node task_data_peer.mjs '" +
                          zip.string() + "' >'" + out.string() + "'";
  ASSERT_EQ(std::system(run.c_str()), 0);
  Rows rows;
  std::ifstream file(out);
  for (std::string row; std::getline(file, row);) rows.push_back(test::reference_cells(row));
  expect_same(read_task_data({zip, "", "task.zip"}), rows);
}

}  // namespace
}  // namespace evendrip
