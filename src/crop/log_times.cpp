// SPDX-License-Identifier: Apache-2.0
#include "log_times.hpp"

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>
#include <cstddef>
#include <limits>
#include <string>

#include "point_rows.hpp"

namespace evendrip {
namespace {

/// Takes parts off the front of a text.
class Parts {
 public:
  explicit Parts(std::string_view text) : text_(text) {}

  bool at_end() const { return text_.empty(); }
  bool good() const { return good_; }

  /// True, and off the text, if it begins with one of the marks.
  bool take(std::string_view marks) {
    if (text_.empty() || marks.find(text_.front()) == std::string_view::npos) return false;
    text_.remove_prefix(1);
    return true;
  }

  void need(std::string_view marks) { good_ = take(marks) && good_; }

  /// A whole number of so many digits, within limits.
  int number(std::size_t digits, int lowest, int highest) {
    int value = 0;
    const auto [stop, error] =
        std::from_chars(text_.data(), text_.data() + std::min(digits, text_.size()), value);
    const bool whole = error == std::errc() && stop == text_.data() + digits;
    if (!whole || value < lowest || value > highest) {
      good_ = false;
      return lowest;
    }
    text_.remove_prefix(digits);
    return value;
  }

  /// ".25" or ",25" as 0.25; 0 if there is none.
  double fraction() {
    if (!take(".,")) return 0;
    double value = 0;
    double place = 0.1;
    bool any = false;
    for (; !text_.empty() && text_.front() >= '0' && text_.front() <= '9'; place /= 10) {
      value += place * (text_.front() - '0');
      text_.remove_prefix(1);
      any = true;
    }
    good_ = good_ && any;
    return value;
  }

 private:
  std::string_view text_;
  bool good_ = true;
};

double time_of_day_s(Parts& parts) {
  double seconds = 3600.0 * parts.number(2, 0, 24);
  parts.need(":");
  seconds += 60.0 * parts.number(2, 0, 59);
  if (!parts.take(":")) return seconds;
  seconds += parts.number(2, 0, 60);
  return seconds + parts.fraction();
}

/// Offset from UTC: Z, +02, +02:00 or +0200; 0 if there is none.
double offset_s(Parts& parts) {
  if (parts.at_end() || parts.take("Zz")) return 0;
  const double sign = parts.take("-") ? -1 : 1;
  if (sign > 0) parts.need("+");
  double seconds = 3600.0 * parts.number(2, 0, 14);
  if (parts.at_end()) return sign * seconds;
  parts.take(":");
  seconds += 60.0 * parts.number(2, 0, 59);
  return sign * seconds;
}

std::optional<double> date_and_time_s(std::string_view text) {
  Parts parts(text);
  const int year = parts.number(4, 1900, 2999);
  parts.need("-/");
  const int month = parts.number(2, 1, 12);
  parts.need("-/");
  const int day = parts.number(2, 1, 31);
  if (!parts.good()) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(year),
                                         std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day))};
  if (!date.ok()) return std::nullopt;
  const auto days = std::chrono::sys_days(date).time_since_epoch().count();
  double seconds = 86'400.0 * static_cast<double>(days);
  if (parts.at_end()) return seconds;
  parts.need("Tt ");
  seconds += time_of_day_s(parts);
  seconds -= offset_s(parts);
  if (!parts.good() || !parts.at_end()) return std::nullopt;
  return seconds;
}

/// True if the column's first text is a date or a time of the day, no number.
bool is_text(const Table& table, std::size_t column) {
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const std::string_view cell = table.cell_text(row, column);
    if (cell.empty()) continue;
    return cell.find_first_of(":/") != std::string_view::npos ||
           std::count(cell.begin(), cell.end(), '-') == 2;
  }
  return false;
}

}  // namespace

std::optional<double> seconds_in(std::string_view text) {
  if (const auto seconds = date_and_time_s(text)) return seconds;
  Parts parts(text);
  const double seconds = time_of_day_s(parts);
  if (!parts.good() || !parts.at_end()) return std::nullopt;
  return seconds;
}

std::vector<double> time_column(const Table& table, Doubts& problems) {
  const int column = table.column("time");
  if (column < 0) {
    NumberColumn times = number_column(table, "time", Dimension::time, problems);
    return times.column < 0 ? std::vector<double>() : std::move(times.values);
  }
  const auto c = static_cast<std::size_t>(column);
  if (!is_text(table, c)) return plain_number_column(table, "time", problems).values;
  std::vector<double> times(table.rows(), std::numeric_limits<double>::quiet_NaN());
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const std::string cell = table.cell(row, c);
    if (cell.empty()) continue;
    if (const auto seconds = seconds_in(cell)) {
      times[row] = *seconds;
    } else {
      problems.push_back(bad_value(table, row, "time", cell,
                                   "a time as 2026-05-12T08:30:00, or a number of seconds"));
    }
  }
  return times;
}

}  // namespace evendrip
