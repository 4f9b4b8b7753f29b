// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/network_faults.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <optional>
#include <utility>

#include "faulty_zone.hpp"
#include "lumped_network.hpp"

namespace evendrip {
namespace {

constexpr std::size_t chunk = 8;
/// Open shares of the bore that a pinch is tried with, and what it should take of the water that a
/// shut pipe would take there.
constexpr std::array<double, 10> open_shares = {0.5,   0.25,  0.125, 0.0625, 0.031,
                                                0.016, 0.008, 0.004, 0.002,  0.001};
constexpr double share_taken = 1.0 / 3;
constexpr std::array<double, 3> lateral_places = {0.25, 0.5, 0.75};
constexpr int manifold_places = 8;
constexpr double cut_severity = 0.05;
/// Segments' worth of water that a fault must take to be a candidate.
constexpr double least_taken = 0.05;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Segments' worth of water that a fault takes.
double taken(const FaultyZone& zone, const Fault& fault) {
  const auto effect = zone.with(std::span(&fault, 1));
  if (!effect) return 0;
  return -std::accumulate(effect->change.begin(), effect->change.end(), 0.0,
                          [](double sum, double change) { return sum + std::min(0.0, change); });
}

/// The same place shut and pinched; nothing where shutting it does not matter.
std::vector<Fault> shut_and_pinched(const FaultyZone& zone, Fault place) {
  place.kind = FaultKind::shut;
  const double by_shut = taken(zone, place);
  if (!(by_shut > least_taken)) return {};
  Fault best = place;
  double off = by_shut;
  for (const double open : open_shares) {
    Fault pinch = place;
    pinch.kind = FaultKind::pinch;
    pinch.severity = 1 - open;
    const double gap = std::abs(taken(zone, pinch) - share_taken * by_shut);
    if (gap >= off) break;
    off = gap;
    best = pinch;
  }
  return {place, best};
}

/// Severity of the pinch that stands for all laterals at that share of their length.
double lateral_pinch(const FaultyZone& zone, const SegmentGrid& grid, double share) {
  const auto& laterals = zone.network().laterals;
  const int lateral = laterals[laterals.size() / 2].lateral;
  const int row = grid.row_of(lateral);
  const double length_m =
      row < 0 ? laterals[laterals.size() / 2].stations_m.back() : grid.lengths_m[at(row)];
  const auto faults =
      shut_and_pinched(zone, {FaultKind::shut, true, lateral, share * length_m, 0.5});
  return faults.empty() ? 1 - open_shares[3] : faults.back().severity;
}

std::vector<Fault> on_laterals(const FaultyZone& zone, const SegmentGrid& grid) {
  std::vector<double> shares = {0};
  shares.insert(shares.end(), lateral_places.begin(), lateral_places.end());
  std::vector<double> severities;
  for (const double share : shares) severities.push_back(lateral_pinch(zone, grid, share));
  std::vector<Fault> faults;
  for (const NetworkLateral& lateral : zone.network().laterals) {
    if (grid.row_of(lateral.lateral) < 0) continue;
    const double length_m = lateral.stations_m.back();
    for (std::size_t i = 0; i < shares.size(); ++i) {
      const double station_m = shares[i] * length_m;
      faults.push_back({FaultKind::shut, true, lateral.lateral, station_m, 0});
      faults.push_back({FaultKind::pinch, true, lateral.lateral, station_m, severities[i]});
      if (i > 0) faults.push_back({FaultKind::cut, true, lateral.lateral, station_m, cut_severity});
    }
  }
  return faults;
}

/// Sections of supply manifolds, evenly one for each eighth of them, both ends among them.
std::vector<Fault> on_manifolds(const Field& field, const FaultyZone& zone) {
  std::vector<Fault> faults;
  for (std::size_t m = 0; m < field.manifolds.size(); ++m) {
    if (!field.manifolds[m].supply) continue;
    std::vector<double> middles;
    for (const NetworkSection& section : zone.network().sections)
      if (section.manifold == static_cast<int>(m))
        middles.push_back(0.5 * (section.from_m + section.to_m));
    std::sort(middles.begin(), middles.end());
    const std::size_t places = std::min<std::size_t>(middles.size(), manifold_places + 1);
    for (std::size_t i = 0; i < places; ++i) {
      const std::size_t pick = places == 1 ? 0 : i * (middles.size() - 1) / (places - 1);
      const auto both =
          shut_and_pinched(zone, {FaultKind::shut, false, static_cast<int>(m), middles[pick], 0.5});
      faults.insert(faults.end(), both.begin(), both.end());
    }
  }
  return faults;
}

}  // namespace

std::vector<Fault> candidate_faults(const Field& field, const SegmentGrid& grid,
                                    const ExpectedZone& expected) {
  if (!expected.computed || !expected.network || expected.network->laterals.empty()) return {};
  const FaultyZone zone(grid, lumped_network(grid, *expected.network), {});
  std::vector<Fault> faults = on_laterals(zone, grid);
  const std::vector<Fault> more = on_manifolds(field, zone);
  faults.insert(faults.end(), more.begin(), more.end());
  return faults;
}

std::vector<FaultResponse> fault_responses(const SegmentGrid& grid, const ExpectedZone& expected,
                                           const std::vector<Fault>& faults, const Work& work) {
  std::vector<FaultResponse> responses(faults.size());
  for (std::size_t i = 0; i < faults.size(); ++i) responses[i].fault = faults[i];
  if (!expected.computed || !expected.network || faults.empty()) return responses;
  const FaultyZone zone(grid, lumped_network(grid, *expected.network), {});
  for_each_chunk(work, faults.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i)
      if (auto effect = zone.with(std::span(&faults[i], 1)))
        responses[i].change = std::move(effect->change);
  });
  return responses;
}

}  // namespace evendrip
