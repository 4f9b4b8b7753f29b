// SPDX-License-Identifier: Apache-2.0
// The files of a task data set: of a folder, or of a zip through GDAL's reader of archives.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/io/paths.hpp"

namespace evendrip {

/// The folder, on disk or in the zip, in which TASKDATA.XML stands, and the plain files in it.
/// Names are looked up in that list alone, so that no name leads elsewhere.
class TaskDataFiles {
 public:
  /// Nothing if there is no TASKDATA.XML. Throws InputError for a zip that cannot be read, is too
  /// large or holds several sets.
  static std::optional<TaskDataFiles> open(const FileRef& file);

  /// Bytes of a file, whatever the letter case of its name; nothing if there is none. Throws
  /// InputError "too_large" beyond `most_bytes`, whatever size the zip declares; FileError.
  std::optional<std::string> read(const std::string& name, std::size_t most_bytes) const;

  /// A file as messages name it: "log.zip, TLG00001.BIN".
  std::string for_messages(const std::string& name) const;

 private:
  std::string as_written_;
  std::string prefix_;  ///< path of the folder for GDAL's file functions
  std::vector<std::string> names_;
};

}  // namespace evendrip
