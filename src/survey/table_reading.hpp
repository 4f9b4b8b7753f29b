// SPDX-License-Identifier: Apache-2.0
// One survey table: its columns by our names, and problems that name file, row and column.
#pragma once

#include <cstddef>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "evendrip/field/plausible.hpp"
#include "evendrip/io/csv.hpp"
#include "evendrip/io/paths.hpp"

namespace evendrip {

/// Reads cells by heading and remembers which headings were asked for.
class TableReading {
 public:
  TableReading(const FileRef& file, const std::vector<std::pair<std::string, std::string>>& columns,
               Doubts& doubts);

  std::size_t rows() const { return table_.rows(); }
  std::size_t line(std::size_t row) const { return table_.lines[row]; }
  bool has(std::string_view heading) const { return table_.column(heading) >= 0; }
  Place place(std::size_t row, std::string column = "") const;

  /// Text of a cell; empty if there is no such column.
  std::vector<std::string> texts(std::string_view heading);
  NumberColumn numbers(std::string_view heading);
  /// "<stem>_<unit>" in the canonical unit.
  NumberColumn quantities(std::string_view stem, Dimension dimension);

  void tell(Doubt doubt) { doubts_.push_back(std::move(doubt)); }
  void problem(std::size_t row, const std::string& column, const char* code, std::string text,
               std::string found, std::string expected, std::string remedy);
  void doubt(std::size_t row, const std::string& column, const char* code, std::string text,
             std::string found, std::string expected, std::string remedy);

  /// Values far from what is expected there. Where most of the column shows one slip of units, the
  /// column is one problem; else each value is told by itself.
  void check_plausible(const NumberColumn& column, const std::vector<PlausibleRange>& ranges);

  /// A note that names headings never asked for.
  void finish();

 private:
  Table table_;
  Doubts& doubts_;
  std::vector<std::string> asked_;
};

}  // namespace evendrip
