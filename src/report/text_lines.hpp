// SPDX-License-Identifier: Apache-2.0
// Text in lines for a terminal. Widths count letters, not bytes.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace evendrip {

inline constexpr std::size_t page_width = 96;

/// Letters of a text in UTF-8.
std::size_t shown_width(const std::string& text);

/// With blanks behind it up to the width.
std::string padded(const std::string& text, std::size_t width);

/// Words in lines no wider than `width`, but for a word that is; one empty line of no words.
std::vector<std::string> lines_of(const std::string& text, std::size_t width);

/// Words in lines of the page's width; `first` leads the first line, blanks of its length the rest.
std::string wrapped(const std::string& first, const std::string& text);

/// What another part says, as a sentence: it begins with a capital and ends with a full stop.
std::string as_sentence(std::string text);

}  // namespace evendrip
