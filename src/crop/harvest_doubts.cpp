// SPDX-License-Identifier: Apache-2.0
// What looks wrong in a harvest log as a whole. The limits are common practice, no source.
#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <map>
#include <optional>
#include <string>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "harvest_doubts.hpp"
#include "length_words.hpp"
#include "logged_records.hpp"

namespace evendrip {
namespace {

void tell_time(const HarvestLog& log, Doubts& doubts) {
  std::map<int, double> last;  // by machine
  std::size_t backwards = 0;
  std::size_t first = 0;
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (std::isnan(log.time_s[i])) continue;
    const auto [known, added] = last.emplace(log.machine[i], log.time_s[i]);
    if (added) continue;
    if (log.time_s[i] < known->second && backwards++ == 0) first = i;
    known->second = log.time_s[i];
  }
  if (backwards == 0) return;
  doubts.push_back(doubt_at(
      log, first, "time_s", "time_runs_backwards",
      fmt::format("the time runs backwards at {} of {} records, this one first", backwards,
                  log.size()),
      "Check that the log is of one day and one machine; records are taken as they stand"));
}

void tell_machines(const HarvestLog& log, Doubts& doubts) {
  if (log.machines.size() < 2) return;
  doubts.push_back(doubt_at(log, log.size(), "machine", "several_machines",
                            fmt::format("the log is of {} machines ({}), whose sensors may differ",
                                        log.machines.size(), fmt::join(log.machines, ", ")),
                            "Compare their levels where they cut side by side"));
}

/// Records of one machine that jump away faster than it can drive and back to where it was.
void tell_two_places(const HarvestLog& log, const Field& field, Doubts& doubts) {
  if (log.machines.size() > 1 || log.size() < 3) return;
  // Without times a turn between lands looks like a jump.
  const bool timed =
      std::any_of(log.time_s.begin(), log.time_s.end(), [](double t) { return !std::isnan(t); });
  const double far_m = timed ? 40 : 100;
  constexpr double fastest_m_s = 15;
  constexpr std::size_t most_returns = 2;
  std::optional<Point> left;  // where the last jump began
  std::size_t returns = 0;
  std::size_t first = 0;
  for (std::size_t i = 1; i < log.size(); ++i) {
    const double step_m = distance_m(log.places[i - 1], log.places[i]);
    const double seconds = std::abs(log.time_s[i] - log.time_s[i - 1]);
    const bool can_drive = seconds > 0 && step_m / seconds <= fastest_m_s;
    if (step_m < far_m || can_drive) continue;
    if (left && distance_m(*left, log.places[i]) < far_m && returns++ == 0) first = i;
    left = log.places[i - 1];
  }
  if (returns <= most_returns) return;
  doubts.push_back(doubt_at(
      log, first, "", "places_alternate",
      fmt::format("the places jump more than {} away and back {} times: two machines seem to "
                  "write into one log",
                  length_words(field, far_m), returns),
      "Add a column machine, or give each machine its own file"));
}

/// Places so far off that no machine of this field was there.
void tell_far_places(const HarvestLog& log, const Field& field, Doubts& doubts) {
  constexpr double least_far_m = 1000;
  const Extent extent = field.extent();
  const double far_m = std::max(least_far_m, std::hypot(extent.width(), extent.height()));
  const Extent near = extent.grown(far_m);
  std::size_t count = 0;
  std::size_t first = 0;
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (near.contains(log.places[i])) continue;
    if (count++ == 0) first = i;
  }
  if (count == 0) return;
  doubts.push_back(
      doubt_at(log, first, "", "places_far_away",
               fmt::format("{} of {} places, this one first, lie more than {} from the "
                           "field; they are not of it",
                           count, log.size(), length_words(field, far_m)),
               "Check whether the receiver had a fix there"));
}

/// What makes two records the same.
struct SameRecord {
  std::int64_t x;
  std::int64_t y;
  std::int64_t time;
  std::size_t index;

  auto key() const { return std::make_tuple(x, y, time); }
};

std::int64_t thousandths(double value) {
  return std::isfinite(value) ? std::llround(1000 * value)
                              : std::numeric_limits<std::int64_t>::min();
}

void tell_twice(const HarvestLog& log, Doubts& doubts) {
  const bool timed =
      std::any_of(log.time_s.begin(), log.time_s.end(), [](double t) { return !std::isnan(t); });
  std::vector<SameRecord> records;
  records.reserve(log.size());
  for (std::size_t i = 0; i < log.size(); ++i) {
    const double second = timed ? log.time_s[i] : log.yield_t_ha[i];
    records.push_back(
        {thousandths(log.places[i].x), thousandths(log.places[i].y), thousandths(second), i});
  }
  std::sort(records.begin(), records.end(), [](const SameRecord& a, const SameRecord& b) {
    return std::make_pair(a.key(), a.index) < std::make_pair(b.key(), b.index);
  });
  std::size_t twice = 0;
  std::size_t first = log.size();
  for (std::size_t i = 1; i < records.size(); ++i) {
    if (records[i].key() != records[i - 1].key()) continue;
    // Without times, a machine that stands still repeats itself.
    if (!timed && records[i].index == records[i - 1].index + 1) continue;
    ++twice;
    first = std::min(first, records[i].index);
  }
  if (twice == 0) return;
  doubts.push_back(doubt_at(
      log, first, "", "records_twice",
      fmt::format("{} of {} records stand twice, with the same place and {}; here the first", twice,
                  log.size(), timed ? "time" : "yield"),
      "Check whether a pass or a file was added twice"));
}

}  // namespace

Doubt doubt_at(const HarvestLog& log, std::size_t record, std::string column, std::string code,
               std::string text, std::string remedy) {
  return {std::move(code),
          Severity::doubt,
          {log.file, "", record < log.size() ? log.lines[record] : 0, std::move(column)},
          std::move(text),
          "",
          "",
          std::move(remedy)};
}

Doubts doubts_about(const HarvestLog& log, const Field& field) {
  Doubts doubts;
  tell_time(log, doubts);
  tell_machines(log, doubts);
  tell_two_places(log, field, doubts);
  tell_far_places(log, field, doubts);
  tell_twice(log, doubts);
  tell_units(log, field, doubts);
  return doubts;
}

}  // namespace evendrip
