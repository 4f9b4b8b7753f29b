// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/csv.hpp"

#include <algorithm>
#include <array>
#include <utility>

#include <fmt/format.h>

#include "text_encoding.hpp"
#include "text_file.hpp"

namespace evendrip {
namespace {

/// One record of the file before it is fitted to the headings.
struct Record {
  std::size_t line = 0;
  std::vector<std::string> cells;

  bool blank() const {
    return std::all_of(cells.begin(), cells.end(), [](const std::string& c) { return c.empty(); });
  }
};

Doubt problem_at(const std::string& file, std::size_t line, std::string column, std::string code,
                 std::string text, std::string found = "", std::string expected = "",
                 std::string remedy = "") {
  return {std::move(code),  Severity::problem, {file, "", line, std::move(column)},
          std::move(text),  std::move(found),  std::move(expected),
          std::move(remedy)};
}

/// Takes records off the text one by one (RFC 4180, also LF and CR alone as line ends).
class RecordReader {
 public:
  RecordReader(std::string_view text, const std::string& file, char separator, Doubts& problems)
      : text_(text), file_(file), separator_(separator), problems_(problems) {}

  bool next(Record& record) {
    if (at_ >= text_.size()) return false;
    record.line = line_;
    record.cells.clear();
    while (true) {
      record.cells.push_back(cell(record.cells.size() + 1));
      if (at_ >= text_.size()) return true;
      if (text_[at_] != separator_) break;
      ++at_;
      if (at_ >= text_.size()) {
        record.cells.emplace_back();
        return true;
      }
    }
    line_end();
    return true;
  }

 private:
  bool ends_cell(char c) const { return c == separator_ || c == '\n' || c == '\r'; }

  void line_end() {
    if (text_[at_] == '\r' && at_ + 1 < text_.size() && text_[at_ + 1] == '\n') ++at_;
    ++at_;
    ++line_;
  }

  std::string cell(std::size_t number) {
    std::size_t begin = at_;
    while (begin < text_.size() && text_[begin] == ' ') ++begin;
    if (begin < text_.size() && text_[begin] == '"') {
      at_ = begin + 1;
      return quoted_cell(number);
    }
    begin = at_;
    while (at_ < text_.size() && !ends_cell(text_[at_])) ++at_;
    return std::string(trimmed(text_.substr(begin, at_ - begin)));
  }

  std::string quoted_cell(std::size_t number) {
    const std::size_t opened = line_;
    std::string value;
    while (true) {
      if (at_ >= text_.size()) {
        problems_.push_back(problem_at(file_, opened, std::to_string(number), "quote_never_closes",
                                       "a quotation mark opens here and never closes", "",
                                       "a second quotation mark",
                                       "Close the quotation or write \"\" for a mark in text"));
        return value;
      }
      const char c = text_[at_++];
      if (c == '"' && at_ < text_.size() && text_[at_] == '"') {
        value += '"';
        ++at_;
      } else if (c == '"') {
        break;
      } else {
        if (c == '\n' || (c == '\r' && (at_ >= text_.size() || text_[at_] != '\n'))) ++line_;
        value += c;
      }
    }
    check_nothing_follows(number);
    return std::string(trimmed(value));
  }

  void check_nothing_follows(std::size_t number) {
    const std::size_t begin = at_;
    while (at_ < text_.size() && !ends_cell(text_[at_])) ++at_;
    const std::string_view rest = trimmed(text_.substr(begin, at_ - begin));
    if (rest.empty()) return;
    problems_.push_back(problem_at(file_, line_, std::to_string(number), "text_after_quote",
                                   "text follows a closing quotation mark", shortened(rest),
                                   "a separator or the end of the line",
                                   "Write \"\" for a quotation mark inside quoted text"));
  }

  std::string_view text_;
  const std::string& file_;
  char separator_;
  Doubts& problems_;
  std::size_t at_ = 0;
  std::size_t line_ = 1;
};

/// The separator met most often in the heading line outside quotes; of equals the rarer in text.
char separator_of(std::string_view text) {
  constexpr std::array<char, 3> separators{'\t', ';', ','};
  std::array<std::size_t, 3> counts{};
  bool quoted = false;
  bool any = false;
  for (const char c : text) {
    if (c == '"') quoted = !quoted;
    if (quoted) continue;
    if ((c == '\n' || c == '\r') && any) break;
    any = any || (c != '\n' && c != '\r' && c != ' ');
    for (std::size_t i = 0; i < separators.size(); ++i)
      if (c == separators[i]) ++counts[i];
  }
  const auto most = std::max_element(counts.begin(), counts.end());
  return *most == 0 ? ',' : separators[static_cast<std::size_t>(most - counts.begin())];
}

void take_headings(Table& table, Record record,
                   const std::vector<std::pair<std::string, std::string>>& columns) {
  while (!record.cells.empty() && record.cells.back().empty()) record.cells.pop_back();
  for (std::string& heading : record.cells) {
    heading = lower_case(heading);
    for (const auto& [theirs, ours] : columns)
      if (heading == lower_case(trimmed(theirs))) {
        heading = lower_case(trimmed(ours));
        break;
      }
  }
  table.headings = std::move(record.cells);
  for (std::size_t i = 0; i < table.headings.size(); ++i) {
    const auto first = std::find(table.headings.begin(), table.headings.end(), table.headings[i]);
    if (table.headings[i].empty() || first == table.headings.begin() + static_cast<long>(i))
      continue;
    table.doubts.push_back({"heading_twice",
                            Severity::doubt,
                            {table.file, "", record.line, table.headings[i]},
                            fmt::format("two columns have this heading; the first is read, column "
                                        "number {} is not",
                                        i + 1),
                            "",
                            "",
                            "Give each column a heading of its own"});
  }
}

/// Takes memory for the rows of a text at once: growing by and by takes more.
void reserve_rows(Table& table, std::string_view text) {
  const auto lines = static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')) + 1;
  const std::size_t most_cells = text.size() / 2 + 1;  // each has a separator or a line end
  table.lines.reserve(lines);
  table.ends.reserve(std::min(lines * table.headings.size(), most_cells));
  table.text.reserve(text.size());
}

/// Fits a record to the headings and appends it. Counts short rows in `short_rows`.
void take_row(Table& table, Record& record, std::vector<std::size_t>& short_rows,
              Doubts& problems) {
  const std::size_t width = table.headings.size();
  while (record.cells.size() > width && record.cells.back().empty()) record.cells.pop_back();
  if (record.cells.size() > width) {
    const std::string remedy =
        table.separator == ','
            ? "Quote text that holds commas; with decimal commas, separate by semicolons"
            : "Quote text that holds the separator";
    problems.push_back(problem_at(
        table.file, record.line, std::to_string(width + 1), "too_many_cells",
        fmt::format("the row has {} cells, the heading line has {}", record.cells.size(), width),
        shortened(record.cells[width]), "no further cell", remedy));
    return;
  }
  if (record.cells.size() < width) short_rows.push_back(record.line);
  record.cells.resize(width);
  table.lines.push_back(record.line);
  for (const std::string& cell : record.cells) table.add_cell(cell);
}

void tell_short_rows(Table& table, const std::vector<std::size_t>& short_rows) {
  if (short_rows.empty()) return;
  table.doubts.push_back({"short_rows",
                          Severity::doubt,
                          {table.file, "", short_rows.front(), ""},
                          fmt::format("{} row(s) have fewer cells than the heading line, here the "
                                      "first; the cells that lack are taken as empty",
                                      short_rows.size()),
                          "",
                          fmt::format("{} cells", table.headings.size()),
                          ""});
}

}  // namespace

int Table::column(std::string_view heading) const {
  const auto found = std::find(headings.begin(), headings.end(), heading);
  return found == headings.end() ? -1 : static_cast<int>(found - headings.begin());
}

int Table::required_column(const std::string& heading) const {
  const int found = column(heading);
  if (found < 0) throw InputError::missing_column(file, heading);
  return found;
}

std::string Table::cell_if_any(std::size_t row, int column) const {
  return column < 0 ? std::string() : cell(row, static_cast<std::size_t>(column));
}

Table read_csv(const std::filesystem::path& file, const std::string& as_written,
               const std::vector<std::pair<std::string, std::string>>& columns) {
  Table table;
  table.file = as_written;
  const std::string text = as_utf8(read_bytes(file, as_written), as_written, table.doubts);
  table.separator = separator_of(text);

  Doubts problems;
  RecordReader reader(text, table.file, table.separator, problems);
  Record record;
  std::vector<std::size_t> short_rows;
  while (reader.next(record)) {
    if (record.blank()) continue;
    if (table.headings.empty()) {
      take_headings(table, std::move(record), columns);
      record = Record();
      reserve_rows(table, text);
    } else {
      take_row(table, record, short_rows, problems);
    }
  }
  if (table.headings.empty()) {
    problems.push_back(problem_at(as_written, 0, "", "empty_file", "the file is empty", "",
                                  "a heading line and rows", "Check that the export worked"));
  } else if (table.lines.empty() && problems.empty()) {
    problems.push_back(problem_at(as_written, 0, "", "no_rows",
                                  "the file has a heading line and no rows", "", "one row or more",
                                  "Check that the export worked"));
  }
  throw_if_problem(problems);
  tell_short_rows(table, short_rows);
  return table;
}

}  // namespace evendrip
