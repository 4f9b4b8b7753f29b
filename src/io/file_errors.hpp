// SPDX-License-Identifier: Apache-2.0
// Errors and escapes that the writers of this room share.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "evendrip/base/error.hpp"

namespace evendrip {

/// FileError "not_written" with the cause as the system tells it.
FileError not_written(const std::filesystem::path& file, const std::string& cause);

/// Text for XML content and attributes; characters that XML 1.0 forbids are left out.
std::string xml_escaped(std::string_view text);

}  // namespace evendrip
