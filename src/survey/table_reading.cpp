// SPDX-License-Identifier: Apache-2.0
#include "table_reading.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

namespace evendrip {

TableReading::TableReading(const FileRef& file,
                           const std::vector<std::pair<std::string, std::string>>& columns,
                           Doubts& doubts)
    : table_(read_csv(file.path, file.as_written, columns)), doubts_(doubts) {
  doubts_.insert(doubts_.end(), table_.doubts.begin(), table_.doubts.end());
}

Place TableReading::place(std::size_t row, std::string column) const {
  return {table_.file, "", table_.lines[row], std::move(column)};
}

std::vector<std::string> TableReading::texts(std::string_view heading) {
  asked_.emplace_back(heading);
  std::vector<std::string> cells(rows());
  const int column = table_.column(heading);
  if (column < 0) return cells;
  for (std::size_t row = 0; row < rows(); ++row) {
    cells[row] = table_.cell(row, static_cast<std::size_t>(column));
  }
  return cells;
}

NumberColumn TableReading::numbers(std::string_view heading) {
  asked_.emplace_back(heading);
  return plain_number_column(table_, heading, doubts_);
}

NumberColumn TableReading::quantities(std::string_view stem, Dimension dimension) {
  NumberColumn column = number_column(table_, stem, dimension, doubts_);
  asked_.emplace_back(stem);
  asked_.push_back(column.heading);
  return column;
}

void TableReading::problem(std::size_t row, const std::string& column, const char* code,
                           std::string text, std::string found, std::string expected,
                           std::string remedy) {
  tell({code, Severity::problem, place(row, column), std::move(text), std::move(found),
        std::move(expected), std::move(remedy)});
}

void TableReading::doubt(std::size_t row, const std::string& column, const char* code,
                         std::string text, std::string found, std::string expected,
                         std::string remedy) {
  tell({code, Severity::doubt, place(row, column), std::move(text), std::move(found),
        std::move(expected), std::move(remedy)});
}

void TableReading::check_plausible(const NumberColumn& column,
                                   const std::vector<PlausibleRange>& ranges) {
  std::size_t values = 0;
  Doubts each;
  std::map<std::string, std::size_t> slips;
  for (std::size_t row = 0; row < rows(); ++row) {
    const double value = column.values[row];
    if (!std::isfinite(value)) continue;
    ++values;
    const std::string unit{accepted_units(ranges[row].dimension).front()};
    auto doubt = implausible(value, ranges[row], place(row, column.heading),
                             fmt::format("{:.4g} {}", value, unit));
    if (!doubt) continue;
    if (const auto slip = slip_of(value, ranges[row])) {
      ++slips[fmt::format("{} was meant where {} is written", slip->meant, slip->written)];
    }
    each.push_back(*std::move(doubt));
  }
  for (const auto& [slip, count] : slips) {
    if (count * 2 <= values) continue;
    tell({"wrong_unit",
          Severity::problem,
          {table_.file, "", 1, column.heading},
          fmt::format("{} of {} values would fit if {}", count, values, slip),
          each.front().found,
          each.front().expected,
          "Correct the unit in the heading, or the numbers"});
    return;
  }
  for (Doubt& doubt : each) tell(std::move(doubt));
}

void TableReading::finish() {
  std::string unread;
  for (const std::string& heading : table_.headings) {
    if (heading.empty() || std::find(asked_.begin(), asked_.end(), heading) != asked_.end()) {
      continue;
    }
    unread += (unread.empty() ? "" : ", ") + heading;
  }
  if (unread.empty()) return;
  tell({"column_not_read",
        Severity::note,
        {table_.file, "", 1, ""},
        "columns that nothing reads",
        unread,
        "",
        "Name them under [columns] if they are ours"});
}

}  // namespace evendrip
