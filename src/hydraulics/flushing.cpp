// SPDX-License-Identifier: Apache-2.0
#include "flushing.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>

namespace evendrip {
namespace {

constexpr double wanted_m_s = 0.3;   // 1 ft/s at the line end, UC ANR
constexpr double careful_m_s = 0.5;  // for effluent or coarse particles, from memory
/// UC ANR, Maintenance of Microirrigation Systems: fewer than ten lines at a time.
constexpr int lines_flushed_together = 9;
/// Where the tape's limit is not stated; common practice, no source.
constexpr double inlet_search_factor = 3;
constexpr double velocity_tolerance_m_s = 1e-4;
constexpr int most_trials = 40;
constexpr double lph_per_m3_s = 3.6e6;

/// What one opening of far ends brings.
struct Flush {
  double smallest_velocity_m_s = 0;
  int slowest_lateral = -1;
  double inflow_lph = 0;
  double highest_kpa = 0;  ///< in the laterals
};

class Flushing {
 public:
  Flushing(const Field& field, const ExpectedZone& zone)
      : field_(field),
        clean_(*zone.network),
        solver_(clean_.network),
        state_(zone.state),
        by_manifold_(
            std::any_of(clean_.sections.begin(), clean_.sections.end(), [&](const auto& section) {
              return !field.manifolds[static_cast<std::size_t>(section.manifold)].supply;
            })) {
    order_neighbours();
  }

  bool by_manifold() const { return by_manifold_; }
  int laterals() const { return static_cast<int>(clean_.laterals.size()); }

  /// The first `lines` neighbours opened (all, by the flush manifold) at an inlet pressure.
  Flush at(double inlet_kpa, int lines) {
    const std::vector<int> open = opened(lines);
    ZoneNetwork network = with_open_ends(field_, clean_, by_manifold_ ? std::vector<int>{} : open);
    network.set_inlet_pressure(inlet_kpa);
    state_ = solver_.solve(network.network, &state_);
    Flush flush;
    flush.smallest_velocity_m_s = std::numeric_limits<double>::infinity();
    for (const int number : open) note_end_velocity(number, flush);
    flush.inflow_lph = state_.inflow_m3_s * lph_per_m3_s;
    for (const NetworkLateral& lateral : clean_.laterals) {
      for (const int node : lateral.nodes) {
        flush.highest_kpa = std::max(flush.highest_kpa, state_.pressure_kpa(network.network, node));
      }
    }
    return flush;
  }

 private:
  std::vector<int> opened(int lines) const {
    const auto count = by_manifold_ ? neighbours_.size() : static_cast<std::size_t>(lines);
    return {neighbours_.begin(), neighbours_.begin() + static_cast<std::ptrdiff_t>(count)};
  }

  void note_end_velocity(int number, Flush& flush) const {
    const NetworkLateral& lateral = clean_.laterals[static_cast<std::size_t>(number)];
    const auto last = static_cast<std::size_t>(lateral.first_pipe) + lateral.nodes.size() - 2;
    const Pipe& pipe = clean_.network.pipes[last];
    // Water that comes back from the flush manifold does not flush the line.
    const double velocity = velocity_m_s(state_.flow_m3_s[last], pipe.diameter_m);
    if (velocity >= flush.smallest_velocity_m_s) return;
    flush.smallest_velocity_m_s = velocity;
    flush.slowest_lateral = lateral.lateral;
  }

  Point supply_end(int number) const {
    const int lateral = clean_.laterals[static_cast<std::size_t>(number)].lateral;
    return field_.laterals[static_cast<std::size_t>(lateral)].line.front();
  }

  /// Laterals by distance from the one whose end has the least pressure.
  void order_neighbours() {
    neighbours_.resize(clean_.laterals.size());
    std::iota(neighbours_.begin(), neighbours_.end(), 0);
    const auto end_kpa = [&](int number) {
      return state_.pressure_kpa(clean_.network,
                                 clean_.laterals[static_cast<std::size_t>(number)].nodes.back());
    };
    const int weakest = *std::min_element(neighbours_.begin(), neighbours_.end(),
                                          [&](int a, int b) { return end_kpa(a) < end_kpa(b); });
    const Point centre = supply_end(weakest);
    const auto away = [&](int number) {
      const Point end = supply_end(number);
      return std::hypot(end.x - centre.x, end.y - centre.y);
    };
    std::stable_sort(neighbours_.begin(), neighbours_.end(),
                     [&](int a, int b) { return away(a) < away(b); });
  }

  const Field& field_;
  const ZoneNetwork& clean_;
  NetworkSolver solver_;
  NetworkState state_;
  bool by_manifold_;
  std::vector<int> neighbours_;
};

void stop_if_asked(const Work& work) {
  if (work.stop.stop_requested()) throw Interrupted();
}

/// Bisection: more lines open, slower ends.
int lines_at_once(Flushing& flushing, double inlet_kpa, const Work& work) {
  const auto reach = [&](int lines) {
    stop_if_asked(work);
    return flushing.at(inlet_kpa, lines).smallest_velocity_m_s >= wanted_m_s;
  };
  if (!reach(1)) return 0;
  int reached = 1;
  int missed = flushing.laterals() + 1;
  while (missed - reached > 1) {
    const int middle = reached + (missed - reached) / 2;
    (reach(middle) ? reached : missed) = middle;
  }
  return reached;
}

/// More pressure, faster ends: false position with Illinois halving (Dowell & Jarratt 1971, BIT
/// 11:168-174, from memory), from what was tried at `inlet_kpa`. NaN where the limit is met first.
double needed_inlet_kpa(Flushing& flushing, int lines, double inlet_kpa, const Flush& tried,
                        double limit_kpa, double at_most_kpa, const Work& work) {
  const bool reached = tried.smallest_velocity_m_s >= wanted_m_s;
  double low = reached ? 0 : inlet_kpa;
  double high = reached ? inlet_kpa : at_most_kpa;
  Flush flush = reached ? tried : flushing.at(high, lines);
  // Nothing flows without pressure.
  double below = reached ? -wanted_m_s : tried.smallest_velocity_m_s - wanted_m_s;
  double above = flush.smallest_velocity_m_s - wanted_m_s;
  if (above < 0) return std::numeric_limits<double>::quiet_NaN();
  double kpa = high;
  int side = 0;
  for (int i = 0; i < most_trials &&
                  std::abs(flush.smallest_velocity_m_s - wanted_m_s) > velocity_tolerance_m_s;
       ++i) {
    stop_if_asked(work);
    kpa = (low * above - high * below) / (above - below);
    flush = flushing.at(kpa, lines);
    const double over = flush.smallest_velocity_m_s - wanted_m_s;
    if (over < 0) {
      low = kpa;
      below = over;
      above *= side == -1 ? 0.5 : 1.0;
      side = -1;
    } else {
      high = kpa;
      above = over;
      below *= side == 1 ? 0.5 : 1.0;
      side = 1;
    }
  }
  const bool beyond = limit_kpa > 0 && flush.highest_kpa > limit_kpa;
  return beyond ? std::numeric_limits<double>::quiet_NaN() : kpa;
}

/// Highest inlet pressure worth trying: lower ground can pass the tape's limit before the inlet.
double inlet_search_limit_kpa(double limit_kpa, double inlet_kpa) {
  return limit_kpa > 0 ? std::max(limit_kpa, inlet_kpa) * 1.5 : inlet_search_factor * inlet_kpa;
}

}  // namespace

std::optional<FlushCheck> flush_check(const Field& field, const ExpectedZone& zone,
                                      const Work& work) {
  const LateralSpec& spec = field.zones[static_cast<std::size_t>(zone.zone)].lateral;
  if (!zone.network || zone.network->laterals.empty()) return std::nullopt;
  if (spec.ends == LateralEnds::both_fed) return std::nullopt;
  Flushing flushing(field, zone);
  if (flushing.by_manifold() != (spec.ends == LateralEnds::flush_manifold)) return std::nullopt;
  FlushCheck check;
  check.inlet_pressure_kpa = zone.gauges.inlet_kpa.value;
  check.lines_open = flushing.by_manifold() ? flushing.laterals()
                                            : std::min(lines_flushed_together, flushing.laterals());
  const Flush flush = flushing.at(check.inlet_pressure_kpa, check.lines_open);
  check.smallest_velocity_m_s = flush.smallest_velocity_m_s;
  check.slowest_lateral = flush.slowest_lateral;
  check.inflow_lph = flush.inflow_lph;
  check.reaches_0_3 = flush.smallest_velocity_m_s >= wanted_m_s;
  check.reaches_0_5 = flush.smallest_velocity_m_s >= careful_m_s;
  check.lines_at_once = flushing.by_manifold()
                            ? (check.reaches_0_3 ? flushing.laterals() : 0)
                            : lines_at_once(flushing, check.inlet_pressure_kpa, work);
  check.needed_inlet_kpa = needed_inlet_kpa(
      flushing, check.lines_open, check.inlet_pressure_kpa, flush, spec.max_pressure_kpa,
      inlet_search_limit_kpa(spec.max_pressure_kpa, check.inlet_pressure_kpa), work);
  return check;
}

}  // namespace evendrip
