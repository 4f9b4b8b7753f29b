// SPDX-License-Identifier: Apache-2.0
// Errors and escapes that the writers of this room share.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "evendrip/base/error.hpp"

namespace evendrip {

/// FileError "not_written" with the cause as the system tells it, without the folder's path.
FileError not_written(const std::filesystem::path& file, const std::string& cause);

/// A system's or a library's message with the names of files as their user knows them: `path` as it
/// was written, files beside it and below its folder without the folder before them.
std::string as_user_knows(std::string message, const std::filesystem::path& path,
                          std::string_view as_written);

/// Text for XML content and attributes; characters that XML 1.0 forbids are left out.
std::string xml_escaped(std::string_view text);

}  // namespace evendrip
