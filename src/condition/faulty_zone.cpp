// SPDX-License-Identifier: Apache-2.0
#include "faulty_zone.hpp"

#include <algorithm>
#include <utility>

#include "evendrip/base/error.hpp"

namespace evendrip {
namespace {

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// A pressure between two nodes.
struct Between {
  int first = -1;
  int second = -1;
  double share = 0;  ///< of the second
};

Between along(const NetworkLateral& lateral, double station_m) {
  const auto& stations = lateral.stations_m;
  const auto next = std::upper_bound(stations.begin(), stations.end(), station_m);
  if (next == stations.begin()) return {lateral.nodes.front(), lateral.nodes.front(), 0};
  if (next == stations.end()) return {lateral.nodes.back(), lateral.nodes.back(), 0};
  const auto i = static_cast<std::size_t>(next - stations.begin());
  return {lateral.nodes[i - 1], lateral.nodes[i],
          (station_m - stations[i - 1]) / (stations[i] - stations[i - 1])};
}

Between place_of(const ZoneNetwork& zone, const GaugedPlace& gauged) {
  for (const NetworkPort& port : zone.ports)
    if (gauged.port >= 0 && port.port == gauged.port) return {port.node, port.node, 0};
  if (gauged.port < 0)
    for (const NetworkLateral& lateral : zone.laterals)
      if (lateral.lateral == gauged.lateral) return along(lateral, gauged.station_m);
  return {zone.inlet_node, zone.inlet_node, 0};
}

/// The segment of each emitter's outlet, -1 off the grid.
std::vector<int> segments_of(const SegmentGrid& grid, const ZoneNetwork& zone) {
  std::vector<int> segments(zone.network.outlets.size(), -1);
  for (const NetworkLateral& lateral : zone.laterals) {
    const int row = grid.row_of(lateral.lateral);
    for (int i = 0; i < lateral.emitters && row >= 0; ++i)
      segments[at(lateral.first_outlet + i)] =
          grid.segment(row, grid.station_of(lateral.stations_m[at(i) + 1]));
  }
  return segments;
}

/// For each segment the nearest on its lateral that has emitters, the one before of two; -1 for
/// none and beyond the end.
std::vector<int> nearest_with_emitters(const SegmentGrid& grid, const std::vector<double>& clean) {
  std::vector<int> source(at(grid.segments()), -1);
  for (int row = 0; row < grid.rows(); ++row)
    for (int station = 0; station < grid.stations(); ++station) {
      if (!grid.present(row, station)) continue;
      for (int off = 0; off < grid.stations() && source[at(grid.segment(row, station))] < 0; ++off)
        for (const int other : {station + off, station - off}) {
          if (other < 0 || other >= grid.stations()) continue;
          if (clean[at(grid.segment(row, other))] > 0)
            source[at(grid.segment(row, station))] = grid.segment(row, other);
        }
    }
  return source;
}

}  // namespace

std::vector<const NetworkLateral*> laterals_in_order(const ZoneNetwork& network,
                                                     const SegmentGrid& grid) {
  std::vector<const NetworkLateral*> laterals;
  for (const NetworkLateral& lateral : network.laterals)
    if (grid.row_of(lateral.lateral) >= 0) laterals.push_back(&lateral);
  std::sort(laterals.begin(), laterals.end(), [&grid](const auto* a, const auto* b) {
    return grid.row_of(a->lateral) < grid.row_of(b->lateral);
  });
  return laterals;
}

struct FaultyZone::State {
  ZoneNetwork network;
  NetworkSolver solver;
  NetworkState state;
  std::vector<Between> gauged;
  std::vector<int> segment_of_outlet;
  std::vector<double> clean_lph;  ///< of each segment
  std::vector<int> source;        ///< segment whose change each one has
  FaultEffect clean;

  State(const SegmentGrid& grid, ZoneNetwork zone, const std::vector<GaugedPlace>& places)
      : network(std::move(zone)),
        solver(network.network),
        state(solver.solve(network.network)),
        segment_of_outlet(segments_of(grid, network)) {
    for (const GaugedPlace& place : places) gauged.push_back(place_of(network, place));
    clean_lph.assign(at(grid.segments()), 0);
    clean_lph = per_segment(state);
    source = nearest_with_emitters(grid, clean_lph);
    clean = effect_of(network, state);
  }

  std::vector<double> per_segment(const NetworkState& solved) const {
    std::vector<double> sums(clean_lph.size(), 0.0);
    for (std::size_t i = 0; i < segment_of_outlet.size(); ++i)
      if (segment_of_outlet[i] >= 0) sums[at(segment_of_outlet[i])] += solved.discharge_lph[i];
    return sums;
  }

  FaultEffect effect_of(const ZoneNetwork& zone, const NetworkState& solved) const {
    FaultEffect effect;
    const std::vector<double> lph = per_segment(solved);
    effect.change.reserve(source.size());
    for (const int from : source)
      effect.change.push_back(from < 0 ? 0 : lph[at(from)] / clean_lph[at(from)] - 1);
    for (const Between& place : gauged)
      effect.gauged_kpa.push_back((1 - place.share) *
                                      solved.pressure_kpa(zone.network, place.first) +
                                  place.share * solved.pressure_kpa(zone.network, place.second));
    effect.inflow = solved.inflow_m3_s / state.inflow_m3_s;
    return effect;
  }

  NetworkState solved(const Network& faulty) const {
    if (faulty.elevation_m.size() != network.network.elevation_m.size() ||
        faulty.pipes.size() != network.network.pipes.size())
      return solve_network(faulty);
    try {
      return solver.solve(faulty, &state);
    } catch (const InputError&) {
      return solver.solve(faulty);
    }
  }
};

FaultyZone::FaultyZone(const SegmentGrid& grid, ZoneNetwork clean,
                       const std::vector<GaugedPlace>& gauged)
    : state_(std::make_unique<State>(grid, std::move(clean), gauged)) {}
FaultyZone::~FaultyZone() = default;
FaultyZone::FaultyZone(FaultyZone&&) noexcept = default;

const FaultEffect& FaultyZone::clean() const {
  return state_->clean;
}

const ZoneNetwork& FaultyZone::network() const {
  return state_->network;
}

std::optional<FaultEffect> FaultyZone::with(std::span<const Fault> faults) const {
  const ZoneNetwork faulty = with_faults(state_->network, faults);
  try {
    return state_->effect_of(faulty, state_->solved(faulty.network));
  } catch (const InputError&) {
    return {};
  }
}

}  // namespace evendrip
