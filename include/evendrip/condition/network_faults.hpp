// SPDX-License-Identifier: Apache-2.0
// What faults of pipes would make of the delivery of a zone, and which of them the data ask for.
//
// A fault acts through the solver: the same pinch starves a closed line beyond it and hardly shows
// where a flush manifold feeds the far end. Candidates are tried at several severities; one at a
// time is put in place while the evidence pays for it.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/meter_evidence.hpp"
#include "evendrip/condition/zone_model.hpp"
#include "evendrip/field/fault.hpp"
#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// Delivery of each segment with a fault in place over that of the clean zone, less 1 (0 beyond the
/// end of a lateral): what the plants there lose, 0 or below except for odd places near a leak.
struct FaultResponse {
  Fault fault;
  std::vector<double> change;
};

/// Of each fault alone, with its own severity, in the zone as `expected` has it, the emitters of a
/// segment as one: within 0.01 of emitter by emitter for segments of a twentieth of the laterals,
/// but for the segment that a fault sits in, which is wet or dry as a whole. Faults whose network
/// has no steady flow, and all of a zone that is not computed, have no change. Same result for any
/// number of threads. Throws Interrupted, std::invalid_argument for a fault off its line.
std::vector<FaultResponse> fault_responses(const SegmentGrid& grid, const ExpectedZone& expected,
                                           const std::vector<Fault>& faults, const Work& work);

/// A fault that neighbouring laterals have alike, at one distance from their supply ends: wheels, a
/// lane or roots crossed them there, or their joints failed alike.
struct SharedFault {
  Fault fault;                ///< of the first of them
  std::vector<int> laterals;  ///< in the order in which they lie; empty on a manifold
};
/// The fault of each of them.
std::vector<Fault> faults_of(const SharedFault& shared);

/// The candidates of a zone: every lateral's inlet and places at every quarter of its length, and
/// 24 sections (or all) of each supply manifold, each shut; and every lateral cut open in its
/// middle. Narrowed places act much in proportion; their severity is found once a place is
/// worth it. Manifold sections that take no water are none. Common practice, no source.
std::vector<Fault> candidate_faults(const Field& field, const SegmentGrid& grid,
                                    const ExpectedZone& expected);
/// The same, each of its lateral alone, and inlets and quarters of groups of neighbouring laterals,
/// overlapping by two thirds: as many as the crop can speak of, three at least, and twice as many.
std::vector<SharedFault> shared_candidates(const Field& field, const SegmentGrid& grid,
                                           const ExpectedZone& expected, int laterals_seen);

/// Where a fault may lie.
struct LikelyPlace {
  SharedFault shared;          ///< with the severity that fits best there
  double weight = 0;           ///< probability, of all places of the fault
  std::vector<double> change;  ///< of each segment with the fault there and all others; less 1
};

struct FoundFault {
  Fault fault;                ///< of the lateral in their middle
  std::vector<int> laterals;  ///< all that have it, in order; empty on a manifold
  double log_odds = 0;        ///< of the fault against none, the search allowed for
  double delivery = 1;        ///< mean of the segments that it touches, over clean
  std::string runner_up;      ///< "" or the next best explanation, in words
  std::string told;           ///< "lateral L12: inlet narrowed, delivery beyond it 71 % of clean"
  std::vector<LikelyPlace> places;  ///< likeliest first; their weights add up to 1
};

struct NetworkExplanation {
  std::vector<FoundFault> faults;  ///< in the order in which they were found
  std::vector<double> change;      ///< of each segment, all faults in place together; less 1: mean
                                   ///< over where they may lie
  std::vector<double> change_variance;  ///< likewise; all 0 where the places are known
  double gauge_gain = 0;                ///< what the gauges add to the log-likelihood of the faults
  std::string told;                     ///< one sentence, also where nothing was found
};

/// Adds faults one by one, each with the severity and the place along its line that fit best, while
/// the gain in log-likelihood of holes, crop, gauges and meter is above what the number of
/// candidates asks (the logarithm of their number and 3 more; for groups of the number that may be
/// told, 192 for each lateral; Schwarz 1978, Ann. Stat. 6:461-464,
/// from memory, for the one amount fitted). Both sides may choose among parts of r as fitted and
/// narrower and slopes of the crop about the fitted one. A fault must take a tenth of the water
/// somewhere; less is left to the smooth parts. Holes that seemed plugged speak for a fault that
/// leaves what they showed. Gauges: the prior of inlet pressure, friction and emitters is
/// integrated out, and any reading may be a blunder; meter: see meter_evidence.hpp. The holes are
/// asked as caught and all laterals at width 1, and the model is left so. Its known change is that
/// of the explanation. Where a fault lies is told by the same gains: every section of the supply
/// manifolds, or every sixteenth of its laterals and groups a little larger and smaller, weighs as
/// it is likely with the severity that suits it, others held; faults are taken for independent.
/// Faults found together are solved together, emitter by emitter. Of fewer laterals than the crop
/// can speak of (ZoneModel::laterals_seen) holes, gauges and meter alone are asked. Groups grow and
/// shrink by the laterals at their sides. Nothing found in a zone that is not computed.
/// `shared_meter`: of a reading of several zones, for a zone that was never metered alone.
NetworkExplanation explain_by_network(const Field& field, const Survey& survey,
                                      const ExpectedZone& expected, ZoneModel& model,
                                      const ConditionParameters& parameters,
                                      std::span<const double> hole_weights, const Work& work,
                                      const std::optional<MeterDatum>& shared_meter = {});

}  // namespace evendrip
