// SPDX-License-Identifier: Apache-2.0
// How the lines of a zone join, before any pipe is laid: which manifolds it has, where they meet
// one another, where the ends of laterals meet them, where water enters.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/hydraulics/zone_network.hpp"

namespace evendrip {

/// A place on a manifold. All lengths on the ground.
struct Joint {
  int manifold = -1;      ///< index into Field::manifolds
  double station_m = 0;   ///< along its line
  double distance_m = 0;  ///< from what joins it
};

struct LateralPlan {
  int lateral = -1;
  Joint supply;
  std::optional<Joint> far;  ///< nothing: closed
};

/// The end of a manifold on another.
struct Tie {
  Joint end;  ///< station 0 or the length
  Joint at;
};

struct Inlet {
  Joint at;
  int port = -1;  ///< zone_inlet port, or none
};

struct PortPlan {
  int port = -1;
  Joint at;
};

struct ZonePlan {
  int zone = -1;
  std::vector<int> manifolds;
  std::vector<Tie> ties;
  std::vector<LateralPlan> laterals;
  std::vector<Inlet> inlets;    ///< the first is the zone's; others feed parts of their own
  std::vector<PortPlan> ports;  ///< zone_inlet and flush_end
};

enum class ManifoldKind { supply, flush };
std::vector<int> manifolds_of(const Field& field, int zone, ManifoldKind kind);
double ground_length_m(const Field& field, const Line& line);
/// Nearest place on one of the manifolds, however far; nothing if there are none.
std::optional<Joint> nearest_joint(const Field& field, std::span<const int> manifolds, Point p);

/// Laterals of the zone with their joints; those that join nothing are told and left out.
std::vector<LateralPlan> lateral_plans(const Field& field, int zone,
                                       const HydraulicOptions& options, Doubts& doubts);
/// Where ends of manifolds meet others of their kind.
std::vector<Tie> manifold_ties(const Field& field, std::span<const int> manifolds, double reach_m);

/// Fills `inlets` and `ports`, and leaves out what no inlet feeds, told.
void find_inlets(const Field& field, ZonePlan& plan, Doubts& doubts);

/// Nothing where no network can be built; `doubts` says why.
std::optional<ZonePlan> plan_zone(const Field& field, int zone, const HydraulicOptions& options,
                                  Doubts& doubts);

}  // namespace evendrip
