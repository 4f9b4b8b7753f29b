// SPDX-License-Identifier: Apache-2.0
// A zone solved again and again with faults in its pipes: what every segment then gets, what
// gauges would show and what flows in.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <vector>

#include "evendrip/condition/segment_grid.hpp"
#include "evendrip/field/fault.hpp"
#include "evendrip/hydraulics/zone_network.hpp"

namespace evendrip {

/// Where a gauge stands: at a port of the zone, else along a lateral, else at the inlet.
struct GaugedPlace {
  int port = -1;     ///< index into Field::ports
  int lateral = -1;  ///< index into Field::laterals
  double station_m = 0;
};

struct FaultEffect {
  std::vector<double> change;      ///< delivery of each segment over clean, less 1
  std::vector<double> gauged_kpa;  ///< at each gauged place
  double inflow = 1;               ///< of the zone over clean
  bool seen_by_crop = true;        ///< false: it is too narrow for the crop to speak of it
};

/// Laterals of the network in the order of the grid's rows.
std::vector<const NetworkLateral*> laterals_in_order(const ZoneNetwork& network,
                                                     const SegmentGrid& grid);

/// Safe from many threads.
class FaultyZone {
 public:
  /// Throws what NetworkSolver throws.
  FaultyZone(const SegmentGrid& grid, ZoneNetwork clean, const std::vector<GaugedPlace>& gauged);
  ~FaultyZone();
  FaultyZone(FaultyZone&&) noexcept;

  const FaultEffect& clean() const;
  /// Nothing where the network has no steady flow. Throws what with_faults throws.
  std::optional<FaultEffect> with(std::span<const Fault> faults) const;
  const ZoneNetwork& network() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace evendrip
