// SPDX-License-Identifier: Apache-2.0
// What the meter says of a zone's mean delivery: the sum of all emitters as they run in the soil,
// and of any leak.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// A datum on the mean of r over a zone, linear in it. The leaks that it may hold are in
/// log_likelihood, not in the variance.
struct MeterDatum {
  int reading = -1;  ///< index into Survey::meter
  double value = 1;  ///< flow over what the clean zone would take in the soil
  double noise_variance = 0;
  bool by_record = false;  ///< against a commissioning record: the in-soil ratio cancels

  /// Of the reading where the zone should take `mean_delivery` times its clean flow, give or take
  /// `mean_sd`: Gaussian, and a leak that is not negative, exponential with a mean of 2 % of the
  /// flow (common practice, no source).
  double log_likelihood(double mean_delivery, double mean_sd) const;
};

/// The reading of the zone running alone with the smallest error; nothing without one or where the
/// zone is not computed. By the rating: error of meter (3 % where not stated), of the in-soil ratio
/// and of the inlet pressure. By a commissioning record: error of both meter readings and both
/// pressures, and the rated tolerance, for the new zone's own flow is only rated. See
/// hydraulics/meter.hpp.
std::optional<MeterDatum> meter_datum(const Field& field, const Survey& survey,
                                      const ExpectedZone& expected);

/// A reading of several zones that ran together: a datum on the sum of what they deliver.
struct MeterSum {
  std::vector<int> zones;
  std::vector<double> shares;  ///< of each zone of the clean flow; sum to 1
  MeterDatum datum;            ///< on the mean of the zones' deliveries by these shares
};
/// Every such reading whose zones are all computed.
std::vector<MeterSum> meter_sums(const Field& field, const Survey& survey,
                                 const Expectation& expectation);

/// What such readings say of one zone, the deliveries of the others (one for each zone of the
/// field) being known with their standard errors: the reading with the smallest error. A leak may
/// lie in any of the zones.
std::optional<MeterDatum> shared_meter_datum(const std::vector<MeterSum>& sums, int zone,
                                             std::span<const Estimate> deliveries);

/// The zone's own datum or, without one, what a shared reading says of it.
std::optional<MeterDatum> speaking_meter(const Field& field, const Survey& survey,
                                         const ExpectedZone& expected,
                                         const std::optional<MeterDatum>& shared);

/// One plain sentence: the zone's mean delivery by the estimate against the meter's.
std::string meter_against(const MeterDatum& datum, double mean_delivery, double mean_sd);

}  // namespace evendrip
