// SPDX-License-Identifier: Apache-2.0
// Small helpers on text that several readers of this room share.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace evendrip {

/// Every byte of a file. Throws FileError "not_readable".
std::string read_bytes(const std::filesystem::path& file, const std::string& as_written);

/// Without blanks, tabs, line ends and no-break spaces (UTF-8) at both ends.
std::string_view trimmed(std::string_view text);
/// Letters A-Z made small; everything else as it is.
std::string lower_case(std::string_view text);

/// Number of letters to add, drop, change or swap with the next one to turn `a` into `b`
/// (restricted Damerau-Levenshtein distance).
std::size_t edits_between(std::string_view a, std::string_view b);
/// The candidate nearest to `word`; empty if none is near (more than a third of the letters
/// differ).
std::string nearest_word(std::string_view word, const std::vector<std::string>& candidates);

/// "a, b, c"
std::string listed(const std::vector<std::string>& words);

}  // namespace evendrip
