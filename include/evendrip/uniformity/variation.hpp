// SPDX-License-Identifier: Apache-2.0
// What the variation of discharge is made of: pressure, the emitters, both at once; between and
// within laterals; along the lateral beyond friction.
//
// Vq^2 = x^2 Vh^2 + Vpf^2 + covariance (Bralts & Kesner 1983, Trans. ASAE 26:1369-1374, without
// the covariance; from memory). The covariance is kept because sediment at the tail lowers pressure
// and performance at once. In logarithms the division is exact: ln q = x ln h + ln of performance.
// Pressures in kPa, discharges in L/h; CVs and shares are fractions; variances of logarithms bare.
// No function here throws for what data hold: a result says `computed` or `why_not`.
#pragma once

#include <limits>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/uniformity/components.hpp"

namespace evendrip {

/// One emitter as the division sees it.
struct VariedEmitter {
  double discharge_lph = 0;
  double pressure_kpa = std::numeric_limits<double>::quiet_NaN();  ///< NaN: not known
  bool pressure_measured = false;                                  ///< else from the model
  int lateral = -1;                                                ///< -1: not told
  int pit = -1;                                                    ///< -1: a pit of its own
  double station_frac = std::numeric_limits<double>::quiet_NaN();  ///< over the lateral's length
};

/// The usable emitters of one zone (all zones: -1), with the pressures that the judgement found.
/// Damaged, unfound and unmeasured ones are left out; state none is a discharge of 0.
std::vector<VariedEmitter> varied_emitters(const Field& field, const Survey& survey,
                                           std::span<const JudgedEmitter> judged, int zone);

/// What one part holds of the whole variation, with its limits.
struct PartShare {
  double frac = 0;
  bool known = false;  ///< else both limits equal the share and say nothing
  double lower = 0;    ///< pressure and emitters may each exceed 1 where the covariance is negative
  double upper = 0;
};

/// Limits by Student's t on the logarithms of the shares (on the share itself for the covariance):
/// standard errors by leaving out laterals one by one and emitters one by one (jackknife: Efron &
/// Tibshirani 1993, chapter 11), the larger of the two, with the laterals less 1 degrees of
/// freedom. In the plain division the plugged share has its own limits, allowing for laterals
/// (plugging.hpp), and the two distances are joined as roots of squares (Zou & Donner 2008, Stat.
/// Med. 27:1693-1702). From memory. How often they hold the true shares:
/// simulated_division_coverage.
struct PartShares {
  std::string why_not;  ///< where no limits can be told
  int laterals = 0;     ///< that they rest on
  PartShare hydraulic;
  PartShare performance;
  PartShare covariance;
};

/// Squares of coefficients of variation, to the first order.
struct PlainDivision {
  bool computed = false;
  std::string why_not;
  int emitters = 0;           ///< with a pressure, plugged ones included
  double total = 0;           ///< Vq^2
  double hydraulic = 0;       ///< x^2 Vh^2
  double performance = 0;     ///< Vpf^2, of discharge over pressure to the exponent
  double covariance = 0;      ///< 2 x cov(h, performance) over their means; may be negative
  double remainder = 0;       ///< what the first order leaves: total less the three
  double pressure_cv = 0;     ///< Vh
  double performance_cv = 0;  ///< Vpf
  double discharge_cv = 0;    ///< Vq
  PartShares shares;          ///< of the total
};

/// Variances of logarithms of the emitters that run; the three parts add up exactly.
struct LogDivision {
  bool computed = false;
  std::string why_not;
  int emitters = 0;  ///< that run and have a pressure
  double total = 0;
  double hydraulic = 0;
  double performance = 0;
  double covariance = 0;
  PartShares shares;  ///< of the total
};

/// The CV of the emitters' performance against what the maker states for new ones.
struct PerformanceExcess {
  bool computed = false;
  std::string why_not;
  double maker_cv = 0;
  double measuring_cv = 0;  ///< error of measuring one emitter, taken off first; 0 if not known
  double running_cv = 0;    ///< of the emitters that run
  double all_cv = 0;        ///< plugged emitters included
  double running_excess_cv = 0;        ///< root of running^2 - maker^2 - measuring^2, at least 0
  double running_excess_lower_cv = 0;  ///< limits, by the same test
  double running_excess_upper_cv = 0;
  double all_excess_cv = 0;  ///< likewise with plugged emitters: clogging and wear
  /// Chance of running emitters this uneven if their whole variance were the maker's (and the
  /// measuring error's), whatever part of it lies between laterals and pits: that part is taken
  /// from the sample (total_variance.hpp). Effects are taken for normal. Of simulated new emitters
  /// 4.2 to 5.8 % are blamed at 5 %, with 0 to 90 % of the variance between laterals, 18 to 72
  /// emitters (2,000 surveys of each kind, tests/bench/run_variation.sh).
  double p_value = 1;
  /// Of a chi-square test that takes emitters for independent, for comparison: it blames up to 16
  /// %.
  double independent_p_value = 1;
  std::string statement;  ///< "exceeds the maker's 4 % beyond chance: clogging and wear"
};

/// How often nominal 95 % limits held what was true of the whole zone, as shares of simulated
/// surveys: seven kinds of zone (clean; plugged, scattered and clustered; sediment in the tails;
/// partly plugged; pressures or wear uneven between laterals), 18, 36 and 72 emitters on 6, 9 and
/// 12 laterals. By tests/bench/run_variation.sh.
struct DivisionCoverage {
  std::string limits_of;
  double least_frac = 0;
  double most_frac = 0;
  std::string worst;  ///< where they held it least
  int zones = 0;      ///< of each kind and size
};
std::vector<DivisionCoverage> simulated_division_coverage();

struct VariationOptions {
  double exponent = 0.5;           ///< at the working pressure: near 0 within a compensating range
  std::optional<double> maker_cv;  ///< nothing: not stated
  double measuring_cv = 0;         ///< of one emitter's discharge, from replicates; 0: not known
  double confidence = 0.95;        ///< of all limits
};

struct Variation {
  int emitters = 0;          ///< given and usable
  int without_pressure = 0;  ///< left out of both divisions
  int plugged = 0;           ///< discharge 0
  PlainDivision plain;
  LogDivision logarithms;
  PerformanceExcess excess;
  VarianceComponents discharge;         ///< of discharge over its mean, all emitters on a lateral
  VarianceComponents log_performance;   ///< of those that run
  Trend trend;                          ///< of log performance along the lateral
  std::vector<std::string> statements;  ///< what can and cannot be concluded, plain sentences
};

/// Everything above of one zone or selection. Emitters with a negative or infinite discharge are
/// left out and told. An exponent that is negative or not finite: std::invalid_argument.
Variation divided_variation(std::span<const VariedEmitter> emitters,
                            const VariationOptions& options);

/// x of q = k h^x around a pressure, by the slope of the emitter's curve; the stated exponent where
/// the pressure is not above 0.
double working_exponent(const EmitterSpec& emitter, double pressure_kpa);

/// Vpf = sqrt(Vq^2 - x^2 Vh^2) from published CVs alone, where no covariance is known. Nothing
/// where pressure alone varies more than discharge (x Vh > Vq) or an argument is negative.
std::optional<double> performance_cv_from(double discharge_cv, double pressure_cv, double exponent);
/// 1 - x Vh, "hydraulic uniformity" as a fraction.
double hydraulic_uniformity_frac(double pressure_cv, double exponent);

}  // namespace evendrip
