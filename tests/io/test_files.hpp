// SPDX-License-Identifier: Apache-2.0
// Files for the tests of this room, each test in a folder of its own.
#pragma once

#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <string>

#include "evendrip/base/error.hpp"

#include "own_folder.hpp"

namespace evendrip::test {

inline std::filesystem::path put(const std::filesystem::path& file, const std::string& bytes) {
  std::filesystem::create_directories(file.parent_path());
  std::ofstream(file, std::ios::binary) << bytes;
  return file;
}

inline std::string bytes_of(const std::filesystem::path& file) {
  std::ifstream stream(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(stream), std::istreambuf_iterator<char>()};
}

/// The problems that `action` throws; empty if it throws nothing.
template <typename Expected = InputError>
Doubts problems_of(const std::function<void()>& action) {
  try {
    action();
  } catch (const Expected& error) {
    return error.problems();
  }
  return {};
}

/// The code of the first problem thrown, "" if nothing is thrown.
template <typename Expected = InputError>
std::string code_of(const std::function<void()>& action) {
  const Doubts problems = problems_of<Expected>(action);
  return problems.empty() ? "" : problems.front().code;
}

}  // namespace evendrip::test
