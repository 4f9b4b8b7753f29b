// SPDX-License-Identifier: Apache-2.0
// A set of task data written by hand: XML and binary records of ISO 11783-10, byte for byte.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

namespace evendrip::test {

/// Little-endian bytes of a number.
template <typename Number>
std::string little_endian(Number value) {
  std::string bytes;
  for (std::size_t i = 0; i < sizeof(Number); ++i) {
    bytes += static_cast<char>((static_cast<std::uint64_t>(value) >> (8 * i)) & 0xFFU);
  }
  return bytes;
}

/// A record as the header below describes it: time, place, status, values by index.
struct LogRecord {
  std::uint32_t ms = 0;
  std::uint16_t days = 0;
  std::int32_t north = 0;  ///< 1e-7 degrees
  std::int32_t east = 0;
  std::uint8_t status = 4;
  std::vector<std::pair<std::uint8_t, std::int32_t>> values;

  std::string bytes() const {
    std::string all = little_endian(ms) + little_endian(days) + little_endian(north) +
                      little_endian(east) + little_endian(status) +
                      little_endian(static_cast<std::uint8_t>(values.size()));
    for (const auto& [index, value] : values) all += little_endian(index) + little_endian(value);
    return all;
  }
};

inline std::string bytes_of_log(const std::vector<LogRecord>& records) {
  std::string bytes;
  for (const LogRecord& record : records) bytes += record.bytes();
  return bytes;
}

/// Header of records with place and status, and values of these identifiers at element DET-1.
inline std::string log_header_xml(const std::vector<std::string>& ddis) {
  std::string xml = R"(<?xml version="1.0" encoding="UTF-8"?>
<TIM A="" D="4"><PTN A="" B="" D=""/>)";
  for (const std::string& ddi : ddis) xml += "<DLV A=\"" + ddi + R"(" B="" C="DET-1"/>)";
  return xml + "</TIM>\n";
}

/// One harvester, one task, one log; yield by time is described as "flow".
inline std::string task_data_xml(const std::string& extra = "") {
  return R"(<?xml version="1.0" encoding="UTF-8"?>
<ISO11783_TaskData VersionMajor="4" VersionMinor="2" DataTransferOrigin="2">
<DVC A="DVC-1" B="Bittern 4" D="A00A84000DE00DEF" F="31" G="FF">
<DET A="DET-1" B="1" C="2" D="header" E="0" F="0"><DOR A="10"/><DOR A="11"/></DET>
<DPD A="10" B="0057" C="1" D="1" E="flow"/><DPD A="11" B="0063" C="1" D="1" E="water"/>
</DVC>
<TSK A="TSK1" B="Curlew Bottom, maize" G="4"><TLG A="TLG00001" C="1"/></TSK>
)" + extra +
         "</ISO11783_TaskData>\n";
}

}  // namespace evendrip::test
