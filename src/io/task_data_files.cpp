// SPDX-License-Identifier: Apache-2.0
#include "task_data_files.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <memory>
#include <string_view>
#include <system_error>
#include <utility>

#include <cpl_conv.h>
#include <cpl_string.h>
#include <cpl_vsi.h>
#include <fmt/format.h>

#include "evendrip/base/error.hpp"
#include "gdal_session.hpp"
#include "text_file.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view main_file = "taskdata.xml";
constexpr std::uintmax_t most_zip_bytes = std::uintmax_t{1} << 30U;
constexpr std::size_t most_zip_files = 10'000;

InputError zip_problem(const FileRef& file, std::string code, std::string text,
                       std::string expected, std::string remedy) {
  return InputError(Doubt{std::move(code),
                          Severity::problem,
                          {file.as_written, "", 0, ""},
                          std::move(text),
                          "",
                          std::move(expected),
                          std::move(remedy)});
}

/// A little-endian number.
std::uint64_t number_at(const std::string& bytes, std::size_t at, std::size_t size) {
  std::uint64_t value = 0;
  for (std::size_t i = size; i-- > 0;)
    value = value << 8U | static_cast<unsigned char>(bytes[at + i]);
  return value;
}

/// Number of files by the closing record of a large zip (PKWARE APPNOTE 4.3.14, from memory), to
/// which its locator points.
std::uint64_t files_of_large_zip(const FileRef& file, std::uint64_t at, std::uintmax_t size) {
  constexpr std::size_t record_bytes = 56;
  std::string record(record_bytes, '\0');
  std::ifstream stream(file.path, std::ios::binary);
  const bool inside = size >= record_bytes && at <= size - record_bytes;
  if (inside) {
    stream.seekg(static_cast<std::streamoff>(at));
    stream.read(record.data(), static_cast<std::streamsize>(record_bytes));
  }
  if (!inside || !stream || !record.starts_with("PK\x06\x06")) {
    throw zip_problem(file, "unreadable_zip", "the directory of the zip is not where it says",
                      "a whole zip", "Copy or export it again");
  }
  return number_at(record, 32, 8);
}

/// The end of a zip: the record that closes its directory and what stands before it.
std::string end_of(const FileRef& file, std::uintmax_t size) {
  constexpr std::uintmax_t most = 22 + 65'535 + 20;  // record, comment, locator of large zips
  const std::uintmax_t bytes = std::min(size, most);
  std::string end(static_cast<std::size_t>(bytes), '\0');
  std::ifstream stream(file.path, std::ios::binary);
  stream.seekg(static_cast<std::streamoff>(size - bytes));
  stream.read(end.data(), static_cast<std::streamsize>(bytes));
  if (!stream) {
    throw FileError("not_readable", file.as_written, "the zip cannot be read",
                    "Check that you may read it");
  }
  return end;
}

/// Refuses what would make the archive's reader work without bounds.
void judge_zip(const FileRef& file) {
  std::error_code failed;
  const std::uintmax_t size = fs::file_size(file.path, failed);
  if (failed || size < 22) {
    throw zip_problem(file, "unreadable_zip", "the file is no whole zip", "a zip of task data",
                      "Export the task data again");
  }
  if (size > most_zip_bytes) {
    throw zip_problem(file, "too_large", "the zip is too large", "at most 1 GiB",
                      "Unpack it and name the folder instead");
  }
  const std::string end = end_of(file, size);
  const std::size_t at = end.rfind("PK\x05\x06");
  if (at == std::string::npos || at + 22 > end.size()) {
    throw zip_problem(file, "unreadable_zip", "the zip has no directory: it was cut off",
                      "a whole zip", "Copy or export it again");
  }
  std::uint64_t files = number_at(end, at + 10, 2);
  const std::size_t locator = end.rfind("PK\x06\x07", at);
  if (locator != std::string::npos && locator + 20 == at)
    files = files_of_large_zip(file, number_at(end, locator + 8, 8), size);
  if (files > most_zip_files) {
    throw zip_problem(file, "too_large", "the zip holds too many files",
                      fmt::format("at most {} files", most_zip_files),
                      "Unpack it and name the folder instead");
  }
}

bool leads_out(const std::string& name) {
  const fs::path path(name);
  return path.is_absolute() || name.find('\\') != std::string::npos ||
         std::find(path.begin(), path.end(), fs::path("..")) != path.end();
}

struct FreeList {
  void operator()(char** list) const { CSLDestroy(list); }
};

/// Names of the files in a zip, with their folders.
std::vector<std::string> names_in_zip(const std::string& root) {
  const GdalMessages messages;
  const std::unique_ptr<char*, FreeList> list(VSIReadDirRecursive(root.c_str()));
  std::vector<std::string> names;
  for (char** name = list.get(); name != nullptr && *name != nullptr; ++name) {
    if (!leads_out(*name) && !std::string_view(*name).ends_with('/')) names.emplace_back(*name);
  }
  std::sort(names.begin(), names.end());
  return names;
}

/// Plain files of a folder; links that leave it are left out.
std::vector<std::string> names_in_folder(const fs::path& folder) {
  std::vector<std::string> names;
  std::error_code failed;
  const fs::path root = fs::weakly_canonical(folder, failed);
  for (fs::directory_iterator entry(folder, failed), end; !failed && entry != end;
       entry.increment(failed)) {
    std::error_code unreadable;
    const fs::path real = fs::weakly_canonical(entry->path(), unreadable);
    if (unreadable || real.parent_path() != root || !fs::is_regular_file(real, unreadable))
      continue;
    names.push_back(entry->path().filename().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

bool has_main_file(const std::vector<std::string>& names) {
  return std::any_of(names.begin(), names.end(),
                     [](const std::string& name) { return lower_case(name) == main_file; });
}

/// A folder named "TASKDATA" in a folder, whatever its letter case.
fs::path inner_folder(const fs::path& folder) {
  std::error_code failed;
  for (fs::directory_iterator entry(folder, failed), end; !failed && entry != end;
       entry.increment(failed)) {
    if (lower_case(entry->path().filename().string()) == "taskdata" &&
        entry->symlink_status(failed).type() == fs::file_type::directory) {
      return entry->path();
    }
  }
  return {};
}

/// Folder in the zip, "" or "a/b/", that holds the only TASKDATA.XML of the least depth.
std::optional<std::string> folder_in_zip(const FileRef& file,
                                         const std::vector<std::string>& names) {
  std::optional<std::string> best;
  std::ptrdiff_t best_depth = 0;
  bool several = false;
  for (const std::string& name : names) {
    const std::size_t slash = name.rfind('/');
    const std::size_t begin = slash == std::string::npos ? 0 : slash + 1;
    if (lower_case(name.substr(begin)) != main_file) continue;
    const std::ptrdiff_t depth = std::count(name.begin(), name.end(), '/');
    if (best && depth >= best_depth) {
      several = several || depth == best_depth;
      continue;
    }
    best = name.substr(0, begin);
    best_depth = depth;
    several = false;
  }
  if (several) {
    throw zip_problem(file, "several_task_data", "the zip holds several TASKDATA.XML",
                      "one set of task data", "Give each its own zip and its own [[crop]]");
  }
  return best;
}

struct CloseFile {
  void operator()(VSILFILE* file) const { VSIFCloseL(file); }
};

}  // namespace

std::optional<TaskDataFiles> TaskDataFiles::open(const FileRef& file) {
  start_gdal();
  TaskDataFiles files;
  files.as_written_ = file.as_written;
  std::error_code failed;
  fs::path folder = file.path;
  if (lower_case(file.path.filename().string()) == main_file) folder = file.path.parent_path();
  if (fs::is_directory(folder, failed)) {
    files.names_ = names_in_folder(folder);
    if (!has_main_file(files.names_)) {
      folder = inner_folder(folder);
      files.names_ = folder.empty() ? std::vector<std::string>() : names_in_folder(folder);
    }
    if (!has_main_file(files.names_)) return std::nullopt;
    files.prefix_ = folder.string() + "/";
    return files;
  }
  if (lower_case(file.path.extension().string()) != ".zip") return std::nullopt;
  judge_zip(file);
  const std::string root = fmt::format("/vsizip/{{{}}}", file.path.string());
  const std::vector<std::string> names = names_in_zip(root);
  const std::optional<std::string> inner = folder_in_zip(file, names);
  if (!inner) return std::nullopt;
  for (const std::string& name : names) {
    if (!name.starts_with(*inner)) continue;
    std::string rest = name.substr(inner->size());
    if (rest.find('/') == std::string::npos) files.names_.push_back(std::move(rest));
  }
  files.prefix_ = root + "/" + *inner;
  return files;
}

std::string TaskDataFiles::for_messages(const std::string& name) const {
  const bool itself = lower_case(as_written_).ends_with(lower_case(name));
  return itself ? as_written_ : as_written_ + ", " + name;
}

std::optional<std::string> TaskDataFiles::read(const std::string& name,
                                               std::size_t most_bytes) const {
  auto found = std::find(names_.begin(), names_.end(), name);
  if (found == names_.end()) {
    found = std::find_if(names_.begin(), names_.end(), [&](const std::string& other) {
      return lower_case(other) == lower_case(name);
    });
  }
  if (found == names_.end()) return std::nullopt;
  const auto unreadable = [&](const std::string& cause) {
    return FileError("not_readable", for_messages(*found), "the file cannot be read: " + cause,
                     "Export the task data again");
  };
  const GdalMessages messages;
  const std::unique_ptr<VSILFILE, CloseFile> stream(VSIFOpenL((prefix_ + *found).c_str(), "rb"));
  if (!stream) throw unreadable(messages.text());
  std::string bytes;
  std::array<char, 1U << 16U> part{};
  while (const std::size_t got = VSIFReadL(part.data(), 1, part.size(), stream.get())) {
    if (bytes.size() + got > most_bytes) {
      throw InputError(Doubt{"too_large",
                             Severity::problem,
                             {for_messages(*found), "", 0, ""},
                             "the file is too large",
                             "",
                             fmt::format("at most {} MiB", most_bytes >> 20U),
                             "Check that it is a file of task data"});
    }
    bytes.append(part.data(), got);
  }
  if (messages.failed() && !prefix_.starts_with("/vsizip/")) throw unreadable(messages.text());
  if (messages.failed()) {
    throw InputError(Doubt{"unreadable_zip",
                           Severity::problem,
                           {for_messages(*found), "", 0, ""},
                           "the file cannot be read to its end: " + messages.text(),
                           "",
                           "a whole zip",
                           "It may be cut off or damaged: copy it or export the task data again"});
  }
  return bytes;
}

}  // namespace evendrip
