// SPDX-License-Identifier: Apache-2.0
#include "text_file.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <system_error>
#include <vector>

#include "evendrip/base/error.hpp"

namespace evendrip {

std::string read_bytes(const std::filesystem::path& file, const std::string& as_written) {
  std::ifstream stream(file, std::ios::binary);
  const auto fail = [&] {
    const std::string cause = errno != 0 ? std::strerror(errno) : "unknown cause";
    return FileError("not_readable", as_written, "the file cannot be read: " + cause,
                     "Check that it exists and that you may read it");
  };
  if (!stream || std::filesystem::is_directory(file)) throw fail();
  std::string bytes;
  std::error_code unknown;
  const std::uintmax_t size = std::filesystem::file_size(file, unknown);
  if (!unknown) bytes.reserve(static_cast<std::size_t>(size) + 1);
  std::vector<char> part(1U << 16U);
  while (stream) {
    stream.read(part.data(), static_cast<std::streamsize>(part.size()));
    bytes.append(part.data(), static_cast<std::size_t>(stream.gcount()));
  }
  if (stream.bad()) throw fail();
  return bytes;
}

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view no_break_space = "\xC2\xA0";
  constexpr std::string_view blanks = " \t\r\n\v\f";
  while (!text.empty()) {
    if (blanks.find(text.front()) != std::string_view::npos) {
      text.remove_prefix(1);
    } else if (text.starts_with(no_break_space)) {
      text.remove_prefix(2);
    } else if (blanks.find(text.back()) != std::string_view::npos) {
      text.remove_suffix(1);
    } else if (text.ends_with(no_break_space)) {
      text.remove_suffix(2);
    } else {
      break;
    }
  }
  return text;
}

std::string lower_case(std::string_view text) {
  std::string lower(text);
  std::transform(lower.begin(), lower.end(), lower.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return lower;
}

std::size_t edits_between(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before_last(b.size() + 1);
  std::vector<std::size_t> last(b.size() + 1);
  std::vector<std::size_t> now(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) last[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    now[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t change = a[i - 1] == b[j - 1] ? 0 : 1;
      now[j] = std::min({last[j] + 1, now[j - 1] + 1, last[j - 1] + change});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
        now[j] = std::min(now[j], before_last[j - 2] + 1);
    }
    before_last.swap(last);
    last.swap(now);
  }
  return last[b.size()];
}

std::string nearest_word(std::string_view word, const std::vector<std::string>& candidates) {
  std::string nearest;
  std::size_t fewest = std::max<std::size_t>(1, word.size() / 3) + 1;
  for (const std::string& candidate : candidates) {
    const std::size_t edits = edits_between(word, candidate);
    if (edits < fewest) {
      fewest = edits;
      nearest = candidate;
    }
  }
  return nearest;
}

std::string listed(const std::vector<std::string>& words) {
  std::string text;
  for (const std::string& word : words) {
    if (!text.empty()) text += ", ";
    text += word;
  }
  return text;
}

}  // namespace evendrip
