// SPDX-License-Identifier: Apache-2.0
// The sections of field.toml that stand alone: surveys, crops, thresholds, analysis.
#pragma once

#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/io/toml.hpp"

namespace evendrip {

/// A file named in field.toml, resolved inside the folder; nothing, with a problem, if it is not
/// there or leads out of the folder.
std::optional<FileRef> named_file(TomlReader& reader, std::string_view key,
                                  const std::filesystem::path& folder, const std::string& section,
                                  Doubts& doubts, Named named = Named::file);

std::vector<SurveySource> surveys_from(TomlReader& root, const std::filesystem::path& folder,
                                       Doubts& doubts);

Thresholds thresholds_from(TomlReader& root, std::vector<std::string>& not_computed,
                           Doubts& doubts);
Analysis analysis_from(TomlReader& root, Doubts& doubts);

}  // namespace evendrip
