// SPDX-License-Identifier: Apache-2.0
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <csignal>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evendrip/io/results.hpp"
#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::bytes_of;
using test::code_of;
using test::fresh_folder;
using test::problems_of;
using test::put;
using ::testing::HasSubstr;

void write_result(const fs::path& folder, const std::string& text) {
  put(folder / "evendrip-results.json", "{}");
  put(folder / "map.txt", text);
  put(folder / "sub" / "sheet.txt", text);
}

void commit_result(const fs::path& target, const std::string& text) {
  ResultFolder folder(target);
  write_result(folder.path(), text);
  folder.commit();
}

std::size_t entries_in(const fs::path& folder) {
  return static_cast<std::size_t>(
      std::distance(fs::directory_iterator(folder), fs::directory_iterator()));
}

TEST(ResultFolder, AppearsAtCommitAndNotBefore) {
  const fs::path top = fresh_folder();
  {
    ResultFolder folder(top / "out");
    write_result(folder.path(), "x");
    EXPECT_FALSE(fs::exists(top / "out"));
    EXPECT_EQ(folder.path().parent_path(), fs::canonical(top));
    EXPECT_EQ(folder.path().filename().string().front(), '.');
    folder.commit();
    EXPECT_EQ(bytes_of(top / "out" / "sub" / "sheet.txt"), "x");
  }
  EXPECT_TRUE(fs::exists(top / "out"));
  EXPECT_EQ(entries_in(top), 1U);
}

TEST(ResultFolder, ThatIsNotCommittedLeavesNothingAndKeepsTheEarlierResult) {
  const fs::path top = fresh_folder();
  commit_result(top / "out", "first");
  {
    ResultFolder folder(top / "out");
    write_result(folder.path(), "second");
  }
  EXPECT_EQ(bytes_of(top / "out" / "map.txt"), "first");
  EXPECT_EQ(entries_in(top), 1U);
}

TEST(ResultFolder, ReplacesAnEarlierResultWhole) {
  const fs::path top = fresh_folder();
  {
    ResultFolder folder(top / "out/");
    write_result(folder.path(), "first");
    put(folder.path() / "only_before.txt", "x");
    folder.commit();
  }
  commit_result(top / "out", "second");
  EXPECT_EQ(bytes_of(top / "out" / "map.txt"), "second");
  EXPECT_FALSE(fs::exists(top / "out" / "only_before.txt"));
  EXPECT_EQ(entries_in(top), 1U);
}

TEST(ResultFolder, TakesAnEmptyFolderAndMakesParents) {
  const fs::path top = fresh_folder();
  fs::create_directory(top / "empty");
  commit_result(top / "empty", "x");
  commit_result(top / "a" / "b" / "out", "x");
  EXPECT_TRUE(fs::exists(top / "empty" / "map.txt"));
  EXPECT_TRUE(fs::exists(top / "a" / "b" / "out" / "map.txt"));
}

TEST(ResultFolder, RefusesWhatIsNotOurs) {
  const fs::path top = fresh_folder();
  put(top / "photos" / "well.jpg", "x");
  put(top / "file", "x");
  EXPECT_EQ(code_of<FileError>([&] { ResultFolder(top / "photos"); }), "folder_not_ours");
  EXPECT_EQ(code_of<FileError>([&] { ResultFolder(top / "file"); }), "folder_not_ours");
  EXPECT_EQ(bytes_of(top / "photos" / "well.jpg"), "x");
  EXPECT_EQ(entries_in(top), 2U);
}

TEST(ResultFolder, RefusesAResultIntoWhichSomebodyPutAFile) {
  const fs::path top = fresh_folder();
  commit_result(top / "out", "first");
  put(top / "out" / "my notes.txt", "keep");
  const Doubts problems = problems_of<FileError>([&] { ResultFolder(top / "out"); });
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "folder_not_ours");
  EXPECT_THAT(problems[0].text, HasSubstr("my notes.txt"));
  EXPECT_EQ(bytes_of(top / "out" / "my notes.txt"), "keep");
}

TEST(ResultFolder, ForgivesSideFilesThatViewersLeave) {
  const fs::path top = fresh_folder();
  commit_result(top / "out", "first");
  put(top / "out" / "map.txt-wal", "x");
  put(top / "out" / "map.txt.aux.xml", "x");
  commit_result(top / "out", "second");
  EXPECT_EQ(bytes_of(top / "out" / "map.txt"), "second");
}

TEST(ResultFolder, RefusesAFolderThatBecameForeignDuringTheRun) {
  const fs::path top = fresh_folder();
  ResultFolder folder(top / "out");
  write_result(folder.path(), "x");
  put(top / "out" / "notes.txt", "keep");
  EXPECT_EQ(code_of<FileError>([&] { folder.commit(); }), "folder_not_ours");
  EXPECT_EQ(bytes_of(top / "out" / "notes.txt"), "keep");
}

TEST(ResultFolder, FollowsALinkAndReplacesWhatItPointsTo) {
  const fs::path top = fresh_folder();
  commit_result(top / "real", "first");
  fs::create_directory_symlink(top / "real", top / "link");
  commit_result(top / "link", "second");
  EXPECT_TRUE(fs::is_symlink(top / "link"));
  EXPECT_EQ(bytes_of(top / "real" / "map.txt"), "second");
}

TEST(ResultFolder, OfAKilledRunIsRemovedByTheNextRunAndThatOfALivingRunIsNot) {
  const fs::path top = fresh_folder();
  const pid_t child = ::fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    ResultFolder folder(top / "out");
    write_result(folder.path(), "x");
    ::raise(SIGKILL);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  ASSERT_EQ(entries_in(top), 1U);
  const ResultFolder living(top / "out");
  EXPECT_EQ(entries_in(top), 1U);
  const ResultFolder second(top / "out");
  EXPECT_EQ(entries_in(top), 2U);
  EXPECT_TRUE(fs::exists(living.path()));
}

TEST(ResultFolder, OfRunsAtTheSameTimeIsAlwaysThereAndNeverMixed) {
  const fs::path top = fresh_folder();
  const fs::path target = top / "out";
  commit_result(target, "start");
  // The children are made before there is a second thread, and wait for it: a fork beside a thread
  // may copy a lock that nobody in the child will release.
  std::array<int, 2> gate{};
  ASSERT_EQ(::pipe(gate.data()), 0);
  std::vector<pid_t> children;
  for (const std::string text : {"left", "right"}) {
    const pid_t child = ::fork();
    if (child == 0) {
      ::close(gate[1]);
      char opened = 0;
      if (::read(gate[0], &opened, 1) != 0) ::_exit(2);
      try {
        for (int i = 0; i < 20; ++i) commit_result(target, text);
      } catch (const Error&) {
        ::_exit(1);
      }
      ::_exit(0);
    }
    children.push_back(child);
  }
  std::atomic<bool> stop{false};
  std::atomic<int> missing{0};
  std::thread watcher([&] {
    while (!stop)
      if (!fs::exists(target / "map.txt")) ++missing;
  });
  ::close(gate[0]);
  ::close(gate[1]);
  for (const pid_t child : children) {
    int status = 0;
    ::waitpid(child, &status, 0);
    EXPECT_EQ(status, 0);
  }
  stop = true;
  watcher.join();
  EXPECT_EQ(missing, 0);
  EXPECT_EQ(bytes_of(target / "map.txt"), bytes_of(target / "sub" / "sheet.txt"));
  EXPECT_EQ(entries_in(top), 1U);
}

TEST(ResultFolder, InAPlaceThatCannotBeWrittenIsAFileErrorWithARemedy) {
  const fs::path top = fresh_folder();
  fs::create_directory(top / "read_only");
  fs::permissions(top / "read_only", fs::perms::owner_read | fs::perms::owner_exec |
                                         fs::perms::others_read | fs::perms::others_exec);
  const pid_t child = ::fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    // Permissions do not bind the superuser.
    if (::geteuid() == 0 && ::seteuid(65534) != 0) ::_exit(2);
    const Doubts problems =
        problems_of<FileError>([&] { ResultFolder(top / "read_only" / "out"); });
    const bool good = problems.size() == 1 && problems[0].code == "folder_not_writable" &&
                      !problems[0].remedy.empty();
    ::_exit(good ? 0 : 1);
  }
  int status = 0;
  ::waitpid(child, &status, 0);
  EXPECT_EQ(status, 0);
}

}  // namespace
}  // namespace evendrip
