// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/association.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <stdexcept>

#include <fmt/core.h>
#include <boost/math/distributions/students_t.hpp>

#include "evendrip/crop/moran.hpp"
#include "evendrip/surface/surface_model.hpp"
#include "spread_pairs.hpp"

namespace evendrip {
namespace {

constexpr std::size_t fewest_pairs = 4;
constexpr double level = 0.05;

double mean_of(std::span<const double> values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

bool same_everywhere(std::span<const double> values) {
  const auto [least, most] = std::minmax_element(values.begin(), values.end());
  return !(*most > *least);
}

/// Each pair as an observation whose site carries x as its station: the metric of the errors is the
/// plane, which does not look at stations.
SurfaceObservations observations_at(std::span<const Point> places, std::span<const double> x,
                                    std::span<const double> y) {
  Samples samples;
  for (std::size_t i = 0; i < places.size(); ++i) {
    Sample sample;
    sample.site.place = places[i];
    sample.site.station_m = x[i];
    sample.value = y[i];
    samples.push_back(sample);
  }
  return observations_of(samples);
}

SurfaceModel line_with_spatial_errors(std::span<const Point> places, std::span<const double> y) {
  Extent extent;
  for (const Point p : places) extent.include(p);
  const double mean = mean_of(y);
  double variance = 0;
  for (const double v : y) variance += (v - mean) * (v - mean) / static_cast<double>(y.size());
  const double range_m = std::max(std::hypot(extent.width(), extent.height()) / 8, 1e-3);
  SurfaceModel form;
  form.trend = {constant_term(),
                function_term("x", [](const Site& site) { return site.station_m; })};
  form.covariance.terms = {{"errors",
                            std::max(variance / 2, 1e-12),
                            {{Metric::plane, VariogramShape::exponential, range_m, 0, 1}}}};
  form.nugget = std::max(variance / 2, 1e-12);
  return form;
}

double two_sided(double t, double freedom) {
  if (!std::isfinite(t)) return std::isnan(t) ? 1 : 0;
  const boost::math::students_t_distribution<double> student(freedom);
  return 2 * cdf(complement(student, std::abs(t)));
}

struct LocalFindings {
  std::vector<LocalAssociation> local;
  std::vector<double> p;
};

LocalAssociation kind_of(bool water_low, bool crop_low) {
  if (water_low)
    return crop_low ? LocalAssociation::both_low : LocalAssociation::water_low_crop_high;
  return crop_low ? LocalAssociation::water_high_crop_low : LocalAssociation::both_high;
}

LocalFindings locally(std::span<const Point> places, std::span<const double> discharge,
                      std::span<const double> crop, double within_m, double rate,
                      std::uint64_t seed, const Work& work) {
  const NeighbourWeights weights = neighbours_within(places, within_m, work);
  const int permutations =
      std::clamp(20 * static_cast<int>(std::min<std::size_t>(places.size(), 1000)), 999, 9999);
  const LocalPair crop_around =
      local_bivariate_moran(discharge, crop, weights, permutations, seed, work);
  const LocalPair water_around =
      local_bivariate_moran(crop, discharge, weights, permutations, seed + 1, work);
  std::vector<double> larger;
  for (std::size_t i = 0; i < places.size(); ++i)
    larger.push_back(std::isnan(crop_around.p[i]) ? crop_around.p[i]
                                                  : std::max(crop_around.p[i], water_around.p[i]));
  LocalFindings found{std::vector<LocalAssociation>(places.size(), LocalAssociation::none),
                      false_discovery_adjusted(larger)};
  const double mean_discharge = mean_of(discharge);
  const double mean_crop = mean_of(crop);
  for (std::size_t i = 0; i < places.size(); ++i) {
    if (!(found.p[i] <= rate)) continue;
    // The value is the place's own side times the other side around it.
    const bool crop_low = crop_around.value[i] * (discharge[i] - mean_discharge) < 0;
    const bool water_low = water_around.value[i] * (crop[i] - mean_crop) < 0;
    found.local[i] = kind_of(water_low, crop_low);
  }
  return found;
}

/// The least correlation that p 0.05 asks for.
double least_correlation(const ModifiedTTest& test) {
  if (!(test.degrees_of_freedom > 0)) return 1;
  const boost::math::students_t_distribution<double> student(test.degrees_of_freedom);
  const double t = quantile(complement(student, level / 2));
  return t / std::sqrt(test.degrees_of_freedom + t * t);
}

std::string strength(const ModifiedTTest& test) {
  return fmt::format(
      "correlation {:.2f}, 90 % limits {:.2f} to {:.2f}, p {}; {} pairs count as {:.0f} "
      "independent ones",
      test.correlation, test.lower_90, test.upper_90,
      test.p < 0.001 ? std::string("below 0.001") : fmt::format("{:.3f}", test.p), test.pairs,
      test.effective_pairs);
}

/// Rounded to tenths; what rounds to nothing has no sign.
double tenths(double value) {
  return std::round(10 * value) / 10 + 0.0;
}

std::string slope_told(const SpatialRegression& regression) {
  if (!regression.converged) return " How much crop goes with how much water cannot be told.";
  const double low = regression.slope - 1.645 * regression.slope_error;
  const double high = regression.slope + 1.645 * regression.slope_error;
  std::string told = fmt::format(
      " Where discharge is 10 % lower, the crop is {:.1f} % {} (90 % limits {:.1f} to {:.1f} % "
      "lower)",
      std::abs(10 * regression.slope), regression.slope < 0 ? "higher" : "lower", tenths(10 * low),
      tenths(10 * high));
  if (regression.slope_p > level)
    told += "; with errors that neighbours share taken into account this may be chance";
  return told + ".";
}

std::string overall(const Association& association) {
  const ModifiedTTest& test = association.test;
  if (test.p > level)
    return fmt::format(
        "No association of crop with discharge can be told ({}). With so few, a correlation of at "
        "least {:.2f} would have had to show; a weaker one may be there unseen.",
        strength(test), least_correlation(test));
  if (test.correlation > 0)
    return fmt::format(
        "Where discharge is lower, the crop is lower ({}).{} That they go together "
        "does not prove that water is the cause: soil may lower both.",
        strength(test), slope_told(association.regression));
  return fmt::format(
      "Where discharge is lower, the crop is higher ({}).{} Lack of water is not what "
      "holds the crop back as a whole.",
      strength(test), slope_told(association.regression));
}

std::string local_told(const std::vector<LocalAssociation>& local, double rate) {
  const auto count = [&](LocalAssociation kind) {
    return std::count(local.begin(), local.end(), kind);
  };
  const auto low = count(LocalAssociation::both_low);
  const auto water = count(LocalAssociation::water_low_crop_high);
  const auto crop = count(LocalAssociation::water_high_crop_low);
  const auto any = low + water + crop + count(LocalAssociation::both_high);
  if (any == 0) return " No single part of the map stands out in both.";
  return fmt::format(
      " By place, with at most {:.0f} % of what is named false: both low at {}, water low and crop "
      "high at {}, crop low and water high at {} of {} places.",
      100 * rate, low, water, crop, local.size());
}

}  // namespace

std::string to_text(LocalAssociation association) {
  switch (association) {
    case LocalAssociation::none:
      return "none";
    case LocalAssociation::both_low:
      return "both low";
    case LocalAssociation::both_high:
      return "both high";
    case LocalAssociation::water_low_crop_high:
      return "water low, crop high";
    case LocalAssociation::water_high_crop_low:
      return "water high, crop low";
  }
  return "none";
}

SpatialRegression spatial_regression(std::span<const Point> places, std::span<const double> x,
                                     std::span<const double> y, const Work& work) {
  if (places.size() != x.size() || x.size() != y.size())
    throw std::invalid_argument("places and the two sides of a regression differ in number");
  if (places.size() > most_regression_pairs) {
    const std::vector<std::size_t> some = spread_over(places, most_regression_pairs);
    return spatial_regression(taken_from(places, some), taken_from(x, some), taken_from(y, some),
                              work);
  }
  const SurfaceFit fit =
      fit_surface(observations_at(places, x, y), line_with_spatial_errors(places, y), {}, work);
  SpatialRegression result;
  result.pairs = static_cast<int>(places.size());
  result.intercept = fit.coefficients[0];
  result.slope = fit.coefficients[1];
  result.slope_error = fit.coefficient_errors[1];
  result.slope_p =
      two_sided(result.slope / result.slope_error, static_cast<double>(places.size()) - 2);
  result.converged = fit.converged;
  if (fit.model.covariance.terms.empty()) return result;
  const CovarianceTerm& errors = fit.model.covariance.terms.front();
  result.error_range_m = errors.factors.front().range_m;
  result.error_share = errors.variance / (errors.variance + fit.model.nugget);
  return result;
}

namespace {

/// Of no more pairs than are tested; all of them count.
Association of_all(std::span<const Point> places, std::span<const double> discharge,
                   std::span<const double> crop, double neighbours_within_m,
                   double false_discovery_rate, std::uint64_t seed, const Work& work) {
  Association result;
  result.local.assign(places.size(), LocalAssociation::none);
  result.local_p.assign(places.size(), std::numeric_limits<double>::quiet_NaN());
  result.test.pairs = static_cast<int>(places.size());
  if (places.size() < fewest_pairs) {
    result.verdict = fmt::format(
        "{} pairs of discharge and crop are too few to tell whether they "
        "go together (at least {}).",
        places.size(), fewest_pairs);
    return result;
  }
  result.test = modified_t_test(places, discharge, crop);
  if (same_everywhere(discharge) || same_everywhere(crop)) {
    result.verdict = fmt::format(
        "{} is the same at every place: whether crop goes with discharge "
        "cannot be told.",
        same_everywhere(discharge) ? "Discharge" : "The crop");
    return result;
  }
  result.regression = spatial_regression(places, discharge, crop, work);
  LocalFindings found =
      locally(places, discharge, crop, neighbours_within_m, false_discovery_rate, seed, work);
  result.local = std::move(found.local);
  result.local_p = std::move(found.p);
  result.verdict = overall(result) + local_told(result.local, false_discovery_rate);
  return result;
}

/// The findings at some of the pairs, each back at its place.
void put_back(const std::vector<std::size_t>& some, std::size_t all, Association& result) {
  std::vector<LocalAssociation> local(all, LocalAssociation::none);
  std::vector<double> p(all, std::numeric_limits<double>::quiet_NaN());
  for (std::size_t k = 0; k < some.size(); ++k) {
    local[some[k]] = result.local[k];
    p[some[k]] = result.local_p[k];
  }
  result.local = std::move(local);
  result.local_p = std::move(p);
}

/// That some of the pairs stand for all.
void tell_thinned(std::size_t all, Association& result) {
  const auto tested = static_cast<std::size_t>(result.test.pairs);
  const auto fitted = static_cast<std::size_t>(result.regression.pairs);
  const bool fewer_fitted = fitted > 0 && fitted < tested;
  if (tested == all && !fewer_fitted) return;
  std::string rest = fmt::format("f {} pairs of discharge and crop {} are compared", all,
                                 tested < all ? fmt::format("{}", tested) : std::string("all"));
  if (fewer_fitted)
    rest += fmt::format(" and {} tell how much crop goes with how much water", fitted);
  rest += "; they are spread over the field as all are, and fewer widen the limits";
  result.verdict += " O" + rest + ".";
  result.doubts.push_back({"pairs_thinned",
                           Severity::note,
                           {},
                           "o" + rest,
                           fmt::format("{}", all),
                           fmt::format("at most {} to compare, {} for the line", most_tested_pairs,
                                       most_regression_pairs),
                           ""});
}

}  // namespace

Association associate(std::span<const Point> places, std::span<const double> discharge,
                      std::span<const double> crop, double neighbours_within_m,
                      double false_discovery_rate, std::uint64_t seed, const Work& work) {
  if (places.size() != discharge.size() || discharge.size() != crop.size())
    throw std::invalid_argument("places, discharge and crop differ in number");
  const auto of = [&](std::span<const Point> at, std::span<const double> water,
                      std::span<const double> plants) {
    return of_all(at, water, plants, neighbours_within_m, false_discovery_rate, seed, work);
  };
  Association result;
  if (places.size() > most_tested_pairs) {
    const std::vector<std::size_t> some = spread_over(places, most_tested_pairs);
    result = of(taken_from(places, some), taken_from(discharge, some), taken_from(crop, some));
    put_back(some, places.size(), result);
  } else {
    result = of(places, discharge, crop);
  }
  tell_thinned(places.size(), result);
  return result;
}

}  // namespace evendrip
