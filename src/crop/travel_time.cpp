// SPDX-License-Identifier: Apache-2.0
#include "travel_time.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t parts = 24;  ///< of the passes, left out one after another
constexpr std::size_t fewest_pairs = 50;
constexpr double fewest_without_a_part = 25;
constexpr double least_depth = 4;  ///< of the curve, in its standard errors

double swath_or_1(const HarvestLog& log, std::size_t i) {
  const double swath = log.swath_m.size() == log.size() ? log.swath_m[i] : nan;
  return std::isfinite(swath) && swath > 0 ? swath : 1;
}

/// Value at a time between two records of one machine, `after` being the first that is not earlier.
double value_at(const DrivenLog& driven, std::span<const double> rates, std::size_t before,
                std::size_t after, double time_s) {
  const double from = driven.clock_s[before], to = driven.clock_s[after];
  if (to - from <= 1.75 * driven.interval_s) {
    if (time_s == to) return rates[after];
    if (time_s == from) return rates[before];
    const double share = (time_s - from) / (to - from);
    return rates[before] + share * (rates[after] - rates[before]);
  }
  if (to - time_s <= 0.6 * driven.interval_s) return rates[after];
  if (time_s - from <= 0.6 * driven.interval_s) return rates[before];
  return nan;
}

/// Moves the rates of the records order[begin, end), whose clock never runs backwards.
void move_run(const DrivenLog& driven, std::span<const double> rates, std::size_t begin,
              std::size_t end, double travel_s, std::vector<double>& moved) {
  std::size_t after = begin;
  for (std::size_t k = begin; k < end; ++k) {
    const double time = driven.clock_s[driven.order[k]] + travel_s;
    while (after < end && driven.clock_s[driven.order[after]] < time) ++after;
    double& value = moved[driven.order[k]];
    if (after == end) {
      const std::size_t last = driven.order[end - 1];
      value = time - driven.clock_s[last] <= 0.01 * driven.interval_s ? rates[last] : nan;
    } else if (after == begin) {
      const std::size_t first = driven.order[begin];
      value = driven.clock_s[first] - time <= 0.01 * driven.interval_s ? rates[first] : nan;
    } else {
      value = value_at(driven, rates, driven.order[after - 1], driven.order[after], time);
    }
  }
}

/// Values of the machine's own pairs at every time tried.
struct Trials {
  std::vector<double> times_s;
  std::vector<RecordPair> pairs;
  std::vector<std::size_t> part;                ///< of each pair
  std::vector<std::vector<double>> difference;  ///< [time][pair]; NaN where one is not known
  double level = 0;                             ///< middle yield
};

std::vector<double> tried_times(double interval_s, double longest_s) {
  const double step = interval_s * std::ceil(std::max(longest_s / 80, 0.45) / interval_s - 1e-9);
  std::vector<double> times;
  const int before = static_cast<int>(std::floor(0.25 * longest_s / step + 1e-9));
  const int after = static_cast<int>(std::floor(longest_s / step + 1e-9));
  for (int k = -before; k <= after; ++k) times.push_back(k * step);
  return times;
}

std::vector<RecordPair> pairs_of(const HarvestLog& log, const DrivenLog& driven,
                                 std::span<const RecordPair> pairs, std::size_t machine) {
  std::vector<char> own(log.size(), 0);
  for (std::size_t k = driven.machine[machine]; k < driven.machine[machine + 1]; ++k)
    own[driven.order[k]] = 1;
  std::vector<RecordPair> kept;
  for (const RecordPair& pair : pairs)
    if (own[pair.a] != 0) kept.push_back(pair);
  return kept;
}

/// Parts of the passes one after another: neighbours belong together, because their errors do.
std::vector<std::size_t> parts_of(const DrivenLog& driven, std::span<const RecordPair> pairs) {
  std::vector<std::size_t> part;
  for (const RecordPair& pair : pairs)
    part.push_back(static_cast<std::size_t>(driven.pass[pair.a]) * parts /
                   static_cast<std::size_t>(std::max(1, driven.passes)));
  return part;
}

Trials trials_of(const HarvestLog& log, const DrivenLog& driven, std::span<const double> rates,
                 std::span<const RecordPair> pairs, std::size_t machine, double longest_s,
                 const Work& work) {
  Trials trials;
  trials.times_s = tried_times(driven.interval_s, longest_s);
  trials.pairs = pairs_of(log, driven, pairs, machine);
  trials.part = parts_of(driven, trials.pairs);
  trials.difference.resize(trials.times_s.size());
  std::vector<double> levels(trials.times_s.size());
  for_each_chunk(work, trials.times_s.size(), 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t t = begin; t < end; ++t) {
      const std::vector<double> travel(driven.machine.size() - 1, trials.times_s[t]);
      const std::vector<double> yields = yields_of(log, driven, moved_back(driven, rates, travel));
      std::vector<double> sums;
      for (const RecordPair& pair : trials.pairs) {
        const double a = yields[pair.a], b = yields[pair.b];
        const bool known = a > 0 && b > 0 && std::isfinite(a + b);
        trials.difference[t].push_back(known ? a - b : nan);
        if (known) sums.push_back(0.5 * (a + b));
      }
      levels[t] = median_of(std::move(sums));
    }
  });
  trials.level = median_of(std::move(levels));
  return trials;
}

/// Where enough pairs are known at every time, only they count: then all times are judged by the
/// same pairs.
void keep_common_pairs(Trials& trials) {
  std::vector<char> common(trials.pairs.size(), 1);
  for (const std::vector<double>& row : trials.difference)
    for (std::size_t p = 0; p < row.size(); ++p)
      if (std::isnan(row[p])) common[p] = 0;
  const auto count = static_cast<std::size_t>(std::count(common.begin(), common.end(), char{1}));
  if (count < 4 * fewest_pairs || count * 10 < 3 * common.size()) return;
  for (std::vector<double>& row : trials.difference)
    for (std::size_t p = 0; p < row.size(); ++p)
      if (common[p] == 0) row[p] = nan;
}

/// Three robust standard deviations of the differences where they are least.
double clip_of(const Trials& trials) {
  double least = std::numeric_limits<double>::infinity();
  for (const std::vector<double>& row : trials.difference) {
    std::vector<double> sizes;
    for (const double d : row)
      if (!std::isnan(d)) sizes.push_back(std::abs(d));
    if (sizes.size() >= fewest_pairs) least = std::min(least, median_in_place(sizes));
  }
  return 3 * 1.4826 * least;
}

struct Sum {
  double squares = 0;
  double count = 0;
};
using SumsByPart = std::array<Sum, parts>;

std::vector<SumsByPart> clipped_sums(const Trials& trials, double clip) {
  std::vector<SumsByPart> sums(trials.times_s.size());
  for (std::size_t t = 0; t < sums.size(); ++t)
    for (std::size_t p = 0; p < trials.pairs.size(); ++p) {
      const double d = trials.difference[t][p];
      if (std::isnan(d)) continue;
      Sum& sum = sums[t][trials.part[p]];
      sum.squares += std::min(d * d, clip * clip);
      sum.count += 1;
    }
  return sums;
}

/// Mean clipped square at each time, without one part (parts: without none); NaN without pairs.
std::vector<double> curve_without(const std::vector<SumsByPart>& sums, std::size_t left_out) {
  std::vector<double> curve;
  for (const SumsByPart& by_part : sums) {
    Sum all;
    for (std::size_t g = 0; g < parts; ++g) {
      if (g == left_out) continue;
      all.squares += by_part[g].squares;
      all.count += by_part[g].count;
    }
    curve.push_back(all.count >= fewest_without_a_part ? all.squares / all.count : nan);
  }
  return curve;
}

struct Least {
  double time_s = 0;
  double depth = 0;  ///< below the middle of the curve, over that middle
  bool inside = false;
};

/// Least of a curve, between the times tried by the parabola through those within 2 s of it.
std::optional<Least> least_of(const std::vector<double>& times, const std::vector<double>& curve) {
  std::vector<double> known;
  std::size_t at = curve.size();
  for (std::size_t t = 0; t < curve.size(); ++t) {
    if (std::isnan(curve[t])) continue;
    known.push_back(curve[t]);
    if (at == curve.size() || curve[t] < curve[at]) at = t;
  }
  if (known.size() < 5) return std::nullopt;
  const double middle = median_in_place(known);
  Least least{times[at], middle > 0 ? (middle - curve[at]) / middle : 0, false};
  if (at == 0 || at + 1 == curve.size()) return least;
  const double step = times[1] - times[0];
  const auto wanted = static_cast<std::size_t>(std::max(1.0, std::round(2 / step)));
  const std::size_t side = std::min({wanted, at, curve.size() - 1 - at});
  double s2 = 0, s4 = 0, y1 = 0, y0 = 0, y2 = 0, n = 0;
  for (std::size_t t = at - side; t <= at + side; ++t) {
    const double x = static_cast<double>(t) - static_cast<double>(at);
    if (std::isnan(curve[t])) return least;
    n += 1, s2 += x * x, s4 += x * x * x * x;
    y0 += curve[t], y1 += x * curve[t], y2 += x * x * curve[t];
  }
  least.inside = true;
  const double bend = (n * y2 - s2 * y0) / (n * s4 - s2 * s2);
  if (bend > 0) least.time_s += step * std::clamp(-0.5 * (y1 / s2) / bend, -1.0, 1.0);
  return least;
}

struct Spread {
  double time_s = 0;
  double depth = 0;
};

/// Standard errors of the least by leaving out one part of the passes after another (the jackknife:
/// Quenouille 1956, Biometrika 43:353-360; Tukey 1958).
Spread spread_of(const Trials& trials, const std::vector<SumsByPart>& sums) {
  std::vector<Least> found;
  for (std::size_t g = 0; g < parts; ++g)
    if (const auto least = least_of(trials.times_s, curve_without(sums, g)))
      found.push_back(*least);
  if (found.size() < 2) return {nan, nan};
  const double n = static_cast<double>(found.size());
  Spread mean, squares;
  for (const Least& least : found) mean.time_s += least.time_s / n, mean.depth += least.depth / n;
  for (const Least& least : found) {
    squares.time_s += (least.time_s - mean.time_s) * (least.time_s - mean.time_s);
    squares.depth += (least.depth - mean.depth) * (least.depth - mean.depth);
  }
  return {std::sqrt((n - 1) / n * squares.time_s), std::sqrt((n - 1) / n * squares.depth)};
}

std::string why_not(const std::string& reason) {
  return "The grain's travel time cannot be told from this log: " + reason + ".";
}

void judge(TravelTime& travel, const Least& least, const Spread& spread, double interval_s) {
  if (!least.inside) {
    travel.why = why_not("opposite passes agree best at the end of the times tried");
  } else if (!(least.depth > 0.01) || !(least.depth > least_depth * spread.depth)) {
    travel.why = why_not("opposite passes agree about as well at any time, so the curve is flat");
  } else if (!(spread.time_s <= std::max(interval_s, 2.0))) {
    travel.why = why_not(
        fmt::format("different parts of the field tell different times (standard error {:.1f} s)",
                    spread.time_s));
  } else {
    travel.estimated = true;
    travel.used_s = least.time_s;
    travel.why = fmt::format(
        "Neighbouring passes driven in opposite directions agree best when the grain is moved back "
        "by {:.1f} s (standard error {:.1f} s); there they differ by {:.0f} % less than usual over "
        "the times tried.",
        least.time_s, spread.time_s, 100 * (1 - std::sqrt(std::max(0.0, 1 - least.depth))));
    if (least.time_s < -0.5 * interval_s)
      travel.why +=
          " A time below 0 says that the log was already moved too far, or that the cutter runs "
          "ahead of the receiver.";
  }
}

}  // namespace

std::vector<double> grain_rates(const HarvestLog& log, const DrivenLog& driven) {
  std::vector<double> rates(log.size(), nan);
  if (!driven.has_speed()) return rates;
  const bool flows = log.mass_flow_kg_s.size() == log.size();
  for (std::size_t i = 0; i < log.size(); ++i) {
    const double by_yield = log.yield_t_ha[i] * driven.speed_m_s[i] * swath_or_1(log, i);
    const bool has_area = driven.speed_m_s[i] > 0;
    rates[i] = has_area ? by_yield : nan;
    if (std::isfinite(rates[i]) || !flows) continue;
    const double moisture = log.moisture_frac.size() == log.size() ? log.moisture_frac[i] : nan;
    const double dry = std::isfinite(moisture) ? (1 - moisture) / (1 - log.basis_frac) : 1;
    rates[i] = 10 * log.mass_flow_kg_s[i] * dry;
  }
  return rates;
}

std::vector<double> moved_back(const DrivenLog& driven, std::span<const double> rates,
                               std::span<const double> travel_s) {
  std::vector<double> moved(rates.size(), nan);
  for (std::size_t m = 0; m + 1 < driven.machine.size(); ++m) {
    std::size_t begin = driven.machine[m];
    for (std::size_t k = begin + 1; k <= driven.machine[m + 1]; ++k) {
      const bool ends = k == driven.machine[m + 1] ||
                        driven.clock_s[driven.order[k]] < driven.clock_s[driven.order[k - 1]];
      if (!ends) continue;
      move_run(driven, rates, begin, k, travel_s[m], moved);
      begin = k;
    }
  }
  return moved;
}

std::vector<double> yields_of(const HarvestLog& log, const DrivenLog& driven,
                              std::span<const double> rates) {
  std::vector<double> yields(log.size(), nan);
  for (std::size_t i = 0; i < log.size(); ++i) {
    const double speed = driven.speed_m_s[i];
    if (speed > 0) yields[i] = rates[i] / (speed * swath_or_1(log, i));
  }
  return yields;
}

TravelTime estimated_travel_time(const HarvestLog& log, const DrivenLog& driven,
                                 std::span<const double> rates, std::span<const RecordPair> pairs,
                                 std::size_t machine, double longest_s, const Work& work) {
  TravelTime travel;
  if (!driven.has_clock() || !driven.has_speed()) {
    travel.why = why_not("it has no times");
    return travel;
  }
  if (longest_s < 4 * driven.interval_s) {
    travel.why = why_not("the longest time to be tried spans fewer than four records");
    return travel;
  }
  Trials trials = trials_of(log, driven, rates, pairs, machine, longest_s, work);
  if (trials.pairs.size() < fewest_pairs) {
    travel.why = why_not(fmt::format(
        "{} records have one of a neighbouring pass beside them that was driven the other way",
        trials.pairs.size()));
    return travel;
  }
  keep_common_pairs(trials);
  const std::vector<SumsByPart> sums = clipped_sums(trials, clip_of(trials));
  const std::vector<double> curve = curve_without(sums, parts);
  for (std::size_t t = 0; t < curve.size(); ++t) {
    if (std::isnan(curve[t])) continue;
    travel.tried_s.push_back(trials.times_s[t]);
    travel.disagreement.push_back(trials.level > 0 ? std::sqrt(curve[t]) / trials.level : 0);
  }
  const std::optional<Least> least = least_of(trials.times_s, curve);
  if (!least) {
    travel.why = why_not("too few of its yields are known");
    return travel;
  }
  judge(travel, *least, spread_of(trials, sums), driven.interval_s);
  return travel;
}

}  // namespace evendrip
