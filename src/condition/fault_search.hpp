// SPDX-License-Identifier: Apache-2.0
// The fault that the data of a zone ask for most: candidates are judged by their shapes, the best
// places then solved at many severities, the best of those moved along its line.
#pragma once

#include <cstddef>
#include <optional>
#include <utility>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/condition/network_faults.hpp"
#include "fault_evidence.hpp"

namespace evendrip {

struct TriedFault {
  SharedFault shared;
  FaultGain gain;
};

/// Two faults that turned out to be one.
struct TakenIn {
  std::size_t earlier = 0;  ///< which of those found it was; it and the last are found no more
  TriedFault one;           ///< found in their stead
  FaultEffect before;       ///< of all others
};

/// The same place a little less and a little more severe; a shut pipe stays shut.
std::vector<Fault> severities_near(const Fault& fault, double factor);

class FaultSearch {
 public:
  /// `lumped`: the zone with few nodes; `exact`: emitter by emitter. Both gauged at the same
  /// places. `laterals_seen`: as of ZoneModel. Throws Interrupted.
  FaultSearch(const FaultyZone& lumped, const FaultyZone& exact, const SegmentGrid& grid,
              std::vector<SharedFault> candidates, int laterals_seen, const Work& work);

  std::size_t candidates() const { return candidates_.size(); }
  double log_odds(const TriedFault& tried) const {
    return tried.gain.total() - threshold(tried.shared);
  }
  /// Gain in log-likelihood above which a fault is believed: for a group more, for there are many
  /// of them.
  double threshold(const SharedFault& shared) const;
  /// Places in falling order of what their best severity gains, moved along their lines; the gain
  /// of the first is that of the exact network. Empty where nothing comes near the threshold.
  std::vector<TriedFault> best_places(const FaultEvidence& evidence) const;
  /// Takes a fault as found.
  void accept(const SharedFault& fault, FaultEvidence& evidence);
  /// The fault accepted last and an earlier one of the same or neighbouring laterals as one fault
  /// that all of them have alike, if that is likelier than both: what is found first may be the
  /// part of a group that shows most. None, with all faults as they were, if no such fault is.
  std::optional<TakenIn> take_in(FaultEvidence& evidence);

  const std::vector<SharedFault>& found() const { return found_; }
  /// Takes these as all that was found; nothing changes where they have no steady flow.
  bool hold(const std::vector<SharedFault>& faults, FaultEvidence& evidence);
  /// Of each fault beside all that were found; what is known where it has no steady flow.
  std::vector<FaultEffect> solved(const std::vector<SharedFault>& tried,
                                  const FaultEvidence& evidence) const;
  /// The same emitter by emitter; nothing where there is no steady flow.
  std::optional<FaultEffect> exact_with(const SharedFault& shared) const;
  const std::vector<SharedFault>& all_candidates() const { return candidates_; }
  const ZoneNetwork& network() const { return lumped_.network(); }
  /// Larger and smaller by some laterals at either side; none of cuts, which are of one lateral.
  std::vector<std::vector<int>> groups_near(const SharedFault& shared) const;

 private:
  std::vector<std::size_t> promising(const FaultEvidence& evidence) const;
  TriedFault best_of(const std::vector<SharedFault>& tried, std::size_t variant,
                     const FaultEvidence& evidence) const;
  std::vector<TriedFault> at_best_severities(const std::vector<std::size_t>& places,
                                             const FaultEvidence& evidence) const;
  TriedFault finer(TriedFault fault, const FaultEvidence& evidence) const;
  TriedFault moved(const TriedFault& fault, const FaultEvidence& evidence) const;
  TriedFault settled(TriedFault fault, const FaultEvidence& evidence) const;
  TriedFault at_any_variant(const TriedFault& fault, const FaultEvidence& evidence) const;
  std::optional<TriedFault> fitted(TriedFault fault, const FaultEvidence& evidence) const;
  std::pair<int, int> reach_of(const SharedFault& shared) const;
  bool beside(const SharedFault& a, const SharedFault& b) const;
  SharedFault together(const SharedFault& like, const SharedFault& other) const;
  std::optional<TakenIn> taken_in(std::size_t earlier, FaultEvidence& evidence);
  std::vector<double> stations_near(const Fault& fault) const;
  bool seen_by_crop(const SharedFault& shared) const;
  std::vector<Fault> with_found(const SharedFault& shared) const;

  const FaultyZone& lumped_;
  const FaultyZone& exact_;
  std::vector<int> in_order_;  ///< laterals of the network, as they lie
  std::vector<SharedFault> candidates_;
  double of_one_ = 0;  ///< thresholds
  double of_several_ = 0;
  int laterals_seen_ = 1;
  std::vector<FaultEffect> alone_;  ///< of each candidate, lumped
  Work work_;
  std::vector<SharedFault> found_;
  FaultEffect found_lumped_;
};

}  // namespace evendrip
