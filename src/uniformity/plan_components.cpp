// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/sample_size.hpp"

#include "influence.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <set>
#include <stdexcept>

namespace evendrip {
namespace {

bool is_sample(std::span<const double> discharges) {
  return !discharges.empty() && std::all_of(discharges.begin(), discharges.end(),
                                            [](double q) { return std::isfinite(q) && q >= 0; });
}

/// Of a sorted sample over its mean; the quarter counts the last reading in part.
Whole whole_of(const std::vector<double>& sorted) {
  const auto n = static_cast<double>(sorted.size());
  const double quarter = n / 4;
  const auto below = static_cast<std::size_t>(quarter);
  Whole whole;
  whole.quartile = sorted[below];
  if (below > 0 && quarter == static_cast<double>(below)) {
    whole.quartile = 0.5 * (sorted[below - 1] + sorted[below]);
  }
  double squares = 0;
  double lowest = 0;
  for (std::size_t i = 0; i < sorted.size(); ++i) {
    const double d = sorted[i] - 1;
    squares += d * d;
    whole.mean_deviation += std::abs(d) / n;
    whole.below_less_above_mean += (d < 0 ? 1 : d > 0 ? -1 : 0) / n;
    lowest += std::min(sorted[i] - whole.quartile, 0.0);
  }
  whole.sd = std::sqrt(squares / n);
  whole.low_quarter = whole.quartile + lowest / quarter;
  return whole;
}

double excess_kurtosis_of(const std::vector<double>& values) {
  double second = 0;
  double fourth = 0;
  for (const double v : values) {
    second += v * v;
    fourth += v * v * v * v;
  }
  const auto n = static_cast<double>(values.size());
  return second > 0 ? n * fourth / (second * second) - 3 : 0;
}

double cv_of(std::span<const double> discharges) {
  const auto n = static_cast<double>(discharges.size());
  const double mean = std::accumulate(discharges.begin(), discharges.end(), 0.0) / n;
  double squares = 0;
  for (const double q : discharges) squares += (q - mean) * (q - mean);
  return std::sqrt(squares / n) / mean;
}

bool one_emitter_on_each(std::span<const GroupedValue> values) {
  std::set<int> laterals;
  for (const GroupedValue& v : values) laterals.insert(v.lateral);
  return values.size() > 1 && laterals.size() == values.size() && *laterals.begin() >= 0;
}

/// One emitter on every lateral: nothing tells laterals from emitters.
void count_all_to_laterals(PlanComponents& components, const std::vector<double>& influences) {
  double squares = 0;
  for (const double v : influences) squares += v * v;
  components.between = squares / static_cast<double>(influences.size() - 1);
  components.remark = "one emitter was dug on every lateral: all variation counts to the laterals";
}

void fill_components(PlanComponents& components, std::span<const GroupedValue> discharges,
                     const std::vector<double>& influences) {
  if (one_emitter_on_each(discharges)) {
    count_all_to_laterals(components, influences);
  } else {
    std::vector<GroupedValue> values(discharges.begin(), discharges.end());
    for (std::size_t i = 0; i < values.size(); ++i) values[i].value = influences[i];
    const VarianceComponents parts = variance_components(values);
    components.why_not = parts.why_not;
    if (!parts.computed) return;
    components.between = parts.between_laterals.variance;
    components.within =
        parts.within.variance + (parts.between_pits ? parts.between_pits->variance : 0);
  }
  // Scatter of 1e-9 of the mean is rounding.
  if (!(components.between + components.within > 1e-18)) {
    components.why_not = "the emitters dug are alike: their variation plans no survey";
    return;
  }
  components.computed = true;
}

/// Normal emitters of the survey's CV and lateral share; small samples hide their tails, so that
/// the sample's own kurtosis only adds to it.
LateralShape shape_of(std::span<const GroupedValue> discharges, const std::vector<double>& values,
                      const std::vector<double>& influences, PlannedMeasure measure) {
  const VarianceComponents parts = variance_components(discharges);
  const double share = parts.computed ? parts.lateral_share_frac : 1;
  LateralShape shape = normal_shape(cv_of(values), share, measure);
  // Of single emitters, whatever their laterals.
  const double normal = normal_shape(cv_of(values), 0, measure).excess_kurtosis(1);
  shape.heavier = std::max(1.0, (3 + excess_kurtosis_of(influences)) / (3 + normal));
  return shape;
}

}  // namespace

std::vector<double> influence_values(std::span<const double> discharges, PlannedMeasure measure) {
  if (!is_sample(discharges)) return {};
  std::vector<double> sorted(discharges.begin(), discharges.end());
  std::sort(sorted.begin(), sorted.end());
  const double mean =
      std::accumulate(sorted.begin(), sorted.end(), 0.0) / static_cast<double>(sorted.size());
  if (!(mean > 0)) return {};
  for (double& q : sorted) q /= mean;
  const Whole whole = whole_of(sorted);
  std::vector<double> values;
  for (const double q : discharges) values.push_back(influence(whole, q / mean, measure));
  return values;
}

double LateralShape::excess_kurtosis(double emitters) const {
  const double k = emitters;
  const double second = between + within / k;
  if (!(second > 0)) return 0;
  const double fourth = m4 + 6 * m2v / k + 4 * mt / (k * k) + (f + 3 * (k - 1) * v2) / (k * k * k);
  return heavier * std::max(0.0, fourth / (second * second) - 3);
}

PlanComponents plan_components(std::span<const GroupedValue> discharges, PlannedMeasure measure) {
  PlanComponents components;
  components.measure = measure;
  std::vector<double> values;
  for (const GroupedValue& v : discharges) values.push_back(v.value);
  const std::vector<double> influences = influence_values(values, measure);
  if (influences.empty()) {
    components.why_not = values.empty()      ? "no emitter has a discharge"
                         : is_sample(values) ? "no emitter gives water"
                                             : "a discharge is negative or not finite";
    return components;
  }
  fill_components(components, discharges, influences);
  if (components.computed) {
    components.shape = shape_of(discharges, values, influences, measure);
  }
  return components;
}

PlanComponents normal_plan_components(double cv, double lateral_share_frac,
                                      PlannedMeasure measure) {
  if (!std::isfinite(cv) || !(cv > 0)) throw std::invalid_argument("the CV is not above 0");
  if (!(lateral_share_frac >= 0 && lateral_share_frac <= 1)) {
    throw std::invalid_argument("the share between laterals is not within 0 to 1");
  }
  PlanComponents components;
  components.computed = true;
  components.measure = measure;
  components.shape = normal_shape(cv, lateral_share_frac, measure);
  components.between = components.shape.between;
  components.within = components.shape.within;
  return components;
}

}  // namespace evendrip
