// SPDX-License-Identifier: Apache-2.0
// From measured emitters to samples of relative discharge, zone by zone, with the part of their
// noise that is known beforehand.
//
// Relative discharge is discharge over a reference: what a clean system would give at that place
// (delivery) where the zone's hydraulics are known, else the median of the zone.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/surface/sample.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// What emitters should give, where that is known.
struct DischargeReference {
  std::vector<char> zones;           ///< one for each zone, 1 where it is known; empty: nowhere
  std::vector<double> emitters_lph;  ///< one for each of Survey::emitters; NaN where not known
};

enum class ReferenceKind { zone_median, clean_system };
/// "the median of the zone", "what a clean system would give at that place".
std::string to_text(ReferenceKind kind);

struct ZoneSamples {
  int zone = -1;
  int samples = 0;
  /// Emitters of a computed zone that should give nothing, or of one whose median is 0.
  int without_reference = 0;
  double median_lph = 0;  ///< of all its usable emitters
  ReferenceKind reference = ReferenceKind::zone_median;
};

/// Why a zone has no samples.
std::string why_no_samples(const ZoneSamples& zone);

struct DischargeSamples {
  std::vector<ZoneSamples> zones;     ///< one for each zone of the field
  Samples samples;                    ///< relative discharge, zone by zone
  std::vector<std::size_t> emitters;  ///< of each sample: index into Survey::emitters
};

/// Samples are emitters whose place is known, that were not damaged by digging and whose reference
/// is above 0. Known noise: the maker's coefficient of variation at the level of the zone (its
/// median sample, so that a plugged emitter is not taken for a precise one), the error of the catch
/// (replicates; where there are none, none is known) over the number of catches, and the graduation
/// of the vessel as an even spread over one step (its variance: step^2 / 12).
DischargeSamples discharge_samples(const Field& field, const Survey& survey,
                                   const DischargeReference& reference);

}  // namespace evendrip
