// SPDX-License-Identifier: Apache-2.0
#include "passes.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <span>

#include "evendrip/base/median.hpp"

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double degree = std::numbers::pi / 180;
constexpr double turn_limit_deg = 60;
constexpr std::size_t remembered_headings = 5;

/// Values in the order driven, with the few that are missing (one in ten at most) laid evenly
/// between those before and after; empty where more are missing.
std::vector<double> filled(std::vector<double> values, const std::vector<std::size_t>& order) {
  if (values.size() != order.size()) return {};
  std::vector<std::size_t> known;  // positions in the order
  for (std::size_t k = 0; k < order.size(); ++k)
    if (std::isfinite(values[order[k]])) known.push_back(k);
  if (known.empty() || known.size() * 10 < order.size() * 9) return {};
  std::size_t next = 0;
  for (std::size_t k = 0; k < order.size(); ++k) {
    while (next < known.size() && known[next] < k) ++next;
    if (next < known.size() && known[next] == k) continue;
    const std::size_t after = next < known.size() ? known[next] : known.back();
    const std::size_t before = next > 0 ? known[next - 1] : known.front();
    const double share =
        after == before ? 0 : static_cast<double>(k - before) / static_cast<double>(after - before);
    values[order[k]] =
        values[order[before]] + share * (values[order[after]] - values[order[before]]);
  }
  return values;
}

/// Times as logged, or the durations added up where there are no times.
std::vector<double> clock_of(const HarvestLog& log, const std::vector<std::size_t>& order) {
  std::vector<double> clock = filled(log.time_s, order);
  if (!clock.empty()) return clock;
  clock = filled(log.duration_s, order);
  double time = 0;
  if (!clock.empty())
    for (const std::size_t i : order) clock[i] = time += std::max(0.0, clock[i]);
  return clock;
}

std::vector<std::size_t> by_machine(const HarvestLog& log, std::vector<std::size_t>& begins) {
  std::vector<std::size_t> order(log.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const bool known = log.machine.size() == log.size();
  if (known)
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return log.machine[a] < log.machine[b]; });
  begins = {0};
  if (order.empty()) return order;
  for (std::size_t k = 1; k < order.size(); ++k)
    if (known && log.machine[order[k]] != log.machine[order[k - 1]]) begins.push_back(k);
  begins.push_back(order.size());
  return order;
}

/// A file that was sorted by something else than time is put back into the order of time; where
/// only a few records step back (days that stand one after another), the file's order is kept.
void order_by_time(DrivenLog& driven) {
  if (driven.clock_s.empty()) return;
  const std::vector<double>& clock = driven.clock_s;
  for (std::size_t m = 0; m + 1 < driven.machine.size(); ++m) {
    const auto begin = driven.order.begin() + static_cast<std::ptrdiff_t>(driven.machine[m]);
    const auto end = driven.order.begin() + static_cast<std::ptrdiff_t>(driven.machine[m + 1]);
    std::ptrdiff_t back = 0;
    for (auto it = begin; it + 1 < end; ++it) back += clock[*(it + 1)] < clock[*it] ? 1 : 0;
    if (back * 20 > end - begin)
      std::stable_sort(begin, end,
                       [&](std::size_t a, std::size_t b) { return clock[a] < clock[b]; });
  }
}

/// Middle value of f(record before, record) over the records as driven, where it is above 0.
template <typename Value>
double usual(const DrivenLog& driven, const Value& value) {
  std::vector<double> values;
  for (std::size_t m = 0; m + 1 < driven.machine.size(); ++m)
    for (std::size_t k = driven.machine[m] + 1; k < driven.machine[m + 1]; ++k) {
      const double v = value(driven.order[k - 1], driven.order[k]);
      if (std::isfinite(v) && v > 0) values.push_back(v);
    }
  return median_of(std::move(values));
}

/// Whether a record does not follow the one before it without a break.
std::vector<char> breaks_of(const HarvestLog& log, const DrivenLog& driven) {
  std::vector<char> breaks(log.size(), 0);
  for (std::size_t m = 0; m + 1 < driven.machine.size(); ++m) {
    if (driven.machine[m] < log.size()) breaks[driven.order[driven.machine[m]]] = 1;
    for (std::size_t k = driven.machine[m] + 1; k < driven.machine[m + 1]; ++k) {
      const std::size_t before = driven.order[k - 1], here = driven.order[k];
      const double gap_s = driven.has_clock() ? driven.clock_s[here] - driven.clock_s[before] : 0;
      const double jump_m = distance_m(log.places[before], log.places[here]);
      const bool late = driven.has_clock() && gap_s > 3.5 * driven.interval_s;
      breaks[here] = late || gap_s < 0 || jump_m > 4 * driven.step_m ? 1 : 0;
    }
  }
  return breaks;
}

double heading_between(Point a, Point b) {
  const double heading = std::atan2(b.x - a.x, b.y - a.y) / degree;
  return heading < 0 ? heading + 360 : heading;
}

/// From the record before to the one after; a machine that stands keeps the heading it had.
std::vector<double> headings_of(const HarvestLog& log, const DrivenLog& driven,
                                const std::vector<char>& breaks) {
  std::vector<double> headings(log.size(), nan);
  double last = nan;
  for (std::size_t k = 0; k < driven.order.size(); ++k) {
    const std::size_t here = driven.order[k];
    const bool first = breaks[here] != 0;
    const bool end = k + 1 == driven.order.size() || breaks[driven.order[k + 1]] != 0;
    if (first) last = nan;
    if (first && end) continue;
    const Point from = log.places[first ? here : driven.order[k - 1]];
    const Point to = log.places[end ? here : driven.order[k + 1]];
    if (distance_m(from, to) > 0.2 * driven.step_m) last = heading_between(from, to);
    headings[here] = last;
  }
  return headings;
}

/// The last headings of a pass as vectors, and whether a new one turns away from them.
class Course {
 public:
  void begin() { known_ = 0; }
  void add(double heading_deg) {
    if (std::isnan(heading_deg)) return;
    const std::size_t at = known_ % remembered_headings;
    east_[at] = std::sin(heading_deg * degree);
    north_[at] = std::cos(heading_deg * degree);
    ++known_;
  }
  bool turns_to(double heading_deg) const {
    const std::size_t held = std::min(known_, remembered_headings);
    if (held == 0 || std::isnan(heading_deg)) return false;
    const double east = std::accumulate(east_, east_ + held, 0.0);
    const double north = std::accumulate(north_, north_ + held, 0.0);
    return turn_deg(std::atan2(east, north) / degree, heading_deg) > turn_limit_deg;
  }

 private:
  double east_[remembered_headings] = {};
  double north_[remembered_headings] = {};
  std::size_t known_ = 0;
};

/// Marks as breaks the records at which the machine turns into another direction.
void add_turns(const DrivenLog& driven, std::vector<char>& breaks) {
  Course course;
  for (std::size_t k = 0; k < driven.order.size(); ++k) {
    const std::size_t here = driven.order[k];
    const double heading = driven.heading_deg[here];
    if (breaks[here] == 0 && course.turns_to(heading)) {
      const bool end = k + 1 == driven.order.size() || breaks[driven.order[k + 1]] != 0;
      if (end || course.turns_to(driven.heading_deg[driven.order[k + 1]])) breaks[here] = 1;
    }
    if (breaks[here] != 0) course.begin();
    course.add(heading);
  }
}

std::vector<std::size_t> ranks_of(const DrivenLog& driven) {
  std::vector<std::size_t> by_time = driven.order;
  if (driven.machine.size() > 2 && driven.has_clock())
    std::stable_sort(by_time.begin(), by_time.end(), [&](std::size_t a, std::size_t b) {
      return driven.clock_s[a] < driven.clock_s[b];
    });
  std::vector<std::size_t> ranks(by_time.size());
  for (std::size_t k = 0; k < by_time.size(); ++k) ranks[by_time[k]] = k;
  return ranks;
}

/// Numbers the passes by the rank of their first records.
void number_passes(DrivenLog& driven, const std::vector<char>& breaks) {
  std::vector<std::size_t> first_ranks;
  driven.pass.assign(driven.order.size(), 0);
  for (std::size_t k = 0; k < driven.order.size(); ++k) {
    const std::size_t here = driven.order[k];
    if (breaks[here] != 0 || first_ranks.empty()) first_ranks.push_back(driven.rank[here]);
    driven.pass[here] = static_cast<int>(first_ranks.size()) - 1;
  }
  std::vector<std::size_t> by_rank(first_ranks.size());
  std::iota(by_rank.begin(), by_rank.end(), std::size_t{0});
  std::sort(by_rank.begin(), by_rank.end(),
            [&](std::size_t a, std::size_t b) { return first_ranks[a] < first_ranks[b]; });
  std::vector<int> numbers(by_rank.size());
  for (std::size_t n = 0; n < by_rank.size(); ++n) numbers[by_rank[n]] = static_cast<int>(n);
  for (int& pass : driven.pass) pass = numbers[static_cast<std::size_t>(pass)];
  driven.passes = static_cast<int>(numbers.size());
}

void measure_speed(const HarvestLog& log, DrivenLog& driven, const std::vector<char>& breaks,
                   double scale_factor) {
  const bool distances = log.distance_m.size() == log.size();
  const bool durations = log.duration_s.size() == log.size();
  driven.distance_m.assign(log.size(), nan);
  driven.speed_m_s.assign(log.size(), nan);
  bool any = false;
  for (std::size_t k = 0; k < driven.order.size(); ++k) {
    const std::size_t here = driven.order[k];
    const bool follows = breaks[here] == 0;
    double distance = distances ? log.distance_m[here] : nan;
    if (std::isnan(distance) && follows)
      distance = distance_m(log.places[driven.order[k - 1]], log.places[here]) / scale_factor;
    double duration = durations ? log.duration_s[here] : nan;
    if (std::isnan(duration) && follows && driven.has_clock())
      duration = driven.clock_s[here] - driven.clock_s[driven.order[k - 1]];
    driven.distance_m[here] = distance;
    if (duration > 0 && distance >= 0) driven.speed_m_s[here] = distance / duration;
    any = any || std::isfinite(driven.speed_m_s[here]);
  }
  if (!any) driven.speed_m_s.clear();
}

/// The widest that is logged but for one record in twenty.
double header_width_m(const HarvestLog& log) {
  std::vector<double> widths;
  for (const double swath : log.swath_m)
    if (std::isfinite(swath) && swath > 0) widths.push_back(swath);
  if (widths.empty()) return 0;
  const auto at = widths.begin() + static_cast<std::ptrdiff_t>((widths.size() - 1) * 19 / 20);
  std::nth_element(widths.begin(), at, widths.end());
  return *at;
}

}  // namespace

double turn_deg(double heading_a_deg, double heading_b_deg) {
  return std::abs(std::remainder(heading_a_deg - heading_b_deg, 360.0));
}

DrivenLog driven_log(const HarvestLog& log, double scale_factor) {
  DrivenLog driven;
  driven.order = by_machine(log, driven.machine);
  driven.clock_s = clock_of(log, driven.order);
  order_by_time(driven);
  if (!driven.clock_s.empty())
    driven.interval_s = usual(driven, [&](std::size_t before, std::size_t here) {
      return driven.clock_s[here] - driven.clock_s[before];
    });
  driven.step_m = usual(driven, [&](std::size_t before, std::size_t here) {
    return distance_m(log.places[before], log.places[here]);
  });
  driven.swath_m = header_width_m(log);
  driven.rank = ranks_of(driven);
  std::vector<char> breaks = breaks_of(log, driven);
  measure_speed(log, driven, breaks, scale_factor);
  driven.heading_deg = headings_of(log, driven, breaks);
  add_turns(driven, breaks);
  number_passes(driven, breaks);
  return driven;
}

void split_where_lifted(DrivenLog& driven, const std::vector<char>& lifted) {
  std::vector<char> breaks(driven.order.size(), 0);
  std::size_t up = 0;
  for (std::size_t k = 0; k < driven.order.size(); ++k) {
    const std::size_t here = driven.order[k];
    const bool begins = k == 0 || driven.pass[here] != driven.pass[driven.order[k - 1]];
    const bool down_again = lifted[here] == 0 && up >= 2;
    breaks[here] = begins || down_again ? 1 : 0;
    up = lifted[here] != 0 ? (begins ? 1 : up + 1) : 0;
  }
  number_passes(driven, breaks);
}

}  // namespace evendrip
