// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/variation.hpp"

#include "evendrip/hydraulics/emitter_curve.hpp"

#include <fmt/format.h>
#include <boost/math/distributions/chi_squared.hpp>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <map>
#include <stdexcept>
#include <tuple>
#include <utility>

#include "division_limits.hpp"
#include "total_variance.hpp"

namespace evendrip {
namespace {

// Below this chance a difference is told as more than chance; common practice.
constexpr double significant = 0.05;
// A covariance above this share of the whole is told; common practice, no source.
constexpr double covariance_told_frac = 0.1;

double mean_of_values(const std::vector<double>& values) {
  double sum = 0;
  for (const double v : values) sum += v;
  return sum / static_cast<double>(values.size());
}

/// With n - 1.
double covariance_of(const std::vector<double>& a, const std::vector<double>& b) {
  const double mean_a = mean_of_values(a);
  const double mean_b = mean_of_values(b);
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += (a[i] - mean_a) * (b[i] - mean_b);
  return sum / static_cast<double>(a.size() - 1);
}

double relative_covariance(const std::vector<double>& a, const std::vector<double>& b) {
  return covariance_of(a, b) / (mean_of_values(a) * mean_of_values(b));
}

bool has_pressure(const VariedEmitter& e) {
  return std::isfinite(e.pressure_kpa) && e.pressure_kpa > 0;
}

std::vector<VariedEmitter> measured_ones(std::span<const VariedEmitter> emitters) {
  std::vector<VariedEmitter> measured;
  for (const VariedEmitter& e : emitters) {
    if (std::isfinite(e.discharge_lph) && e.discharge_lph >= 0) measured.push_back(e);
  }
  // Sums shall not depend on the order of digging.
  const auto key = [](const VariedEmitter& e) {
    return std::tuple(e.discharge_lph, e.lateral, e.pit, has_pressure(e) ? e.pressure_kpa : -1,
                      std::isfinite(e.station_frac) ? e.station_frac : -1);
  };
  std::sort(measured.begin(), measured.end(),
            [&](const VariedEmitter& a, const VariedEmitter& b) { return key(a) < key(b); });
  return measured;
}

/// Discharges, pressures and discharge over pressure to the exponent, in one order.
struct Columns {
  std::vector<double> discharge;
  std::vector<double> pressure;
  std::vector<double> performance;
};

Columns columns_of(const std::vector<VariedEmitter>& emitters, double exponent) {
  Columns columns;
  for (const VariedEmitter& e : emitters) {
    if (!has_pressure(e)) continue;
    columns.discharge.push_back(e.discharge_lph);
    columns.pressure.push_back(e.pressure_kpa);
    columns.performance.push_back(e.discharge_lph / std::pow(e.pressure_kpa, exponent));
  }
  return columns;
}

std::vector<VariedEmitter> with_pressure(std::vector<VariedEmitter> emitters) {
  std::erase_if(emitters, [](const VariedEmitter& e) { return !has_pressure(e); });
  return emitters;
}

PlainDivision plain_division(const std::vector<VariedEmitter>& emitters,
                             const VariationOptions& options) {
  const double exponent = options.exponent;
  const Columns columns = columns_of(emitters, exponent);
  PlainDivision division;
  division.emitters = static_cast<int>(columns.discharge.size());
  if (division.emitters < 2) {
    division.why_not = "fewer than two emitters have both a discharge and a pressure";
    return division;
  }
  if (!(mean_of_values(columns.discharge) > 0)) {
    division.why_not = "no emitter gives water";
    return division;
  }
  division.total = relative_covariance(columns.discharge, columns.discharge);
  const double pressure = relative_covariance(columns.pressure, columns.pressure);
  division.hydraulic = exponent * exponent * pressure;
  division.performance = relative_covariance(columns.performance, columns.performance);
  division.covariance = 2 * exponent * relative_covariance(columns.pressure, columns.performance);
  division.remainder =
      division.total - division.hydraulic - division.performance - division.covariance;
  division.pressure_cv = std::sqrt(pressure);
  division.performance_cv = std::sqrt(division.performance);
  division.discharge_cv = std::sqrt(division.total);
  division.shares = plain_shares(with_pressure(emitters), options.exponent, options.confidence);
  division.computed = true;
  return division;
}

std::vector<VariedEmitter> running_ones(const std::vector<VariedEmitter>& emitters) {
  std::vector<VariedEmitter> running;
  for (const VariedEmitter& e : emitters) {
    if (e.discharge_lph > 0 && has_pressure(e)) running.push_back(e);
  }
  return running;
}

double log_performance(const VariedEmitter& e, double exponent) {
  return std::log(e.discharge_lph) - exponent * std::log(e.pressure_kpa);
}

LogDivision log_division(const std::vector<VariedEmitter>& running,
                         const VariationOptions& options) {
  const double exponent = options.exponent;
  LogDivision division;
  division.emitters = static_cast<int>(running.size());
  if (division.emitters < 2) {
    division.why_not = "fewer than two emitters run and have a pressure";
    return division;
  }
  std::vector<double> pressure;
  std::vector<double> performance;
  std::vector<double> discharge;
  for (const VariedEmitter& e : running) {
    pressure.push_back(exponent * std::log(e.pressure_kpa));
    performance.push_back(log_performance(e, exponent));
    discharge.push_back(std::log(e.discharge_lph));
  }
  division.total = covariance_of(discharge, discharge);
  division.hydraulic = covariance_of(pressure, pressure);
  division.performance = covariance_of(performance, performance);
  division.covariance = 2 * covariance_of(pressure, performance);
  division.shares = log_shares(running, exponent, options.confidence);
  division.computed = true;
  return division;
}

std::string too_little_for_excess(const PlainDivision& plain, const LogDivision& logarithms,
                                  const VariationOptions& options) {
  if (!options.maker_cv) return "the maker's CV of new emitters is not stated";
  if (!std::isfinite(*options.maker_cv) || *options.maker_cv <= 0) {
    return "the maker's CV of new emitters must be above 0";
  }
  if (!plain.computed) return plain.why_not;
  return logarithms.why_not;
}

double rest_cv(double cv_square, const PerformanceExcess& excess) {
  return std::sqrt(std::max(0.0, cv_square - excess.maker_cv * excess.maker_cv -
                                     excess.measuring_cv * excess.measuring_cv));
}

/// Performance of the emitters that run, over its mean.
std::vector<GroupedValue> relative_performances(const std::vector<VariedEmitter>& running,
                                                double exponent) {
  const std::vector<double> performance = columns_of(running, exponent).performance;
  const double mean = mean_of_values(performance);
  std::vector<GroupedValue> values;
  for (std::size_t i = 0; i < running.size(); ++i) {
    values.push_back({performance[i] / mean, running[i].lateral, running[i].pit, 0});
  }
  return values;
}

double squares_about_one(const std::vector<GroupedValue>& values) {
  double squares = 0;
  for (const GroupedValue& v : values) squares += (v.value - 1) * (v.value - 1);
  return squares;
}

double independent_p_value(const std::vector<GroupedValue>& values, double ratio) {
  const auto freedom = static_cast<double>(values.size() - 1);
  return cdf(complement(boost::math::chi_squared_distribution<double>(freedom), ratio));
}

std::string statement_of(const PerformanceExcess& excess, int plugged, int emitters) {
  const std::string compared = fmt::format(
      "at equal pressure the emitters that run vary by {:.1f} %; new ones by {:.1f} % as the maker "
      "states",
      100 * excess.running_cv, 100 * excess.maker_cv);
  std::string running =
      excess.p_value < significant
          ? compared +
                ", which chance does not explain: clogging, wear or pressures other than "
                "those taken"
          : compared +
                ": neither clogging nor wear is told from their variation; a loss common "
                "to all does not show in it";
  if (plugged == 0) return running;
  return running + fmt::format("; {} of {} with a pressure are plugged", plugged, emitters);
}

PerformanceExcess performance_excess(const std::vector<VariedEmitter>& running,
                                     const Variation& variation, const VariationOptions& options) {
  PerformanceExcess excess;
  excess.maker_cv = options.maker_cv.value_or(0);
  excess.measuring_cv = options.measuring_cv;
  excess.why_not = too_little_for_excess(variation.plain, variation.logarithms, options);
  if (!excess.why_not.empty()) return excess;
  const std::vector<GroupedValue> values = relative_performances(running, options.exponent);
  const double new_variance =
      excess.maker_cv * excess.maker_cv + excess.measuring_cv * excess.measuring_cv;
  const double squares = squares_about_one(values);
  const VarianceLimits limits = total_variance_limits(values, options.confidence);
  excess.running_cv = std::sqrt(squares / static_cast<double>(values.size() - 1));
  excess.all_cv = variation.plain.performance_cv;
  excess.running_excess_cv = rest_cv(excess.running_cv * excess.running_cv, excess);
  excess.running_excess_lower_cv = rest_cv(limits.lower, excess);
  excess.running_excess_upper_cv = rest_cv(limits.upper, excess);
  excess.all_excess_cv = rest_cv(excess.all_cv * excess.all_cv, excess);
  excess.p_value = chance_of_variance_above(values, new_variance);
  excess.independent_p_value = independent_p_value(values, squares / new_variance);
  excess.statement = statement_of(excess, variation.plain.emitters - variation.logarithms.emitters,
                                  variation.plain.emitters);
  excess.computed = true;
  return excess;
}

VarianceComponents discharge_components(const std::vector<VariedEmitter>& measured,
                                        double confidence) {
  std::vector<double> discharges;
  discharges.reserve(measured.size());
  for (const VariedEmitter& e : measured) discharges.push_back(e.discharge_lph);
  VarianceComponents none;
  none.why_not = "no emitter gives water";
  if (discharges.empty() || !(mean_of_values(discharges) > 0)) return none;
  const double mean = mean_of_values(discharges);
  std::vector<GroupedValue> values;
  for (const VariedEmitter& e : measured) {
    if (e.lateral >= 0) values.push_back({e.discharge_lph / mean, e.lateral, e.pit, 0});
  }
  return variance_components(values, PitLevel::where_data_allow, confidence);
}

/// Log performance of the emitters that run on a known lateral.
std::vector<GroupedValue> log_performances(const std::vector<VariedEmitter>& running,
                                           double exponent) {
  std::vector<GroupedValue> values;
  for (const VariedEmitter& e : running) {
    if (e.lateral < 0) continue;
    values.push_back({log_performance(e, exponent), e.lateral, e.pit, e.station_frac});
  }
  return values;
}

Trend trend_of(std::vector<GroupedValue> values, double confidence) {
  std::erase_if(values, [](const GroupedValue& v) { return !std::isfinite(v.covariate); });
  return trend_along(values, PitLevel::where_data_allow, confidence);
}

std::string counted(int count, const std::string& what, const std::string& then) {
  return fmt::format("{} {}{} {}", count, what, count == 1 ? "" : "s", then);
}

void tell_counts(Variation& variation, std::size_t given) {
  const int refused = static_cast<int>(given) - variation.emitters;
  if (refused > 0) {
    variation.statements.push_back(
        counted(refused, "discharge", "negative or not a number: left out"));
  }
  if (variation.emitters == 0) {
    variation.statements.emplace_back("no emitter has a discharge: nothing can be concluded");
  } else if (variation.emitters == 1) {
    variation.statements.emplace_back(
        "one emitter has a discharge: nothing can be concluded about variation");
  } else if (variation.plugged == variation.emitters) {
    variation.statements.emplace_back(
        "no emitter gives water: look for a closed valve or a plugged zone before judging "
        "uniformity");
  }
  if (variation.without_pressure > 0 && variation.emitters > 1) {
    variation.statements.push_back(
        counted(variation.without_pressure, "emitter", "without a pressure: not in the division"));
  }
}

/// " (12 to 40)", in percent.
std::string percent_range(double lower, double upper) {
  return fmt::format(" ({:.0f} to {:.0f})", 100 * lower, 100 * upper);
}

std::string share_text(const PartShare& share) {
  return fmt::format("{:.0f} %{}", 100 * share.frac,
                     share.known ? percent_range(share.lower, share.upper) : "");
}

void tell_division(Variation& variation, const std::vector<VariedEmitter>& measured) {
  const LogDivision& parts = variation.logarithms;
  if (!parts.computed) {
    variation.statements.push_back("pressure and emitters are not told apart: " + parts.why_not);
    return;
  }
  if (!(parts.total > 1e-20)) {
    variation.statements.emplace_back("the emitters that run all give the same");
    return;
  }
  variation.statements.push_back(fmt::format(
      "of the variation of the emitters that run, {} is pressure, {} the emitters, {} both at once",
      share_text(parts.shares.hydraulic), share_text(parts.shares.performance),
      share_text(parts.shares.covariance)));
  if (parts.covariance > covariance_told_frac * parts.total) {
    variation.statements.emplace_back(
        "where pressure is low the emitters are worse too, as sediment at the tail makes them");
  }
  if (std::none_of(measured.begin(), measured.end(),
                   [](const auto& e) { return e.pressure_measured; })) {
    variation.statements.emplace_back(
        "no pressure was measured at an emitter: faults that lower pressure in places count to "
        "the emitters");
  }
}

void tell_laterals(Variation& variation) {
  const VarianceComponents& parts = variation.discharge;
  if (!parts.computed) {
    variation.statements.push_back("laterals are not compared: " + parts.why_not);
  } else if (parts.total_variance() > 0) {
    variation.statements.push_back(
        fmt::format("of the variance of discharge {:.0f} %{} lies between laterals",
                    100 * parts.lateral_share_frac,
                    parts.lateral_share.known
                        ? percent_range(parts.lateral_share.lower, parts.lateral_share.upper)
                        : ""));
  }
  if (parts.computed && parts.lateral_share.known && variation.plugged > 0) {
    variation.statements.emplace_back(
        "limits of the share between laterals take effects for normal: where plugging comes in "
        "clusters they hold the true share less often than they should");
  }
  const Trend& trend = variation.trend;
  if (!trend.computed) {
    variation.statements.push_back("a trend along the laterals is not told: " + trend.why_not);
    return;
  }
  const auto change_pct = [](double slope) { return 100 * std::expm1(slope); };
  variation.statements.push_back(
      fmt::format("beyond friction, performance changes by {:+.0f} % from head to tail ({:+.0f} to "
                  "{:+.0f} %){}",
                  change_pct(trend.slope), change_pct(trend.lower), change_pct(trend.upper),
                  trend.p_value < significant ? "" : ": not told from chance"));
}

void require_options(const VariationOptions& options) {
  if (!std::isfinite(options.exponent) || options.exponent < 0) {
    throw std::invalid_argument("the emitter exponent is negative or not finite");
  }
  if (!std::isfinite(options.measuring_cv) || options.measuring_cv < 0) {
    throw std::invalid_argument("the measuring error is negative or not finite");
  }
  if (!(options.confidence > 0 && options.confidence < 1)) {
    throw std::invalid_argument("the confidence is not inside 0 to 1");
  }
}

/// Numbers pits in the order in which they appear.
class PitNumbers {
 public:
  int of(int lateral, const std::string& name) {
    if (name.empty()) return -1;
    return numbers_.try_emplace({lateral, name}, static_cast<int>(numbers_.size())).first->second;
  }

 private:
  std::map<std::pair<int, std::string>, int> numbers_;
};

}  // namespace

std::vector<VariedEmitter> varied_emitters(const Field& field, const Survey& survey,
                                           std::span<const JudgedEmitter> judged, int zone) {
  PitNumbers pits;
  std::vector<VariedEmitter> result;
  for (std::size_t i = 0; i < survey.emitters.size(); ++i) {
    const MeasuredEmitter& emitter = survey.emitters[i];
    const bool runs = std::isfinite(emitter.discharge_lph);
    const bool none = emitter.state == EmitterState::none;
    if (!emitter.usable() || !(runs || none)) continue;
    if (zone >= 0 && emitter.site.zone != zone) continue;
    VariedEmitter varied;
    varied.discharge_lph = none ? 0 : emitter.discharge_lph;
    varied.lateral = emitter.site.lateral;
    varied.pit = pits.of(varied.lateral, emitter.pit);
    if (i < judged.size()) {
      varied.pressure_kpa = judged[i].pressure_kpa;
      varied.pressure_measured = judged[i].pressure_measured;
    }
    if (varied.lateral >= 0) {
      const double length_m = field.laterals[static_cast<std::size_t>(varied.lateral)].length_m;
      if (length_m > 0) varied.station_frac = emitter.site.station_m / length_m;
    }
    result.push_back(varied);
  }
  return result;
}

Variation divided_variation(std::span<const VariedEmitter> emitters,
                            const VariationOptions& options) {
  require_options(options);
  const std::vector<VariedEmitter> measured = measured_ones(emitters);
  const std::vector<VariedEmitter> running = running_ones(measured);
  Variation variation;
  variation.emitters = static_cast<int>(measured.size());
  for (const VariedEmitter& e : measured) {
    if (!has_pressure(e)) ++variation.without_pressure;
    if (e.discharge_lph == 0) ++variation.plugged;
  }
  variation.plain = plain_division(measured, options);
  variation.logarithms = log_division(running, options);
  variation.excess = performance_excess(running, variation, options);
  variation.discharge = discharge_components(measured, options.confidence);
  const std::vector<GroupedValue> performances = log_performances(running, options.exponent);
  variation.log_performance =
      variance_components(performances, PitLevel::where_data_allow, options.confidence);
  variation.trend = trend_of(performances, options.confidence);
  tell_counts(variation, emitters.size());
  if (variation.emitters > 1 && variation.plugged < variation.emitters) {
    tell_division(variation, measured);
    if (variation.excess.computed) variation.statements.push_back(variation.excess.statement);
    tell_laterals(variation);
  }
  return variation;
}

std::vector<DivisionCoverage> simulated_division_coverage() {
  constexpr int zones = 400;
  return {
      {"pressure, share of squares", 0.962, 1.0, "pressures uneven between laterals", zones},
      {"emitters, share of squares", 0.942, 0.998, "18 emitters, 5 % plugged", zones},
      {"both at once, share of squares", 0.955, 1.0, "5 % plugged", zones},
      {"pressure, share of logarithms", 0.802, 0.982,
       "18 emitters, 10 % plugged in part: the lower limit is too high where few of them are met",
       zones},
      {"emitters, share of logarithms", 0.942, 0.995, "pressures uneven between laterals", zones},
      {"both at once, share of logarithms", 0.950, 0.985, "sediment in the tails", zones},
      {"between laterals, share of discharge", 0.668, 0.980,
       "a tenth of the laterals plugged in half: the upper limit is too low", zones},
      {"between laterals, share of log performance", 0.945, 0.988,
       "18 emitters, wear uneven between laterals", zones},
      {"trend along laterals", 0.882, 0.992, "18 emitters, sediment in the tails", zones}};
}

double working_exponent(const EmitterSpec& emitter, double pressure_kpa) {
  if (!(pressure_kpa > 0)) return emitter.exponent;
  const EmitterCurve curve = curve_of(emitter);
  return discharge_slope(curve, pressure_kpa) * pressure_kpa / discharge_lph(curve, pressure_kpa);
}

std::optional<double> performance_cv_from(double discharge_cv, double pressure_cv,
                                          double exponent) {
  const double rest = discharge_cv * discharge_cv - exponent * exponent * pressure_cv * pressure_cv;
  if (discharge_cv < 0 || pressure_cv < 0 || exponent < 0 || !(rest >= 0)) return std::nullopt;
  return std::sqrt(rest);
}

double hydraulic_uniformity_frac(double pressure_cv, double exponent) {
  return 1 - exponent * pressure_cv;
}

}  // namespace evendrip
