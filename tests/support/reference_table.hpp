// SPDX-License-Identifier: Apache-2.0
// Rows of a table in tests/reference/: cells parted by '|', lines that begin with '#' are its
// source and tolerance.
#pragma once

#include <fstream>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace evendrip::test {

inline std::vector<std::string> reference_cells(const std::string& row) {
  std::vector<std::string> cells;
  std::istringstream stream(row);
  for (std::string cell; std::getline(stream, cell, '|');) {
    const auto first = cell.find_first_not_of(' ');
    cells.push_back(first == std::string::npos
                        ? ""
                        : cell.substr(first, cell.find_last_not_of(' ') - first + 1));
  }
  return cells;
}

/// Throws std::runtime_error if the table is missing or empty.
inline std::vector<std::vector<std::string>> reference_table(const std::string& name) {
  std::ifstream file(EVENDRIP_TEST_DATA "/reference/" + name);
  std::vector<std::vector<std::string>> rows;
  for (std::string row; std::getline(file, row);)
    if (!row.empty() && row.front() != '#') rows.push_back(reference_cells(row));
  if (rows.empty()) throw std::runtime_error("no rows in tests/reference/" + name);
  return rows;
}

}  // namespace evendrip::test
