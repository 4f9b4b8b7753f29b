// SPDX-License-Identifier: Apache-2.0
// How much of the water the crop of a field shows at all, place by place: the least error that any
// rising function of it has, fitted to the truth itself (isotonic regression, pool adjacent
// violators: Barlow, Bartholomew, Bremner & Brunk 1972, "Statistical Inference under Order
// Restrictions", from memory). An estimate that does better has it from elsewhere: holes, pressure,
// or the shape of what is at fault.
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <vector>

#include <fmt/format.h>

#include "condition_figures.hpp"

namespace evendrip::bench {

struct CropBound {
  ConditionTrial trial;            ///< its scenario, floor and the competitors' errors
  std::array<double, 3> errors{};  ///< in the order of bound_names
};
inline constexpr std::array<const char*, 3> bound_names = {"even, no noise", "even soil",
                                                           "as it is"};

/// Root mean square of y about the best rising function of x; about a mean where x is not a number.
inline double error_of_rising(const std::vector<double>& x, const std::vector<double>& y) {
  struct Pool {
    double sum = 0;
    double squares = 0;
    double n = 0;
    void add(const Pool& other) {
      sum += other.sum;
      squares += other.squares;
      n += other.n;
    }
    double off() const { return n > 0 ? squares - sum * sum / n : 0; }
  };
  std::vector<std::size_t> order;
  Pool unseen;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (std::isfinite(x[i]))
      order.push_back(i);
    else
      unseen.add({y[i], y[i] * y[i], 1});
  }
  std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return x[a] < x[b]; });
  std::vector<Pool> pools;
  for (const std::size_t i : order) {
    pools.push_back({y[i], y[i] * y[i], 1});
    while (pools.size() > 1) {
      const Pool last = pools.back();
      Pool& before = pools[pools.size() - 2];
      if (before.sum / before.n < last.sum / last.n) break;
      before.add(last);
      pools.pop_back();
    }
  }
  double squares = unseen.off();
  for (const Pool& pool : pools) squares += pool.off();
  return std::sqrt(std::max(0.0, squares) / static_cast<double>(x.size()));
}

inline double error_by_crop(const ConditionField& made, const std::vector<Stretch>& stretches) {
  const Known known = known_of(made);
  const std::vector<double> seen = crop_of_segments(known.grid, known.crop);
  std::vector<double> x;
  std::vector<double> y;
  for (const Stretch& stretch : stretches) {
    const int segment = known.grid.segment(known.grid.row_of(stretch.lateral),
                                           known.grid.station_of(stretch.middle_m));
    x.push_back(seen[static_cast<std::size_t>(segment)]);
    y.push_back(stretch.delivery);
  }
  return error_of_rising(x, y);
}

/// The same field, water and season, on soil that is the same everywhere and has no headland.
inline ConditionField on_even_soil(const ConditionField& made, double crop_noise) {
  SoilMapPlan soil;
  soil.units = 1;
  soil.patches = 0;
  soil.available_mm_m = {145, 145};
  soil.unit_factor = soil.patch_factor = {1, 1};
  SimulatedField even = made.actual;
  even.plan.soil_sd = 0;
  ConditionField out = made;
  out.scenario.crop_noise = crop_noise;
  out.evidence = {};
  see_crop(standing_crop(made, soil, SoilPattern(even)), out);
  return out;
}

inline CropBound crop_bound(const ConditionField& made) {
  CropBound bound;
  bound.trial.scenario = made.scenario;
  const std::vector<Stretch> stretches = stretches_of(made);
  const Known known = known_of(made);
  score_competitors(made, known, stretches, bound.trial);
  std::vector<double> shared;
  for (const Stretch& stretch : stretches) shared.push_back(stretch.shared);
  bound.trial.floor = error_of(stretches, shared);
  bound.errors = {error_by_crop(on_even_soil(made, 0), stretches),
                  error_by_crop(on_even_soil(made, made.scenario.crop_noise), stretches),
                  error_by_crop(made, stretches)};
  return bound;
}

/// Over the best competitor of each kind, the floor first.
inline void tell_bounds(const std::vector<CropBound>& bounds) {
  Trials trials;
  for (const CropBound& bound : bounds) trials.push_back(bound.trial);
  std::array<std::vector<double>, bound_names.size() + 1> all;
  fmt::print("{:16} {:>4} {:>14}", "trouble", "n", "perfect");
  for (const char* name : bound_names) fmt::print(" {:>14}", name);
  fmt::print("\n");
  const auto tell = [](const std::string& name, const auto& columns) {
    fmt::print("{:16} {:4}", name, columns[0].size());
    for (const std::vector<double>& column : columns) fmt::print(" {:14.3f}", median_of(column));
    fmt::print("\n");
  };
  for (const ConditionTrouble kind : kinds_in(trials)) {
    const std::size_t best = best_competitor(of_kind(trials, kind));
    std::array<std::vector<double>, bound_names.size() + 1> mine;
    for (const CropBound& bound : bounds) {
      if (bound.trial.scenario.trouble != kind) continue;
      const double least = bound.trial.errors[best];
      mine[0].push_back(bound.trial.floor / least);
      for (std::size_t m = 0; m < bound_names.size(); ++m)
        mine[m + 1].push_back(bound.errors[m] / least);
    }
    tell(to_text(kind), mine);
    for (std::size_t m = 0; m < mine.size(); ++m)
      all[m].insert(all[m].end(), mine[m].begin(), mine[m].end());
  }
  if (!trials.empty()) tell("over all", all);
}

}  // namespace evendrip::bench
