// SPDX-License-Identifier: Apache-2.0
// The fault that the data of a zone ask for most: candidates are judged by their shapes, the best
// places then solved at many severities, the best of those moved along its line.
#pragma once

#include <optional>
#include <vector>

#include "evendrip/base/work.hpp"
#include "fault_evidence.hpp"

namespace evendrip {

struct TriedFault {
  Fault fault;
  FaultGain gain;
};

class FaultSearch {
 public:
  /// `lumped`: the zone with few nodes; `exact`: emitter by emitter. Both gauged at the same
  /// places. Throws Interrupted.
  FaultSearch(const FaultyZone& lumped, const FaultyZone& exact, std::vector<Fault> candidates,
              const Work& work);

  std::size_t candidates() const { return candidates_.size(); }
  /// Gain in log-likelihood above which a fault is believed.
  double threshold() const;
  /// Places in falling order of what their best severity gains, moved along their lines; the gain
  /// of the first is that of the exact network. Empty where nothing comes near the threshold.
  std::vector<TriedFault> best_places(const FaultEvidence& evidence) const;
  /// Takes a fault as found.
  void accept(const Fault& fault, FaultEvidence& evidence);

 private:
  std::vector<FaultEffect> solved(const std::vector<Fault>& tried,
                                  const FaultEvidence& evidence) const;
  std::vector<std::size_t> promising(const FaultEvidence& evidence) const;
  TriedFault best_of(const std::vector<Fault>& tried, std::size_t variant,
                     const FaultEvidence& evidence) const;
  std::vector<TriedFault> at_best_severities(const std::vector<std::size_t>& places,
                                             const FaultEvidence& evidence) const;
  TriedFault finer(TriedFault fault, const FaultEvidence& evidence) const;
  TriedFault moved(const TriedFault& fault, const FaultEvidence& evidence) const;
  std::vector<double> stations_near(const Fault& fault) const;
  std::optional<FaultEffect> exact_with(const Fault& fault) const;

  const FaultyZone& lumped_;
  const FaultyZone& exact_;
  std::vector<Fault> candidates_;
  std::vector<FaultEffect> alone_;  ///< of each candidate, lumped
  Work work_;
  std::vector<Fault> found_;
  FaultEffect found_lumped_;
};

}  // namespace evendrip
