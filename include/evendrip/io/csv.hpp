// SPDX-License-Identifier: Apache-2.0
// Tables as text (RFC 4180): comma, semicolon or tab, found from the heading line; BOM, CRLF and
// quotes are read; decimal commas are read where semicolons or tabs separate, else refused.
// Latin-1 bytes are told and read as such. Every cell keeps its line, so that each message can say
// file, row, column and value.
#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "evendrip/base/error.hpp"
#include "evendrip/units/quantity.hpp"

namespace evendrip {

struct Table {
  std::string file;  ///< as the user would type it
  char separator = ',';
  std::vector<std::string> headings;  ///< trimmed, lower case
  std::vector<std::size_t> lines;     ///< 1-based line of each row in the file
  Doubts doubts;                      ///< short rows filled, bytes recoded, headings twice ...

  /// Text of all cells, trimmed, row by row, headings.size() to a row, and where each ends: a
  /// million rows of ten short cells take 150 MB.
  std::string text;
  std::vector<std::size_t> ends;

  std::size_t rows() const { return lines.size(); }
  std::string_view cell_text(std::size_t row, std::size_t column) const {
    const std::size_t i = row * headings.size() + column;
    const std::size_t begin = i == 0 ? 0 : ends[i - 1];
    return std::string_view(text).substr(begin, ends[i] - begin);
  }
  std::string cell(std::size_t row, std::size_t column) const {
    return std::string(cell_text(row, column));
  }
  /// Adds the next cell of the last row.
  void add_cell(std::string_view cell) {
    text += cell;
    ends.push_back(text.size());
  }
  /// Index of a heading, -1 if there is none.
  int column(std::string_view heading) const;
  /// The same; throws InputError if there is none.
  int required_column(const std::string& heading) const;
  /// Of a column that need not be there (-1): then "".
  std::string cell_if_any(std::size_t row, int column) const;
};

/// `columns` maps other headings to ours ([columns] of field.toml): pairs (theirs, ours).
/// Throws InputError for an empty file, a file without rows, binary content, rows with more cells
/// than headings, a quote that never closes; FileError if it cannot be read.
Table read_csv(const std::filesystem::path& file, const std::string& as_written,
               const std::vector<std::pair<std::string, std::string>>& columns = {});

/// One number column in canonical units; a cell that is empty or no number is NaN.
struct NumberColumn {
  int column = -1;  ///< -1: the table has no such heading
  std::string heading;
  std::vector<double> values;  ///< table.rows() of them, also where there is no such column
};

/// The column "<stem>_<unit>" in canonical units, whichever unit its heading names. Text in
/// numbers, decimal commas in a comma table, "nan"/"inf" and two headings for one stem are added to
/// `problems` with row, column, value and expectation.
NumberColumn number_column(const Table& table, std::string_view stem, Dimension dimension,
                           Doubts& problems);
/// A plain number column without unit.
NumberColumn plain_number_column(const Table& table, std::string_view heading, Doubts& problems);

}  // namespace evendrip
