// SPDX-License-Identifier: Apache-2.0
// Harvest logs of tables and point layers.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "log_times.hpp"
#include "logged_records.hpp"
#include "point_rows.hpp"

namespace evendrip {
namespace {

constexpr double no_limit = std::numeric_limits<double>::infinity();

/// Mass flow in kg/s, whichever unit the heading names.
NumberColumn mass_flow_column(const Table& table, Doubts& problems) {
  const double kg_per_lb = to_canonical(1, "lb", Dimension::mass) / 1000;
  const std::array<std::pair<const char*, double>, 5> headings = {
      {{"mass_flow_kg_s", 1.0},
       {"mass_flow_lb_s", kg_per_lb},
       {"mass_flow_kg_h", 1.0 / 3600},
       {"mass_flow_lb_h", kg_per_lb / 3600},
       {"mass_flow_t_h", 1.0 / 3.6}}};
  NumberColumn flow;
  for (const auto& [heading, factor] : headings) {
    if (table.column(heading) < 0) continue;
    if (flow.column >= 0) {
      problems.push_back({"two_units",
                          Severity::problem,
                          {table.file, "", 1, heading},
                          "two columns give the same quantity in different units",
                          "",
                          fmt::format("only one of {} and {}", flow.heading, heading),
                          "Remove one of them"});
      continue;
    }
    flow = plain_number_column(table, heading, problems);
    for (double& value : flow.values) value *= factor;
  }
  return flow;
}

/// Copies the values of the rows that have a place.
void take(std::vector<double>& to, const std::vector<double>& column, const PointRows& rows) {
  if (column.empty()) return;
  std::size_t at = 0;
  for (std::size_t row = 0; row < column.size(); ++row) {
    if (rows.has_place(row)) to[at++] = column[row];
  }
}

/// Index of each row's machine, in the order in which their names come up.
void take_machines(HarvestLog& log, const PointRows& rows) {
  const int column = rows.table.column("machine");
  if (column < 0) return;
  std::map<std::string, int> known;
  std::size_t at = 0;
  for (std::size_t row = 0; row < rows.table.rows(); ++row) {
    if (!rows.has_place(row)) continue;
    const std::string name = rows.table.cell(row, static_cast<std::size_t>(column));
    const auto [found, added] = known.emplace(name, static_cast<int>(known.size()));
    if (added) log.machines.push_back(name);
    log.machine[at++] = found->second;
  }
}

/// The rows that have a place, numbered by their lines.
LoggedRecords records_at(const PointRows& rows) {
  LoggedRecords records;
  HarvestLog& log = records.log;
  log.file = rows.table.file;
  for (std::size_t row = 0; row < rows.table.rows(); ++row) {
    if (rows.has_place(row)) {
      log.lines.push_back(rows.table.lines[row]);
      log.places.push_back(rows.places[row]);
    } else if (log.set_aside++ == 0) {
      log.first_set_aside = rows.table.lines[row];
    }
  }
  records.resize(log.size());
  return records;
}

struct Wanted {
  std::vector<double>* to;
  NumberColumn column;
  double lowest = 0;
  double highest = no_limit;
  const char* expected = "a number not below 0";
};

/// One quantity: read, judged and copied before the next, so that few columns are held at once.
bool take_column(const PointRows& rows, const Wanted& wanted, Doubts& problems) {
  if (wanted.column.column < 0) return false;
  require_range(rows.table, wanted.column, wanted.lowest, wanted.highest, wanted.expected,
                problems);
  take(*wanted.to, wanted.column.values, rows);
  return true;
}

void take_columns(LoggedRecords& records, const PointRows& rows, Doubts& problems) {
  HarvestLog& log = records.log;
  const Table& table = rows.table;
  const auto read = [&](const char* stem, Dimension dimension) {
    return number_column(table, stem, dimension, problems);
  };
  if (take_column(
          rows,
          {&log.yield_t_ha, read("yield", Dimension::yield), 0, no_limit, "a yield not below 0"},
          problems)) {
    records.yields_as = "yield as logged";
  }
  const bool flow =
      take_column(rows, {&log.mass_flow_kg_s, mass_flow_column(table, problems)}, problems);
  if (!flow && records.yields_as.empty()) {
    throw InputError::missing_column(table.file,
                                     "mass_flow_kg_s (or yield_t_ha instead of the raw log)");
  }
  take_column(rows, {&log.duration_s, read("duration", Dimension::time)}, problems);
  take_column(rows, {&log.distance_m, read("distance", Dimension::length)}, problems);
  take_column(rows, {&log.swath_m, read("swath", Dimension::length)}, problems);
  take_column(rows, {&records.speed_m_s, read("speed", Dimension::velocity)}, problems);
  take_column(rows,
              {&log.moisture_frac, read("moisture", Dimension::fraction), 0, 0.999,
               "moisture from 0 to below 100 %"},
              problems);
  take(log.time_s, time_column(table, problems), rows);
}

}  // namespace

LoggedRecords records_of_rows(const Field& field, const CropSource& source) {
  Doubts doubts;
  Doubts problems;
  const PointRows rows = point_rows(field, source, doubts, problems);
  LoggedRecords records = records_at(rows);
  take_columns(records, rows, problems);
  take_machines(records.log, rows);
  problems.insert(problems.end(), doubts.begin(), doubts.end());
  throw_if_problem(problems);
  records.log.doubts = std::move(doubts);
  return records;
}

}  // namespace evendrip
