// SPDX-License-Identifier: Apache-2.0
#include "evendrip/repairs/route.hpp"

#include <algorithm>
#include <cstddef>
#include <limits>

namespace evendrip {
namespace {

// A change counts only if it saves more than rounding could: a tenth of a millimetre.
constexpr double least_saving_m = 1e-4;
constexpr std::size_t longest_run = 3;

/// The walk with the start as its first stop; stops are what the moves exchange.
using Walk = std::vector<Point>;

struct Route {
  Walk stops;              ///< stops[0] is the start
  std::vector<int> order;  ///< order[i] is the place of stops[i + 1]
};

Route nearest_neighbour(Point start, std::span<const Point> places) {
  Route route;
  route.stops.push_back(start);
  std::vector<bool> visited(places.size(), false);
  while (route.order.size() < places.size()) {
    std::size_t best = 0;
    double best_m = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < places.size(); ++i) {
      const double d = distance_m(route.stops.back(), places[i]);
      if (!visited[i] && d < best_m) {
        best = i;
        best_m = d;
      }
    }
    visited[best] = true;
    route.stops.push_back(places[best]);
    route.order.push_back(static_cast<int>(best));
  }
  return route;
}

/// Distance from stop i to the next; 0 after the last, where the walk is open.
double leg_m(const Walk& stops, std::size_t from, std::size_t to) {
  return to < stops.size() ? distance_m(stops[from], stops[to]) : 0;
}

double saving_of_reversal(const Walk& stops, std::size_t first, std::size_t last) {
  const double before = leg_m(stops, first - 1, first) + leg_m(stops, last, last + 1);
  const double after = leg_m(stops, first - 1, last) + leg_m(stops, first, last + 1);
  return before - after;
}

void reverse_run(Route& route, std::size_t first, std::size_t last) {
  const auto at = [](auto& v, std::size_t i) { return v.begin() + static_cast<std::ptrdiff_t>(i); };
  std::reverse(at(route.stops, first), at(route.stops, last + 1));
  std::reverse(at(route.order, first - 1), at(route.order, last));
}

/// Reverses runs while that shortens the walk; says whether anything changed.
bool reverse_runs(Route& route) {
  bool changed = false;
  for (std::size_t first = 1; first < route.stops.size(); ++first) {
    for (std::size_t last = first + 1; last < route.stops.size(); ++last) {
      if (saving_of_reversal(route.stops, first, last) > least_saving_m) {
        reverse_run(route, first, last);
        changed = true;
      }
    }
  }
  return changed;
}

/// The walk with stops first..last taken out and put back behind stop `after` of what is left.
Route with_run_moved(const Route& route, std::size_t first, std::size_t last, std::size_t after) {
  Route moved = route;
  const std::size_t length = last - first + 1;
  const auto move_in = [&](auto& items, std::size_t from, std::size_t to) {
    const auto begin = items.begin();
    const auto offset = [](std::size_t i) { return static_cast<std::ptrdiff_t>(i); };
    if (to < from) {
      std::rotate(begin + offset(to), begin + offset(from), begin + offset(from + length));
    } else {
      std::rotate(begin + offset(from), begin + offset(from + length), begin + offset(to + length));
    }
  };
  move_in(moved.stops, first, after + 1);
  move_in(moved.order, first - 1, after);
  return moved;
}

double saving_of_move(const Walk& stops, std::size_t first, std::size_t last, std::size_t after) {
  const std::size_t left = after < first ? after : after + (last - first + 1);
  const std::size_t right = left + 1;
  const double before =
      leg_m(stops, first - 1, first) + leg_m(stops, last, last + 1) + leg_m(stops, left, right);
  const double closed = last + 1 < stops.size() ? distance_m(stops[first - 1], stops[last + 1]) : 0;
  const double after_m = closed + leg_m(stops, left, first) + leg_m(stops, last, right);
  return before - after_m;
}

bool move_run(Route& route, std::size_t first, std::size_t last) {
  const std::size_t left_over = route.stops.size() - (last - first + 1);
  for (std::size_t after = 0; after < left_over; ++after) {
    if (after + 1 == first) continue;
    if (saving_of_move(route.stops, first, last, after) > least_saving_m) {
      route = with_run_moved(route, first, last, after);
      return true;
    }
  }
  return false;
}

/// Moves runs of one to three stops elsewhere while that shortens the walk.
bool move_runs(Route& route) {
  bool changed = false;
  for (std::size_t length = 1; length <= longest_run; ++length) {
    for (std::size_t first = 1; first + length <= route.stops.size(); ++first) {
      changed = move_run(route, first, first + length - 1) || changed;
    }
  }
  return changed;
}

}  // namespace

std::vector<int> walking_order(Point start, std::span<const Point> places) {
  Route route = nearest_neighbour(start, places);
  while (reverse_runs(route) || move_runs(route)) {
  }
  return route.order;
}

double walk_length_m(Point start, std::span<const Point> places, std::span<const int> order) {
  double length = 0;
  Point from = start;
  for (const int i : order) {
    const Point to = places[static_cast<std::size_t>(i)];
    length += distance_m(from, to);
    from = to;
  }
  return length;
}

}  // namespace evendrip
