// SPDX-License-Identifier: Apache-2.0
#include "evendrip/base/dates.hpp"

#include <algorithm>
#include <charconv>
#include <chrono>

namespace evendrip {
namespace {

std::optional<int> number_in(std::string_view text) {
  const bool digits = std::all_of(text.begin(), text.end(), [](char character) {
    return character >= '0' && character <= '9';
  });
  int value = 0;
  if (!digits || std::from_chars(text.data(), text.data() + text.size(), value).ec != std::errc())
    return std::nullopt;
  return value;
}

}  // namespace

std::optional<int> day_number(std::string_view date) {
  constexpr std::size_t length = 10;
  if (date.size() != length || date[4] != '-' || date[7] != '-') return std::nullopt;
  const auto year = number_in(date.substr(0, 4));
  const auto month = number_in(date.substr(5, 2));
  const auto day = number_in(date.substr(8, 2));
  if (!year || !month || !day) return std::nullopt;
  const std::chrono::year_month_day found{std::chrono::year(*year),
                                          std::chrono::month(static_cast<unsigned>(*month)),
                                          std::chrono::day(static_cast<unsigned>(*day))};
  if (!found.ok()) return std::nullopt;
  return static_cast<int>(std::chrono::sys_days(found).time_since_epoch().count());
}

std::optional<int> days_between(std::string_view from, std::string_view to) {
  const auto first = day_number(from);
  const auto last = day_number(to);
  if (!first || !last) return std::nullopt;
  return *last - *first;
}

}  // namespace evendrip
