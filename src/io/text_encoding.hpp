// SPDX-License-Identifier: Apache-2.0
// Bytes of a text file to UTF-8.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "evendrip/base/error.hpp"

namespace evendrip {

/// Length of the well-formed UTF-8 sequence at the start of `text` (RFC 3629), 0 if there is none.
std::size_t utf8_length(std::string_view text);

/// Text as UTF-8 without byte order mark. Bytes that are no UTF-8 are read as Latin-1 (ISO 8859-1)
/// and told in `doubts` once, with their number and the first line that has one. Throws InputError
/// "binary_file" for bytes that no text holds and "utf16_file" for UTF-16.
std::string as_utf8(std::string bytes, const std::string& file, Doubts& doubts);

/// At most 40 bytes of a value, cut between characters, for messages.
std::string shortened(std::string_view value);

}  // namespace evendrip
