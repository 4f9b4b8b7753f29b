// SPDX-License-Identifier: Apache-2.0
#include "text_encoding.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace evendrip {
namespace {

unsigned byte_at(std::string_view text, std::size_t i) {
  return static_cast<unsigned char>(text[i]);
}

void refuse_binary(std::string_view bytes, const std::string& file) {
  if (bytes.starts_with("\xFF\xFE") || bytes.starts_with("\xFE\xFF"))
    throw InputError(Doubt{"utf16_file",
                           Severity::problem,
                           {file, "", 1, ""},
                           "the file is UTF-16 text",
                           "",
                           "UTF-8 text",
                           "Save it again as CSV UTF-8"});
  const bool known_binary = bytes.starts_with("PK\x03\x04") || bytes.starts_with("%PDF-") ||
                            bytes.starts_with("SQLite format 3") ||
                            bytes.starts_with("\xD0\xCF\x11\xE0");
  const std::size_t bad = bytes.find('\0');
  if (!known_binary && bad == std::string_view::npos) return;
  const auto line_of = [&](std::size_t at) {
    return static_cast<std::size_t>(
               std::count(bytes.begin(), bytes.begin() + static_cast<long>(at), '\n')) +
           1;
  };
  throw InputError(Doubt{"binary_file",
                         Severity::problem,
                         {file, "", known_binary ? 1 : line_of(bad), ""},
                         "the file is not text",
                         "",
                         "a table as text, separated by commas, semicolons or tabs",
                         "Export the table as CSV"});
}

}  // namespace

std::size_t utf8_length(std::string_view text) {
  if (text.empty()) return 0;
  const unsigned first = byte_at(text, 0);
  if (first < 0x80) return 1;
  const std::size_t length = first >= 0xC2 && first <= 0xDF   ? 2
                             : first >= 0xE0 && first <= 0xEF ? 3
                             : first >= 0xF0 && first <= 0xF4 ? 4
                                                              : 0;
  if (length == 0 || text.size() < length) return 0;
  for (std::size_t i = 1; i < length; ++i)
    if ((byte_at(text, i) & 0xC0U) != 0x80U) return 0;
  // Overlong forms, surrogates and what lies beyond U+10FFFF (RFC 3629 section 4).
  const unsigned second = byte_at(text, 1);
  if ((first == 0xE0 && second < 0xA0) || (first == 0xED && second > 0x9F) ||
      (first == 0xF0 && second < 0x90) || (first == 0xF4 && second > 0x8F))
    return 0;
  return length;
}

namespace {

bool is_utf8(std::string_view text) {
  for (std::size_t i = 0; i < text.size();) {
    if (byte_at(text, i) < 0x80) {
      ++i;
      continue;
    }
    const std::size_t length = utf8_length(text.substr(i, 4));
    if (length == 0) return false;
    i += length;
  }
  return true;
}

}  // namespace

std::string as_utf8(std::string bytes, const std::string& file, Doubts& doubts) {
  refuse_binary(bytes, file);
  if (bytes.starts_with("\xEF\xBB\xBF")) bytes.erase(0, 3);
  if (is_utf8(bytes)) return bytes;
  std::string text;
  text.reserve(bytes.size());
  std::size_t recoded = 0;
  std::size_t line = 1;
  std::size_t first_line = 0;
  const std::string_view view = bytes;
  for (std::size_t i = 0; i < view.size();) {
    const std::size_t length = utf8_length(view.substr(i, 4));
    if (length == 0) {
      const unsigned code = byte_at(view, i);
      text += static_cast<char>(0xC0U | (code >> 6U));
      text += static_cast<char>(0x80U | (code & 0x3FU));
      if (recoded++ == 0) first_line = line;
      ++i;
      continue;
    }
    if (view[i] == '\n' || (view[i] == '\r' && (i + 1 == view.size() || view[i + 1] != '\n')))
      ++line;
    text.append(view.substr(i, length));
    i += length;
  }
  if (recoded > 0)
    doubts.push_back({"latin1_text",
                      Severity::doubt,
                      {file, "", first_line, ""},
                      fmt::format("{} byte(s) are no UTF-8, here the first; they are read as "
                                  "Latin-1",
                                  recoded),
                      "",
                      "UTF-8 text",
                      "Check names with accents, or save the file as CSV UTF-8"});
  return text;
}

std::string shortened(std::string_view value) {
  constexpr std::size_t limit = 40;
  if (value.size() <= limit) return std::string(value);
  std::size_t end = 0;
  while (end < limit) {
    const std::size_t length = std::max<std::size_t>(1, utf8_length(value.substr(end, 4)));
    if (end + length > limit) break;
    end += length;
  }
  return std::string(value.substr(0, end)) + "...";
}

}  // namespace evendrip
