// SPDX-License-Identifier: Apache-2.0
// The truth of a made-up field: where everything lies and what every emitter passes.
//
// Rectangular zones lie side by side; laterals run from the supply manifold to the far side.
// Pressure along a line with even outflow falls by the share 1 - (1 - s/L)^2.75 of its whole loss
// (friction as discharge^1.75, Blasius 1913; integrated over evenly spaced outlets), along a
// manifold likewise; the height of the ground is added (9.80665 kPa for a metre of water). Each
// emitter passes q = k h^x times its own manufacture and clogging. What a pinch does to the
// pressure before it is left out.
#pragma once

#include <string>
#include <vector>

#include "evendrip/crs/crs.hpp"
#include "evendrip/simulate/plan.hpp"

namespace evendrip {

struct SimulatedEmitter {
  double station_m = 0;
  double pressure_kpa = 0;
  double discharge_lph = 0;
  double performance = 0;  ///< discharge over k h^x at its own pressure
  double delivery = 0;     ///< discharge over k h^x of the clean system at that place
};

struct SimulatedLateral {
  std::string id;
  int zone = 0;
  int number = 1;       ///< 1-based within the zone
  double across_m = 0;  ///< place in the local frame
  bool pinched = false;
  double clean_far_pressure_kpa = 0;
  double far_pressure_kpa = 0;  ///< at the far end, faults included
  std::vector<SimulatedEmitter> emitters;
};

struct SimulatedZone {
  std::string id;
  double across_min_m = 0;
  double across_max_m = 0;
  bool closed = false;  ///< no flush manifold
};

/// Local metres on the ground: along the flow and across it, to the right. Origin at the centre.
struct LocalFrame {
  Crs crs;           ///< UTM zone of the centre
  Point origin;      ///< in `crs`
  double scale = 1;  ///< grid length over ground length
  Point along;       ///< unit vector
  Point across;
  Point to_grid(double along_m, double across_m) const;
  Point from_grid(Point p) const;  ///< x along, y across
};

struct SimulatedField {
  SimulationPlan plan;
  LocalFrame frame;
  std::vector<SimulatedZone> zones;
  std::vector<SimulatedLateral> laterals;  ///< zone by zone, in order of their number

  /// Along the flow; station 0 lies at -length/2.
  double along_of(double station_m) const { return station_m - plan.lateral_length_m / 2; }
  double ground_m(double along_m, double across_m) const;  ///< height of the ground
  double zone_discharge_lph(int zone) const;
  /// Water reaching a place of the local frame over what a clean system at the inlet pressure
  /// gives: mean of the emitters near it, weighted by a bell of 1 m standard deviation (or half
  /// the spacing, if that is more) cut at 2.5 of them. Negative outside the zones.
  double water_at(double along_m, double across_m) const;
};

/// Throws InputError for a plan that cannot be made.
SimulatedField simulated_truth(const SimulationPlan& plan);

}  // namespace evendrip
