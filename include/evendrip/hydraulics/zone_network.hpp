// SPDX-License-Identifier: Apache-2.0
// The pipes of one zone as a network, from the lines as they lie: inlet, supply manifold in
// sections of different diameter, laterals joined where they meet it, every emitter a node, ends
// closed, joined by a flush manifold, or fed from both sides.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "evendrip/field/fault.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/hydraulics/network.hpp"
#include "evendrip/hydraulics/terrain.hpp"

namespace evendrip {

struct HydraulicOptions {
  FrictionLaw law = FrictionLaw::darcy_weisbach;  ///< a spec with a Hazen-Williams C uses that law
  double water_temperature_c = 20;
  double joint_reach_m = 2;      ///< an end this near to a manifold is joined to it
  double lateral_inlet_k = 1.0;  ///< minor loss of the joint, on the lateral's v^2/2g; common
                                 ///< practice, no source
};

/// One lateral in the network: nodes from the supply end to the far end.
struct NetworkLateral {
  int lateral = -1;  ///< index into Field::laterals
  /// Always emitters + 2: node at the joint, a node for each emitter, node at the far end (that of
  /// the far manifold's joint where there is one). Pipes between them are never shorter than 1 mm.
  std::vector<int> nodes;
  std::vector<double> stations_m;  ///< of `nodes`
  int first_outlet = 0;            ///< emitter i (0-based) is outlet first_outlet + i
  int emitters = 0;
  int first_pipe = 0;  ///< pipe i leads from nodes[i] to nodes[i + 1], or to a cut before it
  double join_distance_m = 0;  ///< from its end to the manifold
};

/// A stretch of manifold between two nodes.
struct NetworkSection {
  int manifold = -1;  ///< index into Field::manifolds
  int pipe = -1;      ///< runs from from_m to to_m
  double from_m = 0;  ///< stations along the manifold's line, on the ground
  double to_m = 0;
};

struct NetworkPort {
  int port = -1;  ///< index into Field::ports
  int node = -1;
};

struct ZoneNetwork {
  int zone = -1;
  /// First fixed head at `inlet_node`, at the zone's inlet pressure; further ones where a part of
  /// the supply manifolds that no manifold joins to the inlet has a zone_inlet port of its own.
  /// frictions[0] is that of the laterals, frictions[1] that of the manifolds.
  Network network;
  int inlet_node = -1;
  std::vector<NetworkLateral> laterals;
  std::vector<NetworkSection> sections;
  std::vector<NetworkPort>
      ports;  ///< zone_inlet, lateral_inlet, lateral_end, flush_end of this zone
  double elevation_sd_m = 0;
  std::vector<int> outlet_of_fault;  ///< after with_faults: outlet of each cut, -1 otherwise

  /// Sets the pressure of every inlet, at the height of its node.
  void set_inlet_pressure(double kpa);
};

/// Builds the network of a zone, inlet at the pressure stated for the zone (or the rated pressure
/// if none). Nothing if it cannot be built; `doubts` says why, each with place and remedy:
/// "no_supply_manifold", "no_lateral_joined", "lateral_joins_nothing", "lateral_joins_two" (supply
/// manifolds of two zones equally near, or closed ends with a supply manifold at both),
/// "far_end_joins_nothing" and "far_end_on_flush_manifold" (the ends are not as stated),
/// "island_pipe", "bad_diameter" (not stated, not possible, or of a size that a unit slip
/// explains), "emitter_spacing_beyond_lateral", "port_joins_nothing", "water_temperature_beyond",
/// "inlet_not_known" (no zone_inlet port and no other port from which water comes: the manifold's
/// first point is taken), and what Terrain tells. Joints farther than 0.2 m are told in one note
/// "joint_bridged" with the largest distance. A lateral that joins nothing is left out and told;
/// the rest of the zone is still built. None of these is a Severity::problem.
std::optional<ZoneNetwork> zone_network(const Field& field, int zone, const Terrain& terrain,
                                        const HydraulicOptions& options, Doubts& doubts);

/// The same network with faults in it: shut closes the pipe at the station, a pinch adds a minor
/// loss (sudden contraction and enlargement, Borda-Carnot with Weisbach's contraction coefficient
/// 0.62 + 0.38 a^3 of the open share a), a cut splits the pipe at the station and lets water out
/// (opening_curve). At an emitter's station a shut or a pinch sits just behind it. Only a cut that
/// is not at a node adds nodes and pipes, at the end of their lists. Throws std::invalid_argument
/// for a line that is not in the zone, a station outside it or a severity outside its range.
ZoneNetwork with_faults(const ZoneNetwork& clean, std::span<const Fault> faults);

/// The same network with the valves of a flush: fully open ends at the far ends of the laterals
/// `lateral_numbers` (indices into ZoneNetwork::laterals; closed ends), or, for an empty list, at
/// the flush_end ports of the flush manifold, without such ports at its free ends. An open end
/// loses the velocity head. Emitters keep running. Throws std::invalid_argument for an empty list
/// in a zone without flush manifold.
ZoneNetwork with_open_ends(const Field& field, const ZoneNetwork& clean,
                           std::span<const int> lateral_numbers);

}  // namespace evendrip
