// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/paths.hpp"

#include <algorithm>
#include <array>
#include <cstdio>
#include <memory>
#include <system_error>

#include <glib.h>

#include "evendrip/base/error.hpp"
#include "text_file.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;

InputError leaves_folder(const std::string& as_written, const std::string& needed_for,
                         const std::string& why) {
  return InputError(Doubt{"path_leaves_folder",
                          Severity::problem,
                          {as_written, "", 0, ""},
                          why + "; " + needed_for + " names it",
                          as_written,
                          "a relative path inside the field folder",
                          "Copy the file into the field folder and name it from there"});
}

/// Names in the folder of a missing file, to say what was perhaps meant.
std::string name_perhaps_meant(const fs::path& missing) {
  std::vector<std::string> names;
  std::error_code failed;
  for (fs::directory_iterator entry(missing.parent_path(), failed), end; !failed && entry != end;
       entry.increment(failed))
    names.push_back(entry->path().filename().string());
  std::sort(names.begin(), names.end());
  const std::string wanted = missing.filename().string();
  for (const std::string& name : names)
    if (lower_case(name) == lower_case(wanted)) return name;
  return nearest_word(wanted, names);
}

InputError missing(const fs::path& path, const std::string& as_written,
                   const std::string& needed_for) {
  std::string remedy = "Put the file there or correct the name in field.toml";
  const std::string meant = name_perhaps_meant(path);
  if (!meant.empty()) remedy += "; there is a file \"" + meant + "\"";
  return InputError(Doubt{"missing_file",
                          Severity::problem,
                          {as_written, "", 0, ""},
                          "there is no such file; " + needed_for + " names it",
                          "",
                          "",
                          remedy});
}

bool inside(const fs::path& folder, const fs::path& path) {
  const auto [end, rest] = std::mismatch(folder.begin(), folder.end(), path.begin(), path.end());
  (void)rest;
  return end == folder.end();
}

}  // namespace

FileRef resolve(const fs::path& folder, const std::string& as_written,
                const std::string& needed_for, Named named) {
  const std::size_t bar = as_written.rfind('|');
  const std::string name{trimmed(as_written.substr(0, bar))};
  FileRef ref;
  ref.as_written = as_written;
  if (bar != std::string::npos) ref.layer = trimmed(std::string_view(as_written).substr(bar + 1));

  const fs::path relative(name);
  if (name.empty() || name.find('\0') != std::string::npos)
    throw leaves_folder(as_written, needed_for, "the text is no file name");
  if (relative.is_absolute())
    throw leaves_folder(as_written, needed_for, "an absolute path is not followed");
  if (std::find(relative.begin(), relative.end(), fs::path("..")) != relative.end())
    throw leaves_folder(as_written, needed_for, "a path with \"..\" is not followed");

  std::error_code failed;
  const fs::path root = fs::weakly_canonical(fs::absolute(folder), failed);
  const fs::path resolved = fs::weakly_canonical(root / relative, failed);
  if (failed) throw missing(root / relative, as_written, needed_for);
  if (!inside(root, resolved))
    throw leaves_folder(as_written, needed_for, "a link leads out of the field folder");
  if (!fs::exists(resolved, failed)) throw missing(resolved, as_written, needed_for);
  const bool fits = fs::is_regular_file(resolved, failed) ||
                    (named == Named::file_or_folder && fs::is_directory(resolved, failed));
  if (!fits)
    throw InputError(Doubt{"not_a_file",
                           Severity::problem,
                           {as_written, "", 0, ""},
                           "this is not a plain file; " + needed_for + " names it",
                           "",
                           "a file",
                           "Name the file itself in field.toml"});
  ref.path = resolved;
  return ref;
}

const std::vector<std::string>& allowed_vector_drivers() {
  static const std::vector<std::string> drivers{
      "GeoJSON", "GPKG", "ESRI Shapefile", "FlatGeobuf", "GML", "LIBKML", "KML", "GPX", "CSV"};
  return drivers;
}

const std::vector<std::string>& allowed_raster_drivers() {
  static const std::vector<std::string> drivers{"GTiff",       "GPKG",    "AAIGrid", "PNG", "JPEG",
                                                "JP2OpenJPEG", "SRTMHGT", "USGSDEM", "XYZ", "ENVI"};
  return drivers;
}

std::string sha256_of(const fs::path& file) {
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> stream(std::fopen(file.c_str(), "rb"),
                                                               &std::fclose);
  const auto fail = [&file] {
    return FileError("not_readable", file.filename().string(), "the file cannot be read",
                     "Check that it exists and that you may read it");
  };
  if (!stream) throw fail();
  const std::unique_ptr<GChecksum, void (*)(GChecksum*)> sum(g_checksum_new(G_CHECKSUM_SHA256),
                                                             &g_checksum_free);
  std::vector<unsigned char> block(1U << 20U);
  while (true) {
    const std::size_t count = std::fread(block.data(), 1, block.size(), stream.get());
    if (count == 0) break;
    g_checksum_update(sum.get(), block.data(), static_cast<gssize>(count));
  }
  if (std::ferror(stream.get()) != 0) throw fail();
  return g_checksum_get_string(sum.get());
}

}  // namespace evendrip
