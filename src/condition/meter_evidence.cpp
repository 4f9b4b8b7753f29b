// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/meter_evidence.hpp"

#include <cmath>
#include <cstddef>
#include <numbers>
#include <utility>

#include <fmt/format.h>

#include "evendrip/hydraulics/meter.hpp"

namespace evendrip {
namespace {

constexpr double likely_leak = 0.02;
constexpr double apart = 2;  ///< standard errors from which the two are said to differ

double squared(double v) {
  return v * v;
}

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// log erfc(z), also where erfc itself is 0.
double log_erfc(double z) {
  constexpr double far_out = 20;
  if (z < far_out) return std::log(std::erfc(z));
  return -z * z - std::log(z * std::sqrt(std::numbers::pi)) + std::log1p(-1 / (2 * z * z));
}

/// The zone alone among those of the field, with what a comparison of the meter asks of it.
Expectation alone(const Field& field, const ExpectedZone& expected) {
  Expectation expectation;
  expectation.zones.resize(field.zones.size());
  ExpectedZone& zone = expectation.zones[static_cast<std::size_t>(expected.zone)];
  zone.zone = expected.zone;
  zone.computed = expected.computed;
  zone.gauges = expected.gauges;
  zone.total_lph = expected.total_lph;
  zone.rated_tolerance_frac = expected.rated_tolerance_frac;
  return expectation;
}

MeterDatum by_rating(const MeterComparison& comparison, const Estimate& in_soil) {
  const double of_meter = comparison.measured_sd_lph / comparison.measured_lph;
  const double of_pressure = comparison.expected_free_lph.sd / comparison.expected_free_lph.value;
  const double frac2 =
      squared(of_meter) + squared(in_soil.sd / in_soil.value) + squared(of_pressure);
  return {comparison.reading, comparison.ratio, squared(comparison.ratio) * frac2, false};
}

}  // namespace

double MeterDatum::log_likelihood(double mean_delivery, double mean_sd) const {
  const double s = std::sqrt(noise_variance + squared(mean_sd));
  const double off = value - mean_delivery;
  const double ratio = s / likely_leak;
  return -std::log(2 * likely_leak) + 0.5 * squared(ratio) - off / likely_leak +
         log_erfc((ratio - off / s) / std::numbers::sqrt2);
}

std::optional<MeterDatum> meter_datum(const Field& field, const Survey& survey,
                                      const ExpectedZone& expected) {
  if (!expected.computed) return {};
  Doubts told_elsewhere;
  const EmitterSpec& emitter = field.zones[static_cast<std::size_t>(expected.zone)].emitter;
  const Estimate in_soil = in_soil_ratio(emitter.discharge_lph);
  std::optional<MeterDatum> best;
  for (const MeterComparison& comparison :
       compare_meter(field, survey, alone(field, expected), told_elsewhere)) {
    if (comparison.zones.size() != 1 || !(comparison.measured_lph > 0)) continue;
    const MeterDatum rated = by_rating(comparison, in_soil);
    if (!best || rated.noise_variance < best->noise_variance) best = rated;
    if (!comparison.against_commissioning) continue;
    const Estimate& record = *comparison.against_commissioning;
    const double variance =
        squared(record.sd) + squared(record.value * expected.rated_tolerance_frac);
    if (variance < best->noise_variance)
      best = MeterDatum{comparison.reading, record.value, variance, true};
  }
  return best;
}

std::vector<MeterSum> meter_sums(const Field& field, const Survey& survey,
                                 const Expectation& expectation) {
  Doubts told_elsewhere;
  std::vector<MeterSum> sums;
  for (const MeterComparison& comparison :
       compare_meter(field, survey, expectation, told_elsewhere)) {
    if (comparison.zones.size() < 2 || !(comparison.measured_lph > 0)) continue;
    MeterSum sum;
    sum.zones = comparison.zones;
    double all_lph = 0;
    double in_soil_frac = 0;
    double tolerance_frac = 0;
    for (const int zone : sum.zones) all_lph += expectation.zones[at(zone)].total_lph;
    for (const int zone : sum.zones) {
      const ExpectedZone& one = expectation.zones[at(zone)];
      const Estimate in_soil = in_soil_ratio(field.zones[at(zone)].emitter.discharge_lph);
      sum.shares.push_back(one.total_lph / all_lph);
      in_soil_frac += sum.shares.back() * in_soil.sd / in_soil.value;
      tolerance_frac += sum.shares.back() * one.rated_tolerance_frac;
    }
    sum.datum = by_rating(comparison, {1, in_soil_frac});
    if (comparison.against_commissioning) {
      const Estimate& record = *comparison.against_commissioning;
      const double variance = squared(record.sd) + squared(record.value * tolerance_frac);
      if (variance < sum.datum.noise_variance)
        sum.datum = {comparison.reading, record.value, variance, true};
    }
    sums.push_back(std::move(sum));
  }
  return sums;
}

std::optional<MeterDatum> shared_meter_datum(const std::vector<MeterSum>& sums, int zone,
                                             std::span<const Estimate> deliveries) {
  std::optional<MeterDatum> best;
  for (const MeterSum& sum : sums) {
    double own = 0;
    double others = 0;
    double variance = sum.datum.noise_variance;
    for (std::size_t i = 0; i < sum.zones.size(); ++i) {
      if (sum.zones[i] == zone) {
        own += sum.shares[i];
        continue;
      }
      others += sum.shares[i] * deliveries[at(sum.zones[i])].value;
      variance += squared(sum.shares[i] * deliveries[at(sum.zones[i])].sd);
    }
    if (!(own > 0)) continue;
    // The leak of the whole, seen on this zone alone, is larger.
    variance += squared(likely_leak * (1 - own));
    const MeterDatum datum{sum.datum.reading, (sum.datum.value - others) / own,
                           variance / squared(own), sum.datum.by_record};
    if (!best || datum.noise_variance < best->noise_variance) best = datum;
  }
  return best;
}

std::optional<MeterDatum> speaking_meter(const Field& field, const Survey& survey,
                                         const ExpectedZone& expected,
                                         const std::optional<MeterDatum>& shared) {
  auto own = meter_datum(field, survey, expected);
  return own ? own : shared;
}

std::string meter_against(const MeterDatum& datum, double mean_delivery, double mean_sd) {
  const double meter_sd = std::sqrt(datum.noise_variance);
  const std::string both = fmt::format(
      "the meter shows {:.0f} % of the clean flow{} (standard error {:.0f} %), the estimate {:.0f} "
      "% (standard error {:.0f} %)",
      100 * datum.value, datum.by_record ? " by the commissioning record" : "", 100 * meter_sd,
      100 * mean_delivery, 100 * mean_sd);
  const double off = datum.value - mean_delivery;
  if (std::abs(off) <= apart * std::hypot(meter_sd, mean_sd)) return both + ": they agree";
  if (off > 0)
    return both +
           ": more water goes in than the emitters should pass; look for a leak, or for emitters "
           "that pass too much where nothing was dug";
  return both +
         ": less water goes in than the emitters should pass; the loss lies where nothing was dug, "
         "or the soil holds back more than is usual";
}

}  // namespace evendrip
