// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/components.hpp"

#include "restricted_likelihood.hpp"

#include <Eigen/Dense>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <boost/math/tools/roots.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <set>
#include <stdexcept>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

// A variance ratio beyond this is as good as no variance within laterals.
constexpr double endless_ratio = 1e12;
// Scatter below 1e-11 of values of order 1 is rounding.
constexpr double rounding_frac = 1e-22;

double rounding_of(const NestedSums& sums, double mean) {
  return rounding_frac * (sums.total_yy + sums.emitters * (1 + mean * mean));
}

void require_confidence(double confidence) {
  if (!(confidence > 0 && confidence < 1)) {
    throw std::invalid_argument("the confidence is not inside 0 to 1");
  }
}

std::string not_usable(std::span<const GroupedValue> values) {
  if (values.empty()) return "no emitter has a value";
  for (const GroupedValue& v : values) {
    if (!std::isfinite(v.value)) return "a value is not finite";
    if (v.lateral < 0) return "an emitter is on no lateral that is told";
  }
  return "";
}

std::string too_little_for_components(const NestedSums& sums) {
  if (sums.laterals.size() < 2) {
    return "one lateral alone tells nothing of the differences between laterals";
  }
  if (sums.emitters <= static_cast<double>(sums.laterals.size())) {
    return "every lateral shows one emitter: differences between and within laterals cannot be "
           "told apart";
  }
  return "";
}

double& level_of(Variances& variances, std::size_t level) {
  return level == 0 ? variances.lateral : level == 1 ? variances.pit : variances.within;
}

/// Minus the second derivatives of the likelihood by logarithms of the positive variances.
Eigen::MatrixXd observed_information(const NestedSums& sums, const Variances& at,
                                     const std::vector<std::size_t>& levels) {
  constexpr double step = 1e-3;
  const auto moved = [&](std::size_t i, double di, std::size_t j, double dj) {
    Variances variances = at;
    level_of(variances, levels[i]) *= std::exp(di);
    level_of(variances, levels[j]) *= std::exp(dj);
    return log_likelihood(sums, FixedPart::mean, variances);
  };
  const auto size = static_cast<Eigen::Index>(levels.size());
  Eigen::MatrixXd information(size, size);
  for (std::size_t i = 0; i < levels.size(); ++i) {
    for (std::size_t j = 0; j < levels.size(); ++j) {
      const double mixed = moved(i, step, j, step) - moved(i, step, j, -step) -
                           moved(i, -step, j, step) + moved(i, -step, j, -step);
      information(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) =
          -mixed / (4 * step * step);
    }
  }
  return information;
}

double normal_quantile(double upper_tail) {
  return quantile(complement(boost::math::normal_distribution<double>(), upper_tail));
}

/// Limits on the logarithm of a variance, so that they stay above zero.
VarianceComponent with_log_error(double variance, double log_error, double confidence) {
  const double z = normal_quantile(0.5 * (1 - confidence));
  VarianceComponent component;
  component.variance = variance;
  if (!std::isfinite(log_error)) return component;
  component.standard_error = variance * log_error;
  component.lower = variance * std::exp(-z * log_error);
  component.upper = variance * std::exp(z * log_error);
  return component;
}

/// Largest variance of a level that the likelihood does not refuse, where its best is zero.
std::optional<double> upper_from_zero(const NestedSums& sums, Grouping grouping, HeldLevel held,
                                      double best, double confidence) {
  // Half the square of the one-sided normal quantile.
  const double z = normal_quantile(1 - confidence);
  const double likelihood_drop = 0.5 * z * z;
  const double scale = sums.total_yy / sums.emitters;
  const auto excess = [&](double log_variance) {
    return best - likelihood_drop -
           best_log_likelihood_holding(sums, FixedPart::mean, grouping, held,
                                       std::exp(log_variance));
  };
  const double low = std::log(scale) - 16;
  const double high = std::log(scale) + 16;
  if (excess(low) >= 0 || excess(high) <= 0) return std::nullopt;
  std::uintmax_t steps = 60;
  const auto [a, b] = boost::math::tools::toms748_solve(
      excess, low, high, boost::math::tools::eps_tolerance<double>(20), steps);
  return std::exp(0.5 * (a + b));
}

void add_errors(VarianceComponents& result, const NestedSums& sums, Grouping grouping,
                const Variances& variances, double confidence) {
  std::vector<std::size_t> levels;
  if (variances.lateral > 0) levels.push_back(0);
  if (variances.pit > 0) levels.push_back(1);
  levels.push_back(2);
  const Eigen::MatrixXd covariance = observed_information(sums, variances, levels).inverse();
  std::array<VarianceComponent, 3> components;
  for (std::size_t i = 0; i < levels.size(); ++i) {
    const auto at = static_cast<Eigen::Index>(i);
    Variances copy = variances;
    components[levels[i]] =
        with_log_error(level_of(copy, levels[i]), std::sqrt(covariance(at, at)), confidence);
  }
  const double best = result.restricted_log_likelihood;
  if (variances.lateral == 0) {
    components[0].upper = upper_from_zero(sums, grouping, HeldLevel::lateral, best, confidence);
  }
  if (grouping == Grouping::pits_in_laterals && variances.pit == 0) {
    components[1].upper = upper_from_zero(sums, grouping, HeldLevel::pit, best, confidence);
  }
  result.between_laterals = components[0];
  if (grouping == Grouping::pits_in_laterals) result.between_pits = components[1];
  result.within = components[2];
}

void finish(VarianceComponents& result) {
  const double total = result.total_variance();
  result.lateral_share_frac = total > 0 ? result.between_laterals.variance / total : 0;
  result.computed = true;
}

/// Emitters of one lateral agree to the last digit, laterals do not.
void fit_laterals_alone(VarianceComponents& result, const NestedSums& sums, double confidence) {
  double mean = 0;
  for (const auto& lateral : sums.laterals) mean += lateral.front().mean_y;
  const auto n = static_cast<double>(sums.laterals.size());
  mean /= n;
  double squares = 0;
  for (const auto& lateral : sums.laterals) {
    squares += (lateral.front().mean_y - mean) * (lateral.front().mean_y - mean);
  }
  const double variance = squares / (n - 1);
  result.mean = mean;
  result.mean_standard_error = std::sqrt(variance / n);
  result.between_laterals = with_log_error(variance, std::sqrt(2 / (n - 1)), confidence);
  result.remark = "the emitters of each lateral are alike; only the laterals differ";
}

/// The F test's ratio of laterals to what varies within them, if their variance ratio were that.
double lateral_f(const NestedSums& sums, Ratios ratios) {
  const double whole = generalised_fit(sums, FixedPart::mean, ratios).residual_squares;
  const double within =
      generalised_fit(sums, FixedPart::mean, {endless_ratio, ratios.pit}).residual_squares;
  const auto groups = static_cast<double>(sums.laterals.size());
  return (whole - within) / (groups - 1) / (within / (sums.emitters - groups));
}

/// The variance ratio at which the F test gives that value; 0 where none above 0 does.
double ratio_at_f(const NestedSums& sums, double pit_ratio, double f) {
  const auto excess = [&](double log_ratio) {
    return lateral_f(sums, {std::exp(log_ratio), pit_ratio}) - f;
  };
  constexpr double farthest_log = 16;
  if (lateral_f(sums, {0, pit_ratio}) <= f) return 0;
  if (excess(-farthest_log) <= 0) return 0;
  if (excess(farthest_log) >= 0) return std::exp(farthest_log);
  std::uintmax_t steps = 60;
  const auto [a, b] = boost::math::tools::toms748_solve(
      excess, -farthest_log, farthest_log, boost::math::tools::eps_tolerance<double>(30), steps);
  return std::exp(0.5 * (a + b));
}

LateralShareLimits lateral_share_limits(const VarianceComponents& parts, const NestedSums& sums,
                                        Grouping grouping, double pit_ratio, double confidence) {
  const auto groups = static_cast<double>(sums.laterals.size());
  const double units = grouping == Grouping::laterals ? sums.emitters : sums.pits;
  LateralShareLimits limits;
  if (units - groups < 1) return limits;
  const boost::math::fisher_f_distribution<double> f(groups - 1, units - groups);
  const double tail = 0.5 * (1 - confidence);
  const auto share = [&](double ratio) { return ratio / (1 + ratio + pit_ratio); };
  const auto at = [&](double value) { return share(ratio_at_f(sums, pit_ratio, value)); };
  limits.known = true;
  limits.lower = at(quantile(complement(f, tail)));
  limits.upper = at(quantile(f, tail));
  // Laterals more alike than chance makes them: what the likelihood leaves is told.
  if (limits.upper <= 0 && parts.between_laterals.upper && parts.within.variance > 0) {
    limits.upper = share(*parts.between_laterals.upper / parts.within.variance);
  }
  return limits;
}

void fit_components(VarianceComponents& result, const NestedSums& sums, Grouping grouping,
                    double confidence) {
  const BestRatios best = best_ratios(sums, FixedPart::mean, grouping);
  const GeneralisedFit fit = generalised_fit(sums, FixedPart::mean, best.ratios);
  const double within = fit.residual_squares / fit.degrees_of_freedom;
  result.restricted_log_likelihood = best.log_likelihood;
  result.mean = fit.intercept;
  result.mean_standard_error = std::sqrt(within * fit.intercept_variance);
  add_errors(result, sums, grouping,
             {best.ratios.lateral * within, best.ratios.pit * within, within}, confidence);
  result.lateral_share = lateral_share_limits(result, sums, grouping, best.ratios.pit, confidence);
}

/// Where the emitters within a pit agree to the last digit the pits take their place.
void fit_levels(VarianceComponents& result, const NestedSums& sums, Grouping grouping,
                double confidence) {
  const double rounding = rounding_of(sums, result.mean);
  if (sums.total_yy <= rounding) {
    if (grouping == Grouping::pits_in_laterals) result.between_pits = VarianceComponent{};
    result.remark = "all values are equal";
  } else if (sums.within_yy > rounding) {
    fit_components(result, sums, grouping, confidence);
  } else if (grouping == Grouping::pits_in_laterals) {
    VarianceComponents of_pits = result;
    fit_levels(of_pits, nested_sums(pit_means(sums), Grouping::laterals), Grouping::laterals,
               confidence);
    of_pits.between_pits = std::exchange(of_pits.within, VarianceComponent{});
    result = of_pits;
    if (result.remark.empty()) result.remark = "the emitters of each pit are alike";
  } else {
    fit_laterals_alone(result, sums, confidence);
  }
}

/// Every lateral shows one pit, and some pit several emitters.
bool pits_stand_for_laterals(std::span<const GroupedValue> values, Grouping grouping) {
  if (grouping == Grouping::pits_in_laterals) return false;
  return std::any_of(values.begin(), values.end(), [&](const GroupedValue& v) {
    return v.pit >= 0 && std::count_if(values.begin(), values.end(), [&](const GroupedValue& w) {
                           return w.lateral == v.lateral && w.pit == v.pit;
                         }) > 1;
  });
}

double plain_mean(std::span<const GroupedValue> values) {
  double sum = 0;
  for (const GroupedValue& v : values) sum += v.value;
  return sum / static_cast<double>(values.size());
}

}  // namespace

VarianceComponents variance_components(std::span<const GroupedValue> values, PitLevel level,
                                       double confidence) {
  require_confidence(confidence);
  VarianceComponents result;
  result.why_not = not_usable(values);
  if (!result.why_not.empty()) return result;
  const Grouping grouping = grouping_of(values, level);
  const NestedSums sums = nested_sums(values, grouping);
  result.emitters = static_cast<int>(values.size());
  result.laterals = static_cast<int>(sums.laterals.size());
  result.pits = nested_sums(values, Grouping::pits_in_laterals).pits;
  result.why_not = too_little_for_components(sums);
  if (!result.why_not.empty()) return result;
  result.mean = plain_mean(values);
  fit_levels(result, sums, grouping, confidence);
  if (level == PitLevel::where_data_allow && result.remark.empty() &&
      pits_stand_for_laterals(values, grouping)) {
    result.remark =
        "every lateral shows one pit: differences between pits count to the laterals here";
  }
  finish(result);
  return result;
}

namespace {

std::string too_little_for_trend(std::span<const GroupedValue> values, const NestedSums& sums) {
  for (const GroupedValue& v : values) {
    if (!std::isfinite(v.covariate)) return "an emitter has no station";
  }
  if (sums.within_lateral_xx <= rounding_frac * sums.emitters) {
    return "no lateral shows emitters at two stations";
  }
  return "";
}

/// Of the level that holds most of the covariate's variation: pits less laterals less 1, or
/// emitters less pits (laterals) less 1.
double inner_degrees(const NestedSums& sums, Grouping grouping) {
  const auto laterals = static_cast<double>(sums.laterals.size());
  if (grouping == Grouping::laterals) return sums.emitters - laterals - 1;
  if (sums.within_xx < 0.5 * sums.within_lateral_xx) return sums.pits - laterals - 1;
  return sums.emitters - sums.pits - 1;
}

/// Slopes with one lateral left out, at the variance ratios of all; none where one tells no slope.
std::vector<double> slopes_without_one(std::span<const GroupedValue> values, Grouping grouping,
                                       Ratios ratios) {
  std::set<int> laterals;
  for (const GroupedValue& v : values) laterals.insert(v.lateral);
  std::vector<double> slopes;
  for (const int lateral : laterals) {
    std::vector<GroupedValue> left(values.begin(), values.end());
    std::erase_if(left, [&](const GroupedValue& v) { return v.lateral == lateral; });
    const NestedSums sums = nested_sums(left, grouping);
    if (!(sums.within_lateral_xx > rounding_frac * sums.emitters)) return {};
    slopes.push_back(generalised_fit(sums, FixedPart::line, ratios).slope);
  }
  return slopes;
}

std::optional<double> lateral_error(double slope, const std::vector<double>& without_one) {
  const auto n = static_cast<double>(without_one.size());
  if (n < 3) return std::nullopt;
  double squares = 0;
  for (const double s : without_one) squares += (s - slope) * (s - slope);
  return std::sqrt((n - 1) / n * squares);
}

/// Half the width of limits, and the chance of a slope that far from none.
struct Judged {
  double reach = 0;
  double p = 1;
};

Judged judged(double slope, double error, double freedom, double confidence) {
  const boost::math::students_t_distribution<double> student(freedom);
  return {quantile(complement(student, 0.5 * (1 - confidence))) * error,
          error > 0 ? 2 * cdf(complement(student, std::abs(slope) / error)) : 0};
}

void judge_trend(Trend& trend, const std::vector<double>& without_one, double confidence) {
  const Judged model =
      judged(trend.slope, trend.standard_error, trend.degrees_of_freedom, confidence);
  trend.p_two_sided = trend.p_value = model.p;
  double reach = model.reach;
  trend.lateral_standard_error = lateral_error(trend.slope, without_one);
  if (trend.lateral_standard_error) {
    const Judged between = judged(trend.slope, *trend.lateral_standard_error,
                                  static_cast<double>(without_one.size()) - 1, confidence);
    reach = std::max(reach, between.reach);
    trend.p_value = std::max(trend.p_value, between.p);
  }
  trend.lower = trend.slope - reach;
  trend.upper = trend.slope + reach;
}

void fit_trend(Trend& trend, std::span<const GroupedValue> values, const NestedSums& sums,
               Grouping grouping, double confidence) {
  const BestRatios best = best_ratios(sums, FixedPart::line, grouping);
  const GeneralisedFit fit = generalised_fit(sums, FixedPart::line, best.ratios);
  trend.within_variance = fit.residual_squares / fit.degrees_of_freedom;
  trend.between_laterals_variance = best.ratios.lateral * trend.within_variance;
  trend.slope = fit.slope;
  trend.intercept = fit.intercept;
  trend.intercept_standard_error = std::sqrt(trend.within_variance * fit.intercept_variance);
  trend.standard_error = std::sqrt(trend.within_variance * fit.slope_variance);
  trend.t = trend.slope / trend.standard_error;
  judge_trend(trend, slopes_without_one(values, grouping, best.ratios), confidence);
  trend.computed = true;
}

/// Emitters that lie on one line within every lateral: no error to judge a slope by.
bool on_lines(const NestedSums& sums) {
  const double explained = sums.within_lateral_xy * sums.within_lateral_xy / sums.within_lateral_xx;
  return sums.within_lateral_yy - explained <= 1e-14 * sums.within_lateral_yy;
}

}  // namespace

Trend trend_along(std::span<const GroupedValue> values, PitLevel level, double confidence) {
  require_confidence(confidence);
  Trend trend;
  trend.why_not = not_usable(values);
  if (!trend.why_not.empty()) return trend;
  Grouping grouping = grouping_of(values, level);
  NestedSums sums = nested_sums(values, grouping);
  std::vector<GroupedValue> means;
  const double rounding = rounding_of(sums, plain_mean(values));
  if (grouping == Grouping::pits_in_laterals && sums.within_yy <= rounding) {
    means = pit_means(sums);
    values = means;
    grouping = Grouping::laterals;
    sums = nested_sums(values, grouping);
  }
  trend.why_not = too_little_for_trend(values, sums);
  trend.degrees_of_freedom = std::max(0.0, inner_degrees(sums, grouping));
  if (!trend.why_not.empty()) return trend;
  if (trend.degrees_of_freedom < 1) {
    trend.why_not = "too few emitters on each lateral to tell a trend from chance";
  } else if (sums.total_yy <= rounding) {
    trend.why_not = "all values are equal: there is no trend, and no scatter to judge one by";
  } else if (on_lines(sums)) {
    trend.why_not = "the values lie on a line without scatter: a trend cannot be judged";
  } else {
    fit_trend(trend, values, sums, grouping, confidence);
  }
  return trend;
}

}  // namespace evendrip
