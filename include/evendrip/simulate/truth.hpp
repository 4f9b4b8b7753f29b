// SPDX-License-Identifier: Apache-2.0
// The truth of a made-up field: where everything lies and what every emitter passes.
//
// Rectangular zones lie side by side; laterals run from the supply manifold to the far side. Each
// emitter passes k h^x times its own manufacture and clogging when it is dug free, and the plan's
// in-soil share of that while it is buried; h is the pressure in the zone's network while the zone
// runs alone with all of its emitters buried and its faults in place (hydraulics/zone_network.hpp).
#pragma once

#include <string>
#include <vector>

#include "evendrip/crs/crs.hpp"
#include "evendrip/simulate/plan.hpp"

namespace evendrip {

struct SimulatedEmitter {
  double station_m = 0;
  double pressure_kpa = 0;
  double discharge_lph = 0;  ///< dug free
  double performance = 0;    ///< discharge over k h^x at its own pressure
  double delivery = 0;       ///< discharge over k h^x of the clean system at that place
};

struct SimulatedLateral {
  std::string id;
  int zone = 0;
  int number = 1;           ///< 1-based within the zone
  double across_m = 0;      ///< place in the local frame
  bool obstructed = false;  ///< pinched, shut or cut
  std::vector<SimulatedEmitter> emitters;
};

/// A straight stretch of one diameter.
struct SimulatedManifold {
  std::string id;
  int zone = 0;
  bool supply = true;  ///< else a flush manifold
  double inside_diameter_m = 0;
  double along_m = 0;  ///< place in the local frame
  double from_across_m = 0;
  double to_across_m = 0;
};

/// A place where a gauge is read.
struct SimulatedPort {
  std::string id;
  std::vector<int> zones;
  std::string kind;  ///< as in field::Port
  double gauge_height_m = 0;
  double along_m = 0;
  double across_m = 0;
  /// True, at the height of the line there, while each of `zones` runs alone.
  std::vector<double> pressure_kpa;
  std::vector<double> clean_pressure_kpa;  ///< likewise, of the system as it was new
};

struct SimulatedZone {
  std::string id;
  double across_min_m = 0;
  double across_max_m = 0;
  bool closed = false;          ///< no flush manifold
  double inflow_lph = 0;        ///< while it runs: buried emitters and leaks
  double leak_lph = 0;          ///< out of cuts
  double clean_inflow_lph = 0;  ///< as it was new
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
  std::vector<SimulatedManifold> manifolds;
  std::vector<SimulatedPort> ports;

  /// Along the flow; station 0 lies at -length/2.
  double along_of(double station_m) const { return station_m - plan.lateral_length_m / 2; }
  double ground_m(double along_m, double across_m) const;  ///< height of the ground
  double zone_discharge_lph(int zone) const;               ///< of all emitters, dug free
  /// Water reaching a place of the local frame over what a clean system gives that has the inlet
  /// pressure everywhere: mean of the emitters near it, weighted by a bell of 1 m standard
  /// deviation (or half the spacing, if that is more) cut at 2.5 of them. Negative outside the
  /// zones.
  double water_at(double along_m, double across_m) const;
};

/// Throws InputError for a plan that cannot be made, "no_pressure" if the clean system leaves an
/// emitter without pressure.
SimulatedField simulated_truth(const SimulationPlan& plan);

}  // namespace evendrip
