// SPDX-License-Identifier: Apache-2.0
#include "text_lines.hpp"

#include <algorithm>
#include <sstream>

namespace evendrip {

std::size_t shown_width(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

std::string padded(const std::string& text, std::size_t width) {
  const std::size_t shown = shown_width(text);
  return shown < width ? text + std::string(width - shown, ' ') : text;
}

std::vector<std::string> lines_of(const std::string& text, std::size_t width) {
  std::istringstream words(text);
  std::vector<std::string> lines;
  std::string line;
  for (std::string word; words >> word;) {
    if (!line.empty() && shown_width(line) + 1 + shown_width(word) > width) {
      lines.push_back(line);
      line.clear();
    }
    line += (line.empty() ? "" : " ") + word;
  }
  if (!line.empty() || lines.empty()) lines.push_back(line);
  return lines;
}

std::string wrapped(const std::string& first, const std::string& text) {
  const std::size_t lead_width = shown_width(first);
  std::string out;
  std::string lead = first;
  for (const std::string& line : lines_of(text, page_width - lead_width)) {
    out += lead + line + "\n";
    lead = std::string(lead_width, ' ');
  }
  return out;
}

std::string as_sentence(std::string text) {
  if (text.empty()) return text;
  const unsigned char first = static_cast<unsigned char>(text.front());
  if (first >= 'a' && first <= 'z') text.front() = static_cast<char>(first - 'a' + 'A');
  const char last = text.back();
  return last == '.' || last == '?' || last == '!' ? text : text + ".";
}

}  // namespace evendrip
