// SPDX-License-Identifier: Apache-2.0
// The number columns of a table.
#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>
#include <system_error>

#include <fmt/format.h>

#include "evendrip/io/csv.hpp"
#include "text_encoding.hpp"
#include "text_file.hpp"

namespace evendrip {
namespace {

enum class Decimal { none, point, comma };

struct CellNumber {
  bool good = false;
  double value = 0;
  Decimal decimal = Decimal::none;
  std::string_view expected = "a number or an empty cell";
};

CellNumber number_in(std::string_view text, char separator) {
  CellNumber number;
  std::string with_point;
  const auto commas = std::count(text.begin(), text.end(), ',');
  if (commas == 1 && text.find('.') == std::string_view::npos && separator != ',') {
    number.decimal = Decimal::comma;
    with_point = text;
    std::replace(with_point.begin(), with_point.end(), ',', '.');
    text = with_point;
  } else if (commas > 0) {
    number.expected = separator == ','
                          ? "a decimal point; decimal commas need semicolons between columns"
                          : "a number without thousands separators";
    return number;
  } else if (text.find('.') != std::string_view::npos) {
    number.decimal = Decimal::point;
  }
  const char* begin = text.data();
  const char* end = begin + text.size();
  if (text.size() > 1 && text.front() == '+' && text[1] != '-') ++begin;
  const auto [stop, error] = std::from_chars(begin, end, number.value);
  if (error == std::errc::result_out_of_range) number.expected = "a number within range";
  number.good = error == std::errc() && stop == end && std::isfinite(number.value);
  return number;
}

// Of a column without any number, a million cells need not be told one by one.
constexpr std::size_t most_told = 1000;

Doubt more_bad_numbers(const Table& table, std::size_t column, std::size_t more) {
  return {"bad_number",
          Severity::problem,
          {table.file, "", 0, table.headings[column]},
          fmt::format("{} more cells of this column are no numbers", more),
          "",
          "numbers or empty cells",
          "Check that this is the right column"};
}

/// Reads the cells of one column; `canonical` turns each number into the canonical unit.
template <typename Canonical>
std::vector<double> read_cells(const Table& table, int column, const Canonical& canonical,
                               Doubts& problems) {
  const auto c = static_cast<std::size_t>(column);
  std::vector<double> values(table.rows(), std::numeric_limits<double>::quiet_NaN());
  std::size_t comma_line = 0;
  std::size_t point_line = 0;
  std::size_t bad = 0;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const std::string_view cell = table.cell_text(row, c);
    if (cell.empty()) continue;
    const CellNumber number = number_in(cell, table.separator);
    if (!number.good) {
      if (++bad > most_told) continue;
      problems.push_back({"bad_number",
                          Severity::problem,
                          {table.file, "", table.lines[row], table.headings[c]},
                          "not a number",
                          shortened(cell),
                          std::string(number.expected),
                          "Correct the cell, or leave it empty if nothing was measured"});
      continue;
    }
    if (number.decimal == Decimal::comma && comma_line == 0) comma_line = table.lines[row];
    if (number.decimal == Decimal::point && point_line == 0) point_line = table.lines[row];
    values[row] = canonical(number.value);
  }
  if (bad > most_told) problems.push_back(more_bad_numbers(table, c, bad - most_told));
  if (comma_line > 0 && point_line > 0)
    problems.push_back({"mixed_decimals",
                        Severity::doubt,
                        {table.file, "", std::max(comma_line, point_line), table.headings[c]},
                        "the column has decimal commas and decimal points; both are read as such",
                        "",
                        "one decimal mark",
                        "Check that none of them separates thousands"});
  return values;
}

Doubt heading_problem(const Table& table, const std::string& heading, std::string code,
                      std::string text, std::string expected, std::string remedy) {
  return {std::move(code),     Severity::problem, {table.file, "", 1, heading}, std::move(text), "",
          std::move(expected), std::move(remedy)};
}

}  // namespace

NumberColumn number_column(const Table& table, std::string_view stem, Dimension dimension,
                           Doubts& problems) {
  NumberColumn result;
  Heading chosen;
  for (std::size_t i = 0; i < table.headings.size(); ++i) {
    const std::string& text = table.headings[i];
    Heading heading = parse_heading(text, stem, dimension);
    if (heading.unit.empty() || text == result.heading) continue;
    if (result.column >= 0) {
      problems.push_back(heading_problem(
          table, text, "two_units", "two columns give the same quantity in different units",
          fmt::format("only one of {} and {}", result.heading, text), "Remove one of them"));
      continue;
    }
    result.column = static_cast<int>(i);
    result.heading = text;
    chosen = std::move(heading);
  }
  const int bare = table.column(stem);
  if (result.column < 0 && bare >= 0 && dimension == Dimension::fraction)
    return plain_number_column(table, stem, problems);
  if (result.column < 0 && bare >= 0) {
    std::vector<std::string> units;
    for (const std::string_view unit : accepted_units(dimension)) units.emplace_back(unit);
    problems.push_back(heading_problem(
        table, std::string(stem), "heading_without_unit", "the heading does not name a unit",
        fmt::format("a heading \"{}_<unit>\", unit one of {}", stem, listed(units)),
        "Name the unit in the heading, or map your heading under [columns]"));
  }
  result.values.assign(table.rows(), std::numeric_limits<double>::quiet_NaN());
  if (result.column < 0) return result;
  result.values = read_cells(
      table, result.column,
      [&](double value) { return to_canonical(value, chosen.unit, dimension); }, problems);
  return result;
}

NumberColumn plain_number_column(const Table& table, std::string_view heading, Doubts& problems) {
  NumberColumn result;
  result.column = table.column(heading);
  result.heading = heading;
  result.values.assign(table.rows(), std::numeric_limits<double>::quiet_NaN());
  if (result.column >= 0)
    result.values = read_cells(
        table, result.column, [](double value) { return value; }, problems);
  return result;
}

}  // namespace evendrip
