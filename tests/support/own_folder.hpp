// SPDX-License-Identifier: Apache-2.0
// Folders for what tests write. Tests run beside each other, each in a process of its own, so no
// two may write to the same place. Their names differ over all programs, as CTest asks too.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <string>

namespace evendrip::test {

/// The folder of the running test alone; made if it is not there. Throws std::filesystem errors.
inline std::filesystem::path own_folder() {
  const auto* test = ::testing::UnitTest::GetInstance()->current_test_info();
  const std::filesystem::path folder =
      std::filesystem::path(EVENDRIP_TEST_OUTPUT) / test->test_suite_name() / test->name();
  std::filesystem::create_directories(folder);
  return folder;
}

/// A folder in it, made anew and empty.
inline std::filesystem::path fresh_folder(const std::string& name = "fresh") {
  const std::filesystem::path folder = own_folder() / name;
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder);
  return folder;
}

}  // namespace evendrip::test
