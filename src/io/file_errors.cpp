// SPDX-License-Identifier: Apache-2.0
#include "file_errors.hpp"

namespace evendrip {

FileError not_written(const std::filesystem::path& file, const std::string& cause) {
  return {"not_written", file.filename().string(), "the file cannot be written: " + cause,
          "Check the free space and whether you may write there"};
}

std::string xml_escaped(std::string_view text) {
  std::string escaped;
  escaped.reserve(text.size());
  for (const char c : text) {
    switch (c) {
      case '&':
        escaped += "&amp;";
        break;
      case '<':
        escaped += "&lt;";
        break;
      case '>':
        escaped += "&gt;";
        break;
      case '"':
        escaped += "&quot;";
        break;
      default:
        if (static_cast<unsigned char>(c) >= 0x20 || c == '\n' || c == '\t') escaped += c;
    }
  }
  return escaped;
}

}  // namespace evendrip
