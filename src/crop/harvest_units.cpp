// SPDX-License-Identifier: Apache-2.0
// What looks wrong in the units of a harvest log. The limits are common practice, no source.
#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "harvest_doubts.hpp"
#include "logged_records.hpp"

namespace evendrip {
namespace {

/// Ratios that betray two units in one column.
struct UnitRatio {
  double ratio;
  const char* units;
};

constexpr std::array<UnitRatio, 2> length_ratios = {
    {{1 / 0.0254, "inches and metres"}, {1 / 0.3048, "feet and metres"}}};

bool is_ratio(double a, double b, double ratio, double tolerance) {
  return std::abs(std::log(a / b) - std::log(ratio)) < tolerance;
}

void tell_mixed(const HarvestLog& log, std::size_t record, const std::string& column,
                const char* units, double ratio, std::size_t count, Doubts& doubts) {
  doubts.push_back(doubt_at(
      log, record, column, "units_look_mixed",
      fmt::format("{} of {} records, this one first, lie off the others by {:.4g}, the ratio of {}",
                  count, log.size(), ratio, units),
      "Check the units of these rows; nothing is converted"));
}

/// Widths in two units: a share of records at a fixed ratio to the most common width.
void tell_mixed_swaths(const HarvestLog& log, Doubts& doubts) {
  std::map<long long, std::size_t> counts;  // by mm
  for (const double swath : log.swath_m) {
    if (swath > 0 && std::isfinite(swath)) ++counts[std::llround(1000 * swath)];
  }
  if (counts.size() < 2) return;
  const auto common = std::max_element(counts.begin(), counts.end(),
                                       [](auto& a, auto& b) { return a.second < b.second; });
  const double usual_m = 0.001 * static_cast<double>(common->first);
  constexpr double tolerance = 0.003;
  for (const auto& [ratio, units] : length_ratios) {
    std::size_t count = 0;
    std::size_t first = 0;
    for (std::size_t i = 0; i < log.size(); ++i) {
      const double swath = log.swath_m[i];
      if (!(swath > 0)) continue;
      if (!is_ratio(swath, usual_m, ratio, tolerance) &&
          !is_ratio(usual_m, swath, ratio, tolerance)) {
        continue;
      }
      if (count++ == 0) first = i;
    }
    if (count > 0) tell_mixed(log, first, "swath", units, ratio, count, doubts);
  }
}

/// Distances against the steps between places.
void tell_mixed_distances(const HarvestLog& log, Doubts& doubts) {
  constexpr double tolerance = 0.2;
  constexpr double least_step_m = 0.2;
  constexpr double least_share = 0.02;
  for (const auto& [ratio, units] : length_ratios) {
    for (const double factor : {ratio, 1 / ratio}) {
      std::size_t compared = 0;
      std::size_t count = 0;
      std::size_t first = 0;
      for (std::size_t i = 1; i < log.size(); ++i) {
        const double step_m = distance_m(log.places[i - 1], log.places[i]);
        if (!(step_m > least_step_m) || !(log.distance_m[i] > 0)) continue;
        ++compared;
        if (!is_ratio(log.distance_m[i], step_m, factor, tolerance)) continue;
        if (count++ == 0) first = i;
      }
      if (static_cast<double>(count) <= least_share * static_cast<double>(compared)) continue;
      doubts.push_back(doubt_at(
          log, first, "distance", "units_look_mixed",
          fmt::format("{} of {} distances, this one first, are {:.4g} times the step between the "
                      "places, the ratio of {}",
                      count, compared, factor, units),
          "Check the unit in the heading and in these rows; nothing is converted"));
    }
  }
}

/// Moisture as fraction and as per cent in one column.
void tell_mixed_moistures(const HarvestLog& log, Doubts& doubts) {
  constexpr double least_frac = 0.02;
  std::size_t count = 0;
  std::size_t stated = 0;
  std::size_t first = 0;
  for (std::size_t i = 0; i < log.size(); ++i) {
    const double w = log.moisture_frac[i];
    if (!(w > 0)) continue;
    ++stated;
    if (w < least_frac && count++ == 0) first = i;
  }
  if (count == 0) return;
  if (count == stated) {
    doubts.push_back(doubt_at(
        log, first, "moisture", "moisture_looks_like_fractions",
        fmt::format("all {} moistures are below {:.0f} %, drier than any grain: they may be "
                    "fractions in a column of per cents",
                    count, 100 * least_frac),
        "Check the unit in the heading; nothing is converted"));
    return;
  }
  doubts.push_back(doubt_at(
      log, first, "moisture", "units_look_mixed",
      fmt::format("{} of {} moistures, this one first, are below {:.0f} %, others are not: they "
                  "may be fractions among per cents",
                  count, stated, 100 * least_frac),
      "Check the units of these rows; nothing is converted"));
}

constexpr double lb_per_kg = 1 / 0.45359237;
constexpr double level_tolerance = 0.12;  ///< of a logarithm

/// Level of a block of records that begins at one of them.
struct BlockLevel {
  std::size_t begin = 0;
  double log_yield = 0;  ///< median of the logarithms
};

/// Blocks without any yield are left out.
std::vector<BlockLevel> block_levels(const HarvestLog& log, std::size_t block) {
  std::vector<BlockLevel> levels;
  std::vector<double> values;
  for (std::size_t begin = 0; begin + block <= log.size(); begin += block) {
    values.clear();
    for (std::size_t i = begin; i < begin + block; ++i) {
      const double yield = log.yield_t_ha[i];
      if (yield > 0 && std::isfinite(yield)) values.push_back(std::log(yield));
    }
    if (!values.empty()) levels.push_back({begin, median_in_place(values)});
  }
  return levels;
}

constexpr std::size_t blocks_beside = 3;

/// How far the blocks next to block k all lie beyond those before it: a mere drift does not do
/// that. Below 0 where they overlap.
double jump_at(const std::vector<BlockLevel>& levels, std::size_t k) {
  const auto lower = [](const BlockLevel& a, const BlockLevel& b) {
    return a.log_yield < b.log_yield;
  };
  const auto at = levels.begin() + static_cast<std::ptrdiff_t>(k);
  const auto before = std::minmax_element(at - blocks_beside, at, lower);
  const auto after = std::minmax_element(at, at + blocks_beside, lower);
  return std::max(after.first->log_yield - before.second->log_yield,
                  before.first->log_yield - after.second->log_yield);
}

double median_level(const std::vector<BlockLevel>& levels, std::size_t begin, std::size_t end) {
  std::vector<double> values;
  for (std::size_t k = begin; k < end; ++k) values.push_back(levels[k].log_yield);
  return median_in_place(values);
}

/// A level of mass flow that changes by the pound, at one place of the log and for good.
void tell_jump_of_level(const HarvestLog& log, Doubts& doubts) {
  if (!log.has_mass_flow) return;
  const std::vector<BlockLevel> levels =
      block_levels(log, std::max<std::size_t>(20, log.size() / 200));
  std::size_t best = 0;
  double best_jump = 0;
  for (std::size_t k = blocks_beside; k + blocks_beside <= levels.size(); ++k) {
    const double jump = jump_at(levels, k);
    if (jump <= best_jump) continue;
    best_jump = jump;
    best = k;
  }
  if (best == 0) return;
  const double ratio =
      std::exp(std::abs(median_level(levels, 0, best) - median_level(levels, best, levels.size())));
  if (!is_ratio(ratio, 1, lb_per_kg, level_tolerance)) return;
  const std::size_t row = levels[best].begin;
  tell_mixed(log, row, "mass_flow", "pounds and kilograms", lb_per_kg, log.size() - row, doubts);
}

/// Blocks of records that lie in two groups a pound apart with hardly any between them: passes, or
/// other parts of the log, in another unit. A crop itself passes through all levels.
bool in_two_groups(std::vector<double> levels) {
  constexpr double most_between = 0.05;
  const std::size_t fewest = std::max<std::size_t>(3, levels.size() / 20);
  const double apart = std::log(lb_per_kg);
  std::sort(levels.begin(), levels.end());
  for (std::size_t k = fewest; k + fewest <= levels.size(); ++k) {
    const double low = levels[k / 2];
    const double high = levels[k + (levels.size() - k) / 2];
    if (std::abs(high - low - apart) > level_tolerance) continue;
    const auto from = std::lower_bound(levels.begin(), levels.end(), low + 0.3 * apart);
    const auto to = std::upper_bound(levels.begin(), levels.end(), high - 0.3 * apart);
    const auto smaller = static_cast<double>(std::min(k, levels.size() - k));
    if (static_cast<double>(to - from) <= most_between * smaller) return true;
  }
  return false;
}

/// Levels of mass flow that change by the pound from pass to pass.
void tell_groups_of_levels(const HarvestLog& log, Doubts& doubts) {
  constexpr std::size_t block = 10;
  if (!log.has_mass_flow || log.machines.size() > 1) return;
  std::vector<double> levels;
  for (const BlockLevel& level : block_levels(log, block)) levels.push_back(level.log_yield);
  if (!in_two_groups(std::move(levels))) return;
  doubts.push_back(doubt_at(
      log, log.size(), "mass_flow", "units_look_mixed",
      fmt::format("parts of the log lie in two groups about {:.3g} apart with hardly any records "
                  "between them, the ratio of pounds and kilograms",
                  lb_per_kg),
      "Check the units of each pass; nothing is converted"));
}

/// A level that no crop has.
void tell_level(const HarvestLog& log, const Field& field, Doubts& doubts) {
  constexpr double least_t_ha = 0.02;  // below spices
  constexpr double most_t_ha = 300;    // above cane
  std::vector<double> yields;
  for (const double yield : log.yield_t_ha) {
    if (yield > 0 && std::isfinite(yield)) yields.push_back(yield);
  }
  if (yields.empty()) return;
  const double level = median_in_place(yields);
  if (level >= least_t_ha && level <= most_t_ha) return;
  const auto told = [&](double t_ha) {
    return format_quantity(t_ha, Dimension::yield, field.report_units, 3);
  };
  doubts.push_back(doubt_at(log, log.size(), "", "yield_of_no_crop",
                            fmt::format("the median yield is {}; crops yield {} to {}", told(level),
                                        told(least_t_ha), told(most_t_ha)),
                            "Check the units of yield, flow, distance and swath; nothing is "
                            "converted"));
}

/// Two machines whose levels differ by the pound.
void tell_machines_apart(const HarvestLog& log, Doubts& doubts) {
  if (log.machines.size() < 2) return;
  std::vector<std::vector<double>> yields(log.machines.size());
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (log.yield_t_ha[i] > 0) {
      yields[static_cast<std::size_t>(log.machine[i])].push_back(log.yield_t_ha[i]);
    }
  }
  const double first = median_in_place(yields.front());
  for (std::size_t m = 1; m < yields.size(); ++m) {
    const double other = median_in_place(yields[m]);
    if (!levels_differ_by_pounds(first, other)) continue;
    doubts.push_back(doubt_at(
        log, log.size(), "machine", "units_look_mixed",
        fmt::format("the levels of {} and {} differ by {:.3g}, near the ratio of pounds and "
                    "kilograms",
                    log.machines.front(), log.machines[m],
                    std::max(first, other) / std::min(first, other)),
        "Check the units of each machine; nothing is converted"));
  }
}

}  // namespace

bool levels_differ_by_pounds(double a, double b) {
  if (!(a > 0) || !(b > 0)) return false;
  return is_ratio(std::max(a, b), std::min(a, b), lb_per_kg, level_tolerance);
}

void tell_units(const HarvestLog& log, const Field& field, Doubts& doubts) {
  tell_mixed_swaths(log, doubts);
  tell_mixed_distances(log, doubts);
  tell_mixed_moistures(log, doubts);
  const std::size_t told = doubts.size();
  tell_jump_of_level(log, doubts);
  if (doubts.size() == told) tell_groups_of_levels(log, doubts);
  tell_machines_apart(log, doubts);
  tell_level(log, field, doubts);
}

}  // namespace evendrip
