// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/network_faults.hpp"

#include <algorithm>
#include <array>
#include <numeric>
#include <utility>

#include "faulty_zone.hpp"
#include "lumped_network.hpp"

namespace evendrip {
namespace {

constexpr std::size_t chunk = 8;
constexpr std::array<double, 4> lateral_places = {0, 0.25, 0.5, 0.75};
constexpr double cut_place = 0.5;
constexpr double cut_severity = 0.05;
constexpr std::size_t manifold_places = 24;
constexpr int fewest_in_group = 3;
/// Segments' worth of water that a section of manifold must carry to be a candidate.
constexpr double least_taken = 0.05;

/// Segments' worth of water that a fault takes.
double taken(const FaultyZone& zone, const Fault& fault) {
  const auto effect = zone.with(std::span(&fault, 1));
  if (!effect) return 0;
  return -std::accumulate(effect->change.begin(), effect->change.end(), 0.0,
                          [](double sum, double change) { return sum + std::min(0.0, change); });
}

std::vector<Fault> on_laterals(const FaultyZone& zone, const SegmentGrid& grid) {
  std::vector<Fault> faults;
  for (const NetworkLateral& lateral : zone.network().laterals) {
    if (grid.row_of(lateral.lateral) < 0) continue;
    const double length_m = lateral.stations_m.back();
    for (const double place : lateral_places)
      faults.push_back({FaultKind::shut, true, lateral.lateral, place * length_m, 0});
    faults.push_back({FaultKind::cut, true, lateral.lateral, cut_place * length_m, cut_severity});
  }
  return faults;
}

/// Sections of supply manifolds, evenly along them, both ends among them.
std::vector<Fault> on_manifolds(const Field& field, const FaultyZone& zone) {
  std::vector<Fault> faults;
  for (std::size_t m = 0; m < field.manifolds.size(); ++m) {
    if (!field.manifolds[m].supply) continue;
    std::vector<double> middles;
    for (const NetworkSection& section : zone.network().sections)
      if (section.manifold == static_cast<int>(m))
        middles.push_back(0.5 * (section.from_m + section.to_m));
    std::sort(middles.begin(), middles.end());
    const std::size_t places = std::min<std::size_t>(middles.size(), manifold_places);
    for (std::size_t i = 0; i < places; ++i) {
      const std::size_t pick = places == 1 ? 0 : i * (middles.size() - 1) / (places - 1);
      const Fault shut{FaultKind::shut, false, static_cast<int>(m), middles[pick], 0};
      if (taken(zone, shut) > least_taken) faults.push_back(shut);
    }
  }
  return faults;
}

/// Groups of `size` neighbours.
void add_groups(const std::vector<const NetworkLateral*>& laterals, std::size_t size,
                std::vector<SharedFault>& groups) {
  for (std::size_t first = 0; first + size <= laterals.size(); first += size / 3)
    for (const double place : lateral_places) {
      SharedFault group;
      double shortest_m = laterals[first]->stations_m.back();
      for (std::size_t i = first; i < first + size; ++i) {
        group.laterals.push_back(laterals[i]->lateral);
        shortest_m = std::min(shortest_m, laterals[i]->stations_m.back());
      }
      group.fault = {FaultKind::shut, true, group.laterals.front(), place * shortest_m, 0};
      groups.push_back(std::move(group));
    }
}

}  // namespace

std::vector<Fault> faults_of(const SharedFault& shared) {
  if (shared.laterals.empty()) return {shared.fault};
  std::vector<Fault> faults(shared.laterals.size(), shared.fault);
  for (std::size_t i = 0; i < faults.size(); ++i) faults[i].line = shared.laterals[i];
  return faults;
}

std::vector<SharedFault> shared_candidates(const Field& field, const SegmentGrid& grid,
                                           const ExpectedZone& expected, int laterals_seen) {
  std::vector<SharedFault> shared;
  for (const Fault& fault : candidate_faults(field, grid, expected))
    shared.push_back({fault, fault.on_lateral ? std::vector{fault.line} : std::vector<int>{}});
  if (shared.empty() || !expected.network) return shared;
  const auto laterals = laterals_in_order(*expected.network, grid);
  const auto size = static_cast<std::size_t>(std::max(fewest_in_group, laterals_seen));
  add_groups(laterals, size, shared);
  add_groups(laterals, 2 * size, shared);
  return shared;
}

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
