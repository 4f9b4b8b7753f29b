// SPDX-License-Identifier: Apache-2.0
// Fully plugged emitters as a part of their own: their share, how sure it is, and the chance that a
// sample of this size would have missed them.
#pragma once

#include <limits>
#include <vector>

#include "evendrip/uniformity/emitter_sample.hpp"
#include "evendrip/uniformity/uniformity.hpp"

namespace evendrip {

/// Limits of a share; both are in [0, 1].
struct ShareLimits {
  double lower = 0;
  double upper = 1;
};

/// Exact binomial limits (Clopper & Pearson 1934, Biometrika 26:404-413) of `count` in `sample`.
/// Both may be effective numbers and so fractions; 0 <= count <= sample, 0 < confidence < 1, else
/// std::invalid_argument. An empty sample knows nothing: 0 to 1.
ShareLimits exact_share_limits(double count, double sample, double confidence);

/// Chance that `emitters` independent emitters show no plugged one when `share` of all are plugged.
double chance_of_missing(double share, int emitters);

/// The same where plugging comes in clusters on laterals: the share of each lateral is beta
/// distributed with this correlation between two emitters of a lateral (0 to below 1).
/// `emitters_by_lateral` counts the emitters dug on each lateral.
double chance_of_missing(double share, const std::vector<int>& emitters_by_lateral,
                         double correlation);

/// What a sample was dug from: laterals of the zone and emitters on an average one. 0 where not
/// known, or so many that they do not count.
struct DugFrom {
  int laterals = 0;
  int emitters_on_a_lateral = 0;
};

struct MissedShare {
  double share = 0;        ///< 0.02, 0.05, 0.10
  double independent = 0;  ///< chance to see none if plugging strikes emitters singly
  double clustered = 0;    ///< the same with the correlation used
};

struct PluggedShare {
  int emitters = 0;
  int laterals = 0;
  int plugged = 0;
  double share = 0;                 ///< weighted
  ShareLimits exact;                ///< Clopper-Pearson, as if emitters were independent
  ShareLimits clustered;            ///< the same on the effective sample, drawn in by unseen_part
  double correlation = 0;           ///< of plugging within laterals, as used
  bool correlation_assumed = true;  ///< the sample tells none above the one assumed
  double effective_emitters = 0;    ///< emitters / design effect
  /// Those not dug, on the same footing: 0 where every emitter was, infinite where the zone is not
  /// known. A zone of M laterals with K emitters counts for MK / (1 + (K - 1) correlation), or more
  /// where independent emitters would leave more of the variance: the correlation is an estimate.
  double effective_unseen = std::numeric_limits<double>::infinity();
  bool more_than_zone = false;  ///< the zone is told smaller than the sample and was not used
  /// Root of the part of the variance that is left where the zone is part dug; 1 where not known.
  double unseen_part() const;
  std::vector<MissedShare> missed;
};

struct PluggingOptions {
  double confidence = 0.95;
  double plugged_at_lph = 0;  ///< an emitter is plugged at this discharge or below
  /// Correlation of plugging between two emitters of one lateral where the sample shows none or
  /// cannot show it. Common practice in planning cluster samples, no source for drip.
  double assumed_correlation = 0.1;
  DugFrom zone = {};
};

/// Plugged emitters on the laterals of a sample, by lateral.
struct PluggedCounts {
  std::vector<int> emitters;
  std::vector<int> plugged;
};
/// The share, its correlation and the effective numbers alone, weights all alike; no limits, no
/// chances to miss. Every lateral has an emitter.
PluggedShare effective_plugging(const PluggedCounts& counts, const PluggingOptions& options);

/// Throws std::invalid_argument for an empty sample, a negative or not finite discharge. The
/// correlation is the analysis-of-variance estimate; where it exceeds the assumed one, the
/// effective number is lowered further by the ratio of t quantiles of Korn & Graubard 1998, Survey
/// Methodology 24:193-201. Of a zone that is part dug the limits lie nearer to the share by the
/// root of the part that is left (Burstein 1975, J. Am. Stat. Assoc. 70:67-69; from memory).
PluggedShare measure_plugging(const EmitterSample& sample, const PluggingOptions& options = {});

/// Low-quarter uniformity of the whole as a two-part model: a plugged share, and the runners'
/// discharges (fractional quarter, weights all alike).
double two_part_low_quarter(double plugged_share, const std::vector<double>& runners_lph);

}  // namespace evendrip
