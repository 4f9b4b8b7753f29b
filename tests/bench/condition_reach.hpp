// SPDX-License-Identifier: Apache-2.0
// What the joint estimate is to reach, each in one row: what is asked, how far it should go, what
// was found, of how many, and whether that is enough.
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "condition_figures.hpp"

namespace evendrip::bench {

struct ReachRow {
  std::string asked;
  std::string reach;
  std::string found;
  std::string of;
  bool reached = false;
};
using ReachRows = std::vector<ReachRow>;

inline void tell_rows(const ReachRows& rows) {
  fmt::print("\n{:74} {:14} {:>20}  {:7}  of\n", "asked", "reach", "found", "reached");
  for (const ReachRow& row : rows)
    fmt::print("{:74} {:14} {:>20}  {:7}  {}\n", row.asked, row.reach, row.found,
               row.reached ? "yes" : "no", row.of);
}

inline std::string fields_text(std::size_t n) {
  return fmt::format("{} fields", n);
}
inline ReachRow at_most(std::string asked, double reach, double found, std::string of) {
  return {std::move(asked), fmt::format("at most {}", reach), fmt::format("{:.4f}", found),
          std::move(of), found <= reach};
}

/// Fields in which water is at fault, closed ends, pixel up to one spacing.
inline void add_ratio_rows(const Trials& trials, const Wanted& wanted, const std::string& which,
                           ReachRows& rows) {
  std::vector<double> all;
  std::vector<double> perfect;
  double worst = 0;
  std::string worst_kind;
  for (const ConditionTrouble kind : kinds_in(trials)) {
    if (!water_at_fault(kind)) continue;
    const Trials mine = of_kind(trials, kind);
    const std::size_t best = best_competitor(mine);
    const Trials some = those(mine, [&](const auto& t) { return fine_and_closed(t) && wanted(t); });
    if (some.empty()) continue;
    const std::vector<double> values = ratios(some, best);
    const std::vector<double> least = perfect_ratios(some, best);
    all.insert(all.end(), values.begin(), values.end());
    perfect.insert(perfect.end(), least.begin(), least.end());
    if (median_of(values) <= worst) continue;
    worst = median_of(values);
    worst_kind = to_text(kind);
  }
  if (all.empty()) return;
  const auto [low, high] = median_limits(all);
  const auto can = std::count_if(perfect.begin(), perfect.end(), [](double r) { return r <= 0.5; });
  rows.push_back({"error over that of the best competitor, closed, fine" + which, "median 0.5",
                  fmt::format("{:.3f} ({:.3f}-{:.3f})", median_of(all), low, high),
                  fields_text(all.size()), median_of(all) <= 0.5});
  rows.push_back({"  the same of the worst kind", "median 0.8", fmt::format("{:.3f}", worst),
                  worst_kind, worst <= 0.8});
  rows.push_back({"  the same by perfect knowledge: no estimate does better", "-",
                  fmt::format("{:.3f}", median_of(perfect)),
                  fmt::format("0.5 or less in {} of {} fields", can, perfect.size()),
                  median_of(perfect) <= 0.5});
}

/// Where nothing is wrong with the water.
inline void add_clean_rows(const Trials& trials, ReachRows& rows) {
  const auto add = [&](const std::string& name, const Trials& some) {
    if (some.empty()) return;
    const auto errors = each(some, [](const auto& t) { return t.errors[0]; });
    const double floor = median_of(each(some, [](const auto& t) { return t.floor; }));
    rows.push_back(at_most(name + ": error, median", 0.02, median_of(errors),
                           fmt::format("{} fields, perfect knowledge {:.4f}", some.size(), floor)));
    rows.push_back(at_most(name + ": error, 95th percentile", 0.04, quantile(errors, 0.95),
                           fields_text(some.size())));
  };
  const Trials clean = of_kind(trials, ConditionTrouble::clean);
  const Trials soil = of_kind(trials, ConditionTrouble::soil_only);
  add("clean", clean);
  add("soil only", soil);
  if (clean.empty() || soil.empty()) return;
  Trials both = clean;
  both.insert(both.end(), soil.begin(), soil.end());
  add("clean and soil only", both);
}

inline void add_network_row(const Trials& trials, ReachRows& rows) {
  const Trials mine = those(of_kind(trials, ConditionTrouble::pressure_only),
                            [](const auto& t) { return t.explained.known(); });
  if (mine.empty()) return;
  const auto network = each(mine, [](const auto& t) { return t.explained.network; });
  const auto soil = each(mine, [](const auto& t) { return std::abs(t.explained.soil); });
  const double share = mean_of(mine, [](const auto& t) { return t.explained.right() ? 1.0 : 0.0; });
  rows.push_back(
      {fmt::format("pressure-only deficit: network takes it within {}, soil at most {}",
                   network_within, soil_near_0),
       "at least 0.95", fmt::format("{:.3f}", share),
       fmt::format("{} fields; network, median {:.2f}, soil, median {:.2f}, 95th percentile {:.2f}",
                   mine.size(), median_of(network), median_of(soil), quantile(soil, 0.95)),
       share >= 0.95});
}

/// 10 m means without own make and luck within the 90 % limits.
inline void add_coverage_rows(const Trials& trials, ReachRows& rows) {
  const auto coverage = [](const ConditionTrial& t) { return t.coverage; };
  const double all = mean_of(trials, coverage);
  rows.push_back({"coverage of 90 % limits, over all", "0.88 to 0.92", fmt::format("{:.3f}", all),
                  fields_text(trials.size()), all >= 0.88 && all <= 0.92});
  double least = 1;
  double most = 0;
  std::string outside;
  for (const ConditionTrouble kind : kinds_in(trials)) {
    const double mine = mean_of(of_kind(trials, kind), coverage);
    least = std::min(least, mine);
    most = std::max(most, mine);
    if (mine < 0.8 || mine > 0.96) outside += fmt::format(", {} {:.3f}", to_text(kind), mine);
  }
  rows.push_back({"  the same, least and most of a kind", "0.80 to 0.96",
                  fmt::format("{:.3f} to {:.3f}", least, most),
                  outside.empty() ? "every kind within" : "outside: " + outside.substr(2),
                  outside.empty()});
}

/// Share of emitters called low in fields whose water is clean.
inline void add_stripe_rows(const Trials& trials, ReachRows& rows) {
  const auto add = [&](ConditionTrouble kind, const std::string& asked, bool has_reach) {
    const Trials mine = of_kind(trials, kind);
    if (mine.empty()) return;
    double emitters = 0;
    double called = 0;
    for (const ConditionTrial& t : mine) {
      emitters += t.emitters;
      called += t.called_low * t.emitters;
    }
    const auto seen = those(mine, [](const auto& t) { return t.stripes > 0; }).size();
    rows.push_back(at_most(asked, 0.01, called / emitters,
                           fmt::format("{:.0f} of {:.0f} emitters, {} fields, stripes recognised "
                                       "in {}",
                                       called, emitters, mine.size(), seen)));
    if (!has_reach) rows.back().reach = "-";
  };
  add(ConditionTrouble::machine_told, "machine stripes that can be told: emitters called low",
      true);
  add(ConditionTrouble::machine_untold, "  a strip that cannot be told: emitters called low",
      false);
}

/// Faults of laterals that no hole hit, where the crop is fine and clear enough to show them.
inline void add_missed_row(const Trials& trials, ReachRows& rows) {
  const Trials mine = those(trials, [](const ConditionTrial& t) {
    const ConditionScenario& s = t.scenario;
    return s.trouble >= ConditionTrouble::weak_inlets &&
           s.trouble <= ConditionTrouble::pinched_line && s.pixel_over_spacing <= 0.5 &&
           s.crop_noise <= 0.1 && t.missed_emitters > 0;
  });
  int emitters = 0;
  int called = 0;
  int used = 0;
  for (const ConditionTrial& t : mine) {
    emitters += t.missed_emitters;
    called += t.missed_called;
    used += t.crop_used ? 1 : 0;
  }
  const double share = emitters > 0 ? static_cast<double>(called) / emitters : std::nan("");
  rows.push_back({"lateral faults of 0.3 over 30 m, no hole, fine and clear crop: called low",
                  "at least 0.8", fmt::format("{:.3f}", share),
                  fmt::format("{} of {} emitters, {} fields, crop used in {}", called, emitters,
                              mine.size(), used),
                  share >= 0.8});
}

/// Error over that of the holes alone.
inline void add_unrelated_row(const Trials& trials, ReachRows& rows) {
  const Trials mine = of_kind(trials, ConditionTrouble::unrelated_crop);
  if (mine.empty()) return;
  const std::vector<double> against = ratios(mine, 1);
  rows.push_back(at_most("crop unrelated to water: error over that of holes alone, largest", 1.05,
                         quantile(against, 1),
                         fmt::format("{} fields, median {:.3f}, 95th percentile {:.3f}",
                                     mine.size(), median_of(against), quantile(against, 0.95))));
}

inline void tell_reach(const Trials& trials) {
  ReachRows rows;
  add_ratio_rows(
      trials, [](const auto&) { return true; }, "", rows);
  add_ratio_rows(trials, lowers_some_place, ", some place truly low", rows);
  add_network_row(trials, rows);
  add_clean_rows(trials, rows);
  add_coverage_rows(trials, rows);
  add_stripe_rows(trials, rows);
  add_missed_row(trials, rows);
  add_unrelated_row(trials, rows);
  tell_rows(rows);
}

}  // namespace evendrip::bench
