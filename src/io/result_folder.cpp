// SPDX-License-Identifier: Apache-2.0
// The result folder: made beside its place, locked while in the making, swapped in at once.
#include <fcntl.h>
#include <linux/fs.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <sstream>
#include <system_error>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/error.hpp"
#include "evendrip/io/results.hpp"
#include "file_errors.hpp"
#include "text_file.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;

constexpr const char* marker = "evendrip-results.json";
constexpr const char* contents = ".evendrip-contents";

FileError not_ours(const fs::path& target, const std::string& why) {
  return {"folder_not_ours", target.string(), why + "; it is not replaced",
          "Name another folder for the results, or move what is in this one"};
}

FileError not_writable(const fs::path& folder, const std::string& cause) {
  return {"folder_not_writable", folder.string(), "the folder cannot be written: " + cause,
          "Name a folder for the results in which you may write"};
}

/// Paths of all files below a folder, relative to it, sorted.
std::vector<std::string> files_below(const fs::path& folder) {
  std::vector<std::string> names;
  for (const fs::directory_entry& entry : fs::recursive_directory_iterator(folder))
    if (!entry.is_directory() || entry.is_symlink())
      names.push_back(fs::relative(entry.path(), folder).generic_string());
  std::sort(names.begin(), names.end());
  return names;
}

/// Files that viewers leave beside ours: write-ahead logs, statistics.
bool is_side_file(const std::string& name, const std::vector<std::string>& ours) {
  for (const std::string ending : {"-wal", "-shm", "-journal", ".aux.xml"})
    if (name.ends_with(ending) &&
        std::binary_search(ours.begin(), ours.end(), name.substr(0, name.size() - ending.size())))
      return true;
  return false;
}

/// Throws unless the target is free, an empty folder, or a result of ours and nothing else.
void check_replaceable(const fs::path& target) {
  const fs::file_status status = fs::symlink_status(target);
  if (!fs::exists(status)) return;
  if (!fs::is_directory(status)) throw not_ours(target, "there is a file of this name");
  if (fs::is_empty(target)) return;
  if (!fs::is_regular_file(target / marker))
    throw not_ours(target, "the folder holds files that are no result of evendrip");
  if (!fs::is_regular_file(target / contents)) return;
  std::vector<std::string> ours{contents};
  std::istringstream list(read_bytes(target / contents, contents));
  for (std::string line; std::getline(list, line);) ours.push_back(line);
  std::sort(ours.begin(), ours.end());
  for (const std::string& name : files_below(target))
    if (!std::binary_search(ours.begin(), ours.end(), name) && !is_side_file(name, ours))
      throw not_ours(target, fmt::format("somebody put \"{}\" into the folder", name));
}

/// The same while other runs may replace the target: what vanishes as it is read is read anew.
void check_replaceable_beside_others(const fs::path& target) {
  constexpr int attempts = 100;
  for (int attempt = 1;; ++attempt) {
    try {
      check_replaceable(target);
      return;
    } catch (const fs::filesystem_error& error) {
      const bool vanished = error.code() == std::errc::no_such_file_or_directory;
      if (!vanished || attempt == attempts) throw not_writable(target, error.code().message());
    }
  }
}

std::string working_prefix(const fs::path& target) {
  return "." + target.filename().string() + ".evendrip-";
}

/// Opens and locks a folder; -1 if another run holds it or it is gone.
int locked(const fs::path& folder) {
  const int descriptor = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (descriptor < 0) return -1;
  struct stat held {};
  struct stat named {};
  const bool good = ::flock(descriptor, LOCK_EX | LOCK_NB) == 0 &&
                    ::fstat(descriptor, &held) == 0 && ::stat(folder.c_str(), &named) == 0 &&
                    held.st_ino == named.st_ino && held.st_dev == named.st_dev;
  if (good) return descriptor;
  ::close(descriptor);
  return -1;
}

void remove_left_by_killed_runs(const fs::path& target) {
  std::error_code failed;
  std::vector<fs::path> found;
  const std::string prefix = working_prefix(target);
  for (fs::directory_iterator entry(target.parent_path(), failed), end; !failed && entry != end;
       entry.increment(failed))
    if (entry->path().filename().string().starts_with(prefix)) found.push_back(entry->path());
  for (const fs::path& folder : found) {
    const int lock = locked(folder);
    if (lock < 0) continue;
    fs::remove_all(folder, failed);
    ::close(lock);
  }
}

/// Makes every file safe on disk; a full disk may show only here.
void flush_to_disk(const fs::path& folder) {
  for (const std::string& name : files_below(folder)) {
    const int descriptor = ::open((folder / name).c_str(), O_RDONLY | O_CLOEXEC | O_NOFOLLOW);
    if (descriptor < 0) continue;
    const int failed = ::fsync(descriptor) == 0 ? 0 : errno;
    ::close(descriptor);
    if (failed != 0 && failed != EINVAL) throw not_written(folder / name, std::strerror(failed));
  }
}

enum class Swap { done, target_appeared, target_gone, unsupported };

/// One attempt to put the working folder in its place; an earlier result ends up at `working`.
Swap swap_in(const fs::path& working, const fs::path& target) {
  const bool replace = fs::exists(fs::symlink_status(target));
  const unsigned flags = replace ? RENAME_EXCHANGE : RENAME_NOREPLACE;
  if (::renameat2(AT_FDCWD, working.c_str(), AT_FDCWD, target.c_str(), flags) == 0)
    return Swap::done;
  if (errno == EEXIST) return Swap::target_appeared;
  if (replace && errno == ENOENT && fs::exists(working)) return Swap::target_gone;
  if (errno == EINVAL || errno == ENOSYS) return Swap::unsupported;
  throw not_writable(target, std::strerror(errno));
}

/// For file systems that cannot exchange two names: the earlier result steps aside, and back if the
/// new one cannot take its place.
void step_aside_and_in(const fs::path& working, const fs::path& target) {
  const fs::path aside = working.string() + "-earlier";
  std::error_code failed;
  const bool replace = fs::exists(target);
  if (replace) fs::rename(target, aside, failed);
  if (failed) throw not_writable(target, failed.message());
  fs::rename(working, target, failed);
  if (failed) {
    std::error_code ignored;
    if (replace) fs::rename(aside, target, ignored);
    throw not_writable(target, failed.message());
  }
  if (replace) fs::remove_all(aside, failed);
}

}  // namespace

ResultFolder::ResultFolder(const fs::path& target) {
  std::error_code failed;
  target_ = fs::weakly_canonical(fs::absolute(target), failed);
  if (failed || target_.empty()) target_ = fs::absolute(target).lexically_normal();
  if (!target_.has_filename()) target_ = target_.parent_path();
  check_replaceable_beside_others(target_);
  fs::create_directories(target_.parent_path(), failed);
  if (failed) throw not_writable(target_.parent_path(), failed.message());
  remove_left_by_killed_runs(target_);
  constexpr int attempts = 1000;
  for (int attempt = 0; attempt < attempts && lock_ < 0; ++attempt) {
    working_ = target_.parent_path() /
               fmt::format("{}{}-{}", working_prefix(target_), ::getpid(), attempt);
    if (::mkdir(working_.c_str(), 0777) == 0) {
      lock_ = locked(working_);
    } else if (errno != EEXIST) {
      throw not_writable(target_.parent_path(), std::strerror(errno));
    }
  }
  if (lock_ < 0) throw not_writable(target_.parent_path(), "no free name for a working folder");
}

ResultFolder::~ResultFolder() {
  std::error_code ignored;
  if (!working_.empty()) fs::remove_all(working_, ignored);
  if (lock_ >= 0) ::close(lock_);
}

void ResultFolder::commit() {
  std::string list;
  for (const std::string& name : files_below(working_)) list += name + "\n";
  write_text(working_ / contents, list);
  flush_to_disk(working_);
  constexpr int attempts = 100;
  for (int attempt = 0; attempt < attempts; ++attempt) {
    check_replaceable_beside_others(target_);
    const Swap swap = swap_in(working_, target_);
    if (swap == Swap::unsupported) step_aside_and_in(working_, target_);
    if (swap == Swap::target_appeared || swap == Swap::target_gone) continue;
    std::error_code ignored;
    fs::remove_all(working_, ignored);
    working_ = target_;
    break;
  }
  if (working_ != target_) throw not_writable(target_, "other runs replace it again and again");
  ::close(lock_);
  lock_ = -1;
  working_.clear();
}

}  // namespace evendrip
