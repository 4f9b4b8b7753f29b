// SPDX-License-Identifier: Apache-2.0
// What holes, crop, gauges and meter of a zone say for a fault in its pipes against what is taken
// as known so far.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "evendrip/condition/meter_evidence.hpp"
#include "evendrip/condition/zone_model.hpp"
#include "faulty_zone.hpp"
#include "gauge_evidence.hpp"

namespace evendrip {

/// Gain over what is known in log-likelihood; of holes and crop with the priors of the parameters.
struct FaultGain {
  double amount = 1;  ///< of the effect, at which the gain holds
  double holes_and_crop = 0;
  double gauges = 0;
  double meter = 0;
  std::size_t variant = 0;  ///< of FaultEvidence::variants(), with which the gain was had
  double total() const { return holes_and_crop + gauges + meter; }
};

enum class FaultAmount {
  as_solved,
  best  ///< any from 0 to the whole of the water: effects in proportion
};

/// A hole that counts for little, for it seems plugged, counts in full for a fault that takes a
/// fifth or more of its water and leaves about what the hole showed: then it is not plugged.
class FaultEvidence {
 public:
  /// `plugged_below`: relative discharge under which a plugged emitter passes anything alike.
  FaultEvidence(ZoneModel& model, const ConditionParameters& parameters,
                std::span<const double> hole_weights, double plugged_below,
                const GaugeEvidence& gauges, const std::optional<MeterDatum>& meter,
                const FaultEffect& known);

  /// The fitted parameters first, then others that a fault may make more likely: fitted without it,
  /// the parts of r are too wide, and the slope of the crop is what those parts make of it. Every
  /// slope comes at parts as fitted, then at narrower ones.
  const std::vector<ConditionParameters>& variants() const { return variants_; }
  /// Of each effect, all known faults in it, at the best of these variants, against what is known
  /// at the best of them and of those tried before. None where nothing loses a tenth of its water.
  std::vector<FaultGain> gains(std::span<const FaultEffect> effects, FaultAmount amount,
                               std::span<const std::size_t> variants) const;
  /// Takes an effect as known.
  void accept(const FaultEffect& effect);
  const FaultEffect& known() const { return known_; }

 private:
  std::vector<std::size_t> released(const FaultEffect& effect, FaultAmount amount) const;
  std::vector<double> weights_with(const std::vector<std::size_t>& released) const;
  void set_known(const FaultEffect& effect);
  double posterior(const ConditionParameters& variant, const std::vector<double>& weights) const;
  double posterior_without(std::span<const std::size_t> variants) const;
  double gain_of_variant(std::size_t variant, double without,
                         const std::vector<std::size_t>& released) const;
  double gauge_likelihood(const std::vector<double>& gauged_kpa) const;
  double meter_likelihood(double inflow) const;
  FaultGain gain_at(double amount, const ResponseTest& test, const FaultEffect& effect) const;
  FaultGain best_gain(FaultAmount amount, const ResponseTest& test,
                      const FaultEffect& effect) const;

  ZoneModel& model_;
  std::vector<ConditionParameters> variants_;  ///< fitted ones first
  std::vector<double> weights_;                ///< of every hole
  double plugged_below_;
  double plugged_share_;
  const GaugeEvidence& gauges_;
  std::optional<MeterDatum> meter_;
  FaultEffect known_;
  /// Log posterior of each variant without a further fault; worked out when asked for.
  mutable std::vector<std::optional<double>> known_holes_and_crop_;
  double known_gauges_ = 0;
  double known_meter_ = 0;
};

}  // namespace evendrip
