// SPDX-License-Identifier: Apache-2.0
// Names of files inside a field folder. Only relative paths that resolve inside the folder are
// followed, and only GDAL drivers of the allowed list are opened (no VRT, network or database).
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace evendrip {

/// A file named in field.toml: "file.gpkg|layer" names a layer.
struct FileRef {
  std::filesystem::path path;  ///< absolute
  std::string layer;           ///< empty: the only layer
  std::string as_written;      ///< for messages
};

/// Throws InputError "path_leaves_folder" (absolute, "..", or a link that leads outside) or
/// "missing_file" or "not_a_file". `needed_for` is told in the message, for example
/// "[layers] zones".
enum class Named { file, file_or_folder };
FileRef resolve(const std::filesystem::path& folder, const std::string& as_written,
                const std::string& needed_for, Named named = Named::file);

/// GDAL driver short names that may be opened.
const std::vector<std::string>& allowed_vector_drivers();
const std::vector<std::string>& allowed_raster_drivers();

/// SHA-256 of a file, 64 hexadecimal digits. Throws FileError.
std::string sha256_of(const std::filesystem::path& file);

}  // namespace evendrip
