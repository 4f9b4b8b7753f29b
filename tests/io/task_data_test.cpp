// SPDX-License-Identifier: Apache-2.0
// Task data of ISO 11783-10: bytes written here by hand after the record layout of the standard
// (annex D, from memory), which an independent reader confirms in task_data_reference_test.cpp.
#include "evendrip/io/task_data.hpp"

#include "task_folder.hpp"
#include "test_files.hpp"

#include <cpl_vsi.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::bytes_of_log;
using test::fresh_folder;
using test::log_header_xml;
using test::LogRecord;
using test::put;
using test::task_data_xml;

/// 11 May 2026 is day 16932 since 1980-01-01.
const std::vector<LogRecord> three_records = {
    {36'000'000, 16'932, 397'485'000, -990'000'000, 4, {{0, 5'200'000}, {1, 182'000}}},
    {36'001'500, 16'932, 397'485'100, -990'000'000, 4, {{0, 5'300'000}}},
    {36'003'000, 16'932, 397'485'200, -990'000'100, 5, {{1, -7}}},
};

FileRef folder_with(const std::string& header, const std::string& log,
                    const std::string& main = task_data_xml()) {
  const fs::path folder = fresh_folder();
  put(folder / "TASKDATA.XML", main);
  put(folder / "TLG00001.XML", header);
  put(folder / "TLG00001.BIN", log);
  return {folder, "", "crop/task"};
}

std::string code_of(const FileRef& file) {
  return test::code_of<Error>([&] { read_task_data(file); });
}

bool has(const Doubts& doubts, const std::string& code) {
  return std::any_of(doubts.begin(), doubts.end(),
                     [&](const Doubt& doubt) { return doubt.code == code; });
}

void expect_three_records(const TaskData& data) {
  ASSERT_EQ(data.logs.size(), 1U);
  const TimeLog& log = data.logs[0];
  ASSERT_EQ(log.records(), 3U);
  EXPECT_EQ(log.time_s[0], 16'932 * 86'400.0 + 36'000);
  EXPECT_NEAR(log.time_s[1] - log.time_s[0], 1.5, 1e-6);
  EXPECT_NEAR(log.lonlat[1].y, 39.74851, 1e-12);
  EXPECT_NEAR(log.lonlat[2].x, -99.00001, 1e-12);
  EXPECT_EQ(log.status, (std::vector<int>{4, 4, 5}));
  // What a record leaves out stays as it was.
  EXPECT_EQ(log.values,
            (std::vector<double>{5'200'000, 182'000, 5'300'000, 182'000, 5'300'000, -7}));
  EXPECT_TRUE(data.doubts.empty());
}

TEST(TaskData, ReadsAFolderByteForByte) {
  const FileRef file = folder_with(log_header_xml({"0057", "0063"}), bytes_of_log(three_records));
  EXPECT_TRUE(is_task_data(file));
  const TaskData data = read_task_data(file);
  expect_three_records(data);
  const TimeLog& log = data.logs[0];
  EXPECT_EQ(log.name, "TLG00001");
  EXPECT_EQ(log.task, "Curlew Bottom, maize");
  ASSERT_EQ(log.quantities.size(), 2U);
  EXPECT_EQ(log.quantities[0].ddi, 87);
  EXPECT_EQ(log.quantities[0].device, "Bittern 4");
  EXPECT_EQ(log.quantities[0].device_element, "DET-1");
  EXPECT_EQ(log.quantities[0].name, "flow");
  EXPECT_EQ(log.quantities[1].name, "water");
}

TEST(TaskData, FindsFilesWhateverTheirLetterCaseAndInAnInnerFolder) {
  const fs::path folder = fresh_folder();
  put(folder / "taskdata" / "TaskData.xml", task_data_xml());
  put(folder / "taskdata" / "tlg00001.xml", log_header_xml({"0057", "0063"}));
  put(folder / "taskdata" / "Tlg00001.bin", bytes_of_log(three_records));
  expect_three_records(read_task_data({folder, "", "crop/task"}));
  expect_three_records(read_task_data({folder / "taskdata" / "TaskData.xml", "", "t.xml"}));
}

fs::path zip_of(const fs::path& zip,
                const std::vector<std::pair<std::string, std::string>>& files) {
  void* writer = VSIFOpenL(("/vsizip/" + zip.string()).c_str(), "wb");
  for (const auto& [name, bytes] : files) {
    VSILFILE* file = VSIFOpenL(("/vsizip/" + zip.string() + "/" + name).c_str(), "wb");
    VSIFWriteL(bytes.data(), 1, bytes.size(), file);
    VSIFCloseL(file);
  }
  VSIFCloseL(static_cast<VSILFILE*>(writer));
  return zip;
}

TEST(TaskData, ReadsAZip) {
  const fs::path zip = zip_of(fresh_folder() / "log.zip",
                              {{"farm/TASKDATA/taskdata.xml", task_data_xml()},
                               {"farm/TASKDATA/TLG00001.xml", log_header_xml({"0057", "0063"})},
                               {"farm/TASKDATA/tlg00001.BIN", bytes_of_log(three_records)}});
  EXPECT_TRUE(is_task_data({zip, "", "log.zip"}));
  expect_three_records(read_task_data({zip, "", "log.zip"}));
}

TEST(TaskData, RefusesAZipThatIsCutOffOrHoldsSeveralSets) {
  const fs::path folder = fresh_folder();
  const fs::path zip = zip_of(folder / "two.zip", {{"a/TASKDATA.XML", task_data_xml()},
                                                   {"b/TASKDATA.XML", task_data_xml()}});
  EXPECT_EQ(code_of({zip, "", "two.zip"}), "several_task_data");
  const std::string bytes = test::bytes_of(zip);
  const fs::path cut = put(folder / "cut.zip", bytes.substr(0, bytes.size() / 2));
  EXPECT_EQ(code_of({cut, "", "cut.zip"}), "unreadable_zip");
  const fs::path none = zip_of(folder / "none.zip", {{"a.txt", "nothing"}});
  EXPECT_FALSE(is_task_data({none, "", "none.zip"}));
  EXPECT_EQ(code_of({none, "", "none.zip"}), "no_task_data");
}

TEST(TaskData, RefusesAZipWhoseFileUnpacksBeyondTheLimit) {
  const fs::path zip =
      zip_of(fresh_folder() / "bomb.zip", {{"TASKDATA.XML", std::string(40U << 20U, ' ')}});
  ASSERT_LT(fs::file_size(zip), 1U << 20U);
  EXPECT_EQ(code_of({zip, "", "bomb.zip"}), "too_large");
}

std::string with_replaced(std::string bytes, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = bytes.find(from, at)) != std::string::npos; at += to.size()) {
    bytes.replace(at, from.size(), to);
  }
  return bytes;
}

TEST(TaskData, DoesNotFollowNamesThatLeadOutOfAZip) {
  const fs::path folder = fresh_folder();
  const std::string bytes =
      test::bytes_of(zip_of(folder / "plain.zip", {{"aa/TASKDATA.XML", task_data_xml()}}));
  int number = 0;
  for (const char* name : {"../", "/a/", "..\\"}) {
    const fs::path zip = put(folder / ("out" + std::to_string(number++) + ".zip"),
                             with_replaced(bytes, "aa/", name));
    EXPECT_EQ(code_of({zip, "", "out.zip"}), "no_task_data") << name;
  }
}

TEST(TaskData, RefusesAZipWithDamagedBytes) {
  const fs::path folder = fresh_folder();
  std::vector<LogRecord> records;
  for (int i = 0; i < 200; ++i) {
    records.push_back(three_records[static_cast<std::size_t>(i % 3)]);
    records.back().ms += static_cast<std::uint32_t>(i * i);
  }
  const std::string bytes = test::bytes_of(
      zip_of(folder / "whole.zip", {{"TASKDATA.XML", task_data_xml()},
                                    {"TLG00001.XML", log_header_xml({"0057", "0063"})},
                                    {"TLG00001.BIN", bytes_of_log(records)}}));
  // The bytes of the log stand between its name and the directory of the zip.
  const std::size_t begin = bytes.find("TLG00001.BIN") + 12;
  const std::size_t end = bytes.find(std::string("PK\x01\x02", 4));
  ASSERT_GT(end, begin + 100);
  for (const std::size_t at : {begin + 20, (begin + end) / 2, end - 40}) {
    std::string damaged = bytes;
    damaged[at] = static_cast<char>(damaged[at] ^ 0x55);
    const fs::path zip = put(folder / ("damaged" + std::to_string(at) + ".zip"), damaged);
    EXPECT_EQ(code_of({zip, "", "damaged.zip"}), "unreadable_zip") << at;
  }
}

TEST(TaskData, RefusesAZipOfTooManyFiles) {
  // The directory's end alone: it says 65535 files.
  std::string end = std::string("PK\x05\x06", 4) + std::string(18, '\0');
  end[8] = end[9] = end[10] = end[11] = static_cast<char>(0xFF);
  const fs::path zip = put(fresh_folder() / "many.zip", end);
  EXPECT_EQ(code_of({zip, "", "many.zip"}), "too_large");
}

/// The same zip as a large one: closing record and locator before the end, whose own numbers are
/// filled with ones (PKWARE APPNOTE 4.3.14 to 4.3.16, from memory).
std::string as_large_zip(const std::string& bytes, std::uint64_t files) {
  const std::size_t end = bytes.rfind("PK\x05\x06");
  const auto number = [&](std::size_t at) {
    std::uint32_t value = 0;
    for (std::size_t i = 4; i-- > 0;)
      value = value << 8U | static_cast<unsigned char>(bytes[end + at + i]);
    return value;
  };
  const std::string record =
      std::string("PK\x06\x06") + test::little_endian(std::uint64_t{44}) +
      test::little_endian(std::uint16_t{45}) + test::little_endian(std::uint16_t{45}) +
      test::little_endian(std::uint32_t{0}) + test::little_endian(std::uint32_t{0}) +
      test::little_endian(files) + test::little_endian(files) +
      test::little_endian(std::uint64_t{number(12)}) +
      test::little_endian(std::uint64_t{number(16)});
  const std::string locator = std::string("PK\x06\x07") + test::little_endian(std::uint32_t{0}) +
                              test::little_endian(std::uint64_t{end}) +
                              test::little_endian(std::uint32_t{1});
  std::string tail = bytes.substr(end);
  for (std::size_t i = 8; i < 20; ++i) tail[i] = static_cast<char>(0xFF);
  return bytes.substr(0, end) + record + locator + tail;
}

TEST(TaskData, ReadsALargeZipAndCountsItsFiles) {
  const fs::path folder = fresh_folder();
  const std::string bytes = test::bytes_of(
      zip_of(folder / "plain.zip", {{"TASKDATA.XML", task_data_xml()},
                                    {"TLG00001.XML", log_header_xml({"0057", "0063"})},
                                    {"TLG00001.BIN", bytes_of_log(three_records)}}));
  const fs::path large = put(folder / "large.zip", as_large_zip(bytes, 3));
  expect_three_records(read_task_data({large, "", "large.zip"}));
  const fs::path many = put(folder / "many.zip", as_large_zip(bytes, 70'000));
  EXPECT_EQ(code_of({many, "", "many.zip"}), "too_large");
  std::string astray = as_large_zip(bytes, 3);
  astray[astray.rfind("PK\x06\x07") + 8 + 7] =
      0x40;  // the record is said to lie far beyond the file
  const fs::path lost = put(folder / "lost.zip", astray);
  EXPECT_EQ(code_of({lost, "", "lost.zip"}), "unreadable_zip");
}

TEST(TaskData, SaysWhatKindOfElementLogsAValue) {
  const FileRef file = folder_with(log_header_xml({"0057"}), bytes_of_log({}));
  const TaskData data = read_task_data(file);
  EXPECT_EQ(data.logs[0].quantities[0].element_type, 2);  // C of the DET
}

TEST(TaskData, KeepsWholeRecordsOfATruncatedLogAndTellsIt) {
  const std::string bytes = bytes_of_log(three_records);
  for (std::size_t cut = 1; cut < three_records[2].bytes().size(); ++cut) {
    const TaskData data = read_task_data(
        folder_with(log_header_xml({"0057", "0063"}), bytes.substr(0, bytes.size() - cut)));
    ASSERT_EQ(data.logs[0].records(), 2U) << cut;
    ASSERT_EQ(data.doubts.size(), 1U) << cut;
    EXPECT_EQ(data.doubts[0].code, "log_truncated");
    EXPECT_EQ(data.doubts[0].place.row, 3U);
  }
}

/// Whether a read says that something is amiss.
bool is_told(const FileRef& file) {
  try {
    return !read_task_data(file).doubts.empty();
  } catch (const InputError&) {
    return true;
  }
}

TEST(TaskData, TellsThatAFileIsCutAtWhateverByte) {
  const std::string main = task_data_xml();
  const std::string header = log_header_xml({"0057", "0063"});
  const std::string log = bytes_of_log(three_records);
  // After the last tag of the XML stands a line's end alone.
  for (std::size_t kept = 0; kept + 1 < main.size(); ++kept) {
    EXPECT_TRUE(is_told(folder_with(header, log, main.substr(0, kept)))) << "TASKDATA.XML " << kept;
  }
  for (std::size_t kept = 0; kept + 1 < header.size(); ++kept) {
    EXPECT_TRUE(is_told(folder_with(header.substr(0, kept), log))) << "TLG00001.XML " << kept;
  }
  std::size_t at = 0;
  for (const LogRecord& record : three_records) {
    for (std::size_t kept = 1; kept < record.bytes().size(); ++kept) {
      EXPECT_TRUE(is_told(folder_with(header, log.substr(0, at + kept))))
          << "TLG00001.BIN " << kept;
    }
    at += record.bytes().size();
  }
  EXPECT_FALSE(is_told(folder_with(header, log)));
}

TEST(TaskData, TellsALogThatIsCutBetweenTwoRecordsWhereItsLengthIsStated) {
  const std::string log = bytes_of_log(three_records);
  std::string main = task_data_xml();
  const std::string tag = R"(<TLG A="TLG00001")";
  main.insert(main.find(tag) + tag.size(), " B=\"" + std::to_string(log.size()) + "\"");
  const std::string header = log_header_xml({"0057", "0063"});
  EXPECT_FALSE(is_told(folder_with(header, log, main)));
  const TaskData data =
      read_task_data(folder_with(header, log.substr(0, three_records[0].bytes().size()), main));
  EXPECT_EQ(data.logs[0].records(), 1U);
  EXPECT_TRUE(has(data.doubts, "log_shorter_than_stated"));
}

TEST(TaskData, StopsAtARecordThatNamesAValueWhichTheHeaderLacks) {
  std::vector<LogRecord> records = three_records;
  records[1].values = {{9, 1}};
  const TaskData data =
      read_task_data(folder_with(log_header_xml({"0057", "0063"}), bytes_of_log(records)));
  EXPECT_EQ(data.logs[0].records(), 1U);
  EXPECT_TRUE(has(data.doubts, "log_damaged"));
}

TEST(TaskData, ReadsEveryFieldThatAHeaderMayDeclare) {
  // Height, dilutions, satellites and UTC stand between place, status and values.
  const std::string header =
      R"(<TIM A="" D="4"><PTN A="" B="" C="" D="" E="" F="" G="" H="" I=""/>)"
      R"(<DLV A="0057" B="" C="DET-1"/></TIM>)";
  std::string bytes;
  for (int i = 0; i < 2; ++i) {
    bytes += test::little_endian(std::uint32_t{1000}) + test::little_endian(std::uint16_t{1}) +
             test::little_endian(std::int32_t{-397'485'000}) +
             test::little_endian(std::int32_t{1'490'000'000}) +
             test::little_endian(std::int32_t{255'000}) + test::little_endian(std::uint8_t{1}) +
             test::little_endian(std::uint16_t{15}) + test::little_endian(std::uint16_t{9}) +
             test::little_endian(std::uint8_t{12}) + test::little_endian(std::uint32_t{2000}) +
             test::little_endian(std::uint16_t{1}) + test::little_endian(std::uint8_t{1}) +
             test::little_endian(std::uint8_t{0}) + test::little_endian(std::int32_t{77 + i});
  }
  const TaskData data = read_task_data(folder_with(header, bytes));
  ASSERT_EQ(data.logs[0].records(), 2U);
  EXPECT_EQ(data.logs[0].time_s[1], 86'401);
  EXPECT_NEAR(data.logs[0].lonlat[1].y, -39.7485, 1e-12);
  EXPECT_NEAR(data.logs[0].lonlat[1].x, 149, 1e-12);
  EXPECT_EQ(data.logs[0].status[1], 1);
  EXPECT_EQ(data.logs[0].values, (std::vector<double>{77, 78}));
}

TEST(TaskData, TakesValuesThatStandInTheHeaderForAllRecords) {
  const std::string header =
      R"(<TIM A="" D="4"><PTN A="39.5" B="-99.25" D="2"/><DLV A="0057" B="" C="DET-1"/></TIM>)";
  const std::string bytes = test::little_endian(std::uint32_t{1000}) +
                            test::little_endian(std::uint16_t{1}) +
                            test::little_endian(std::uint8_t{0});
  const TaskData data = read_task_data(folder_with(header, bytes));
  EXPECT_EQ(data.logs[0].lonlat[0], (Point{-99.25, 39.5}));
  EXPECT_EQ(data.logs[0].status[0], 2);
  EXPECT_TRUE(std::isnan(data.logs[0].values[0]));
}

TEST(TaskData, HasNoPlaceWhereThereIsNoFix) {
  std::vector<LogRecord> records(4, three_records[0]);
  records[1].status = 0;
  records[2].north = records[2].east = 0;
  records[3].north = 2'147'483'647;
  const TaskData data =
      read_task_data(folder_with(log_header_xml({"0057", "0063"}), bytes_of_log(records)));
  EXPECT_FALSE(std::isnan(data.logs[0].lonlat[0].x));
  for (std::size_t i = 1; i < 4; ++i) EXPECT_TRUE(std::isnan(data.logs[0].lonlat[i].x)) << i;
}

TEST(TaskData, KeepsTheWantedIdentifiersAlone) {
  const TaskData data = read_task_data(
      folder_with(log_header_xml({"0057", "0063"}), bytes_of_log(three_records)), {99});
  ASSERT_EQ(data.logs[0].quantities.size(), 1U);
  EXPECT_EQ(data.logs[0].values, (std::vector<double>{182'000, 182'000, -7}));
}

TEST(TaskData, FollowsExternalFilesOneLevel) {
  const FileRef file =
      folder_with(log_header_xml({"0057", "0063"}), bytes_of_log(three_records),
                  R"(<ISO11783_TaskData><XFR A="TSK00001" B="1"/><XFR A="DVC00009" B="1"/>)"
                  R"(</ISO11783_TaskData>)");
  put(file.path / "tsk00001.xml",
      R"(<XFC><TSK A="TSK1" B="outside"><TLG A="TLG00001"/></TSK></XFC>)");
  const TaskData data = read_task_data(file);
  ASSERT_EQ(data.logs.size(), 1U);
  EXPECT_EQ(data.logs[0].task, "outside");
  EXPECT_TRUE(has(data.doubts, "external_file_missing"));
}

TEST(TaskData, TellsLogsThatAreMissingNamedTwiceOrNamedToLeadOut) {
  const FileRef file =
      folder_with(log_header_xml({"0057", "0063"}), bytes_of_log(three_records),
                  task_data_xml(R"(<TSK A="TSK2"><TLG A="TLG00001"/><TLG A="TLG00007"/>)"
                                R"(<TLG A="../TLG00001"/></TSK>)"));
  const TaskData data = read_task_data(file);
  EXPECT_EQ(data.logs.size(), 1U);
  EXPECT_TRUE(has(data.doubts, "log_named_twice"));
  EXPECT_TRUE(has(data.doubts, "log_missing"));
  EXPECT_TRUE(has(data.doubts, "file_name_refused"));
}

TEST(TaskData, DoesNotFollowALinkOutOfTheFolder) {
  const FileRef file = folder_with(log_header_xml({"0057", "0063"}), "");
  const fs::path outside = put(fresh_folder() / "outside.bin", bytes_of_log(three_records));
  const fs::path folder = fresh_folder().parent_path() / "linked";
  fs::remove_all(folder);
  put(folder / "TASKDATA.XML", task_data_xml());
  put(folder / "TLG00001.XML", log_header_xml({"0057", "0063"}));
  put(folder.parent_path() / "outside.bin", bytes_of_log(three_records));
  fs::create_symlink(folder.parent_path() / "outside.bin", folder / "TLG00001.BIN");
  const TaskData data = read_task_data({folder, "", "crop/task"});
  EXPECT_TRUE(data.logs.empty());
  EXPECT_TRUE(has(data.doubts, "log_missing"));
}

TEST(TaskData, RefusesHeadersWithoutTimeOrPlace) {
  EXPECT_EQ(code_of(folder_with("<TIX/>", "")), "bad_log_header");
  EXPECT_EQ(code_of(folder_with(R"(<TIM A=""/>)", "")), "bad_log_header");
  EXPECT_EQ(code_of(folder_with(R"(<TIM A=""><PTN A=""/></TIM>)", "")), "bad_log_header");
  EXPECT_EQ(code_of(folder_with(R"(<TIM A=""><PTN A="" B="x"/></TIM>)", "")), "bad_log_header");
  EXPECT_EQ(code_of(folder_with(R"(<TIM A=""><PTN A="" B="" D="1e30"/></TIM>)", "")),
            "bad_log_header");
  EXPECT_EQ(code_of(folder_with(R"(<TIM A=""><PTN A="" B=""/><DLV A="zz"/></TIM>)", "")),
            "bad_log_header");
}

TEST(TaskData, RefusesHostileXml) {
  const std::string good = log_header_xml({"0057", "0063"});
  const std::string log = bytes_of_log(three_records);
  EXPECT_EQ(code_of(folder_with(good, log,
                                "<!DOCTYPE ISO11783_TaskData [<!ENTITY a \"b\">]>"
                                "<ISO11783_TaskData/>")),
            "document_type");
  EXPECT_EQ(code_of(folder_with("<!DOCTYPE TIM>" + good.substr(good.find("<TIM")), log)),
            "document_type");
  EXPECT_EQ(code_of(folder_with(good, log, "<ISO11783_TaskData><TSK></ISO11783_TaskData>")),
            "unreadable_xml");
  EXPECT_EQ(code_of(folder_with(good, log, "")), "unreadable_xml");
  EXPECT_EQ(code_of(folder_with(good, log, "<html/>")), "not_task_data");
  std::string deep;
  for (int i = 0; i < 100'000; ++i) deep += "<a>";
  std::string deep_closed = deep;
  for (int i = 0; i < 100'000; ++i) deep_closed += "</a>";
  EXPECT_EQ(code_of(folder_with(good, log, deep_closed)), "too_deep");
  std::string wide = "<ISO11783_TaskData>";
  for (int i = 0; i < 2'000'001; ++i) wide += "<a/>";
  EXPECT_EQ(code_of(folder_with(good, log, wide + "</ISO11783_TaskData>")), "too_large");
}

TEST(TaskData, SurvivesBytesThatAreNoLog) {
  // Every log is some sequence of bytes; whatever they are, reading ends with records or a doubt.
  std::string noise;
  std::uint32_t state = 12'345;
  for (int i = 0; i < 5'000; ++i) {
    state = state * 1'664'525U + 1'013'904'223U;
    noise += static_cast<char>(state >> 24U);
  }
  for (std::size_t begin = 0; begin < 200; ++begin) {
    const TaskData data =
        read_task_data(folder_with(log_header_xml({"0057", "0063"}), noise.substr(begin)));
    ASSERT_EQ(data.logs.size(), 1U);
    EXPECT_LE(data.logs[0].records(), noise.size() / 16);
    EXPECT_FALSE(data.doubts.empty());
  }
}

}  // namespace
}  // namespace evendrip
