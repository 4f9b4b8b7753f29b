// SPDX-License-Identifier: Apache-2.0
#include "survey_outlook.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <map>
#include <utility>

#include <boost/math/distributions/beta.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <boost/random/chi_squared_distribution.hpp>
#include <boost/random/normal_distribution.hpp>

#include "evendrip/base/random.hpp"

#include "joined_draws.hpp"
#include "planned_variance.hpp"

namespace evendrip {
namespace {

constexpr int zones_looked_at = 200;
// Fixed, so that a plan depends on the survey alone.
constexpr std::uint64_t plan_seed = 20;
constexpr std::size_t least_runners = 4;
// Spreads of the runners are kept at plugged shares this far apart, up to nearly a quarter.
constexpr double share_step = 0.01;
constexpr int share_steps = 25;

Shape shape_of(PlannedMeasure measure) {
  switch (measure) {
    case PlannedMeasure::statistical_uniformity:
      return Shape::variation;
    case PlannedMeasure::low_quarter_uniformity:
      return Shape::shortfall;
    case PlannedMeasure::christiansen:
      return Shape::deviation;
    case PlannedMeasure::mean:
      break;
  }
  return Shape::mean;
}

/// Share above which lies `tail` of the mid-p distribution of `count` among `sample`.
double middle_upper_share(double count, double sample, double tail) {
  const double rest = sample - count;
  if (!(rest > 0)) return 1;
  const boost::math::beta_distribution<double> more(count + 1, rest);
  const auto above = [&](double share) {
    double sum = 0.5 * cdf(complement(more, share));
    if (count > 0) {
      sum += 0.5 * cdf(complement(boost::math::beta_distribution<double>(count, rest + 1), share));
    }
    return sum - tail;
  };
  if (!(count > 0)) return quantile(complement(more, std::min(1.0, 2 * tail)));
  std::uintmax_t turns = 50;
  const auto found = boost::math::tools::toms748_solve(
      above, 0.0, 1.0, 1 - tail, -tail, boost::math::tools::eps_tolerance<double>(12), turns);
  return 0.5 * (found.first + found.second);
}

struct ShareInterval {
  double lower = 0;
  double upper = 1;
};

/// As the two-part limits take the plugged share, the zone being part dug.
ShareInterval interval_of(const PluggedShare& plugged, double confidence) {
  const double tail = 0.5 * (1 - confidence);
  const double n = plugged.effective_emitters;
  const double x = plugged.share * n;
  const double left = plugged.unseen_part();
  const double upper = middle_upper_share(x, n, tail);
  const double lower =
      x > 0 ? quantile(boost::math::beta_distribution<double>(x, n - x + 1), tail) : 0;
  return {plugged.share - left * (plugged.share - lower),
          plugged.share + left * (upper - plugged.share)};
}

/// Emitters that stand on a lateral that is told.
EmitterSample on_laterals(const EmitterSample& sample) {
  EmitterSample result;
  for (const SampledEmitter& e : sample.emitters) {
    if (e.lateral >= 0) result.emitters.push_back(e);
  }
  return result;
}

PluggedCounts counts_of(const EmitterSample& sample, const SampleLevels& levels) {
  PluggedCounts counts;
  counts.emitters.assign(static_cast<std::size_t>(levels.laterals), 0);
  counts.plugged = counts.emitters;
  for (std::size_t i = 0; i < sample.emitters.size(); ++i) {
    const auto lateral = static_cast<std::size_t>(levels.lateral[i]);
    ++counts.emitters[lateral];
    if (!(sample.emitters[i].discharge_lph > 0)) ++counts.plugged[lateral];
  }
  return counts;
}

/// A mean of squares as it may be in truth: over chi-square on its degrees of freedom.
double possible_square(double square, double freedom, std::mt19937_64& stream) {
  if (!(freedom > 0)) return square;
  boost::random::chi_squared_distribution<double> chi(freedom);
  return square * freedom / std::max(chi(stream), 1e-9 * freedom);
}

double freedom_of(double units, double lost, double excess_kurtosis) {
  return units > lost ? 2 / (2 / (units - lost) + excess_kurtosis / units) : 0;
}

}  // namespace

SurveyOutlook::SurveyOutlook(const EmitterSample& first, PlannedMeasure measure,
                             const PlanOptions& options)
    : measure_(measure), shape_(shape_of(measure)), options_(options) {
  const EmitterSample sample = on_laterals(first);
  if (sample.emitters.empty()) {
    why_not_ = "no emitter has a discharge";
    return;
  }
  find_runners(sample);
  if (why_not_.empty()) draw_possible(counts_of(sample, levels_of(sample)));
}

void SurveyOutlook::find_runners(const EmitterSample& first) {
  const SampleLevels levels = levels_of(first);
  std::vector<GroupedValue> values;
  std::map<int, int> laterals;
  for (std::size_t i = 0; i < first.emitters.size(); ++i) {
    if (!(first.emitters[i].discharge_lph > 0)) continue;
    const auto [at, fresh] =
        laterals.try_emplace(levels.lateral[i], static_cast<int>(laterals.size()));
    values.push_back({first.emitters[i].discharge_lph, at->second, levels.pit[i], 0});
  }
  if (values.size() < least_runners) {
    why_not_ = "fewer than four emitters run: they plan no survey";
    return;
  }
  components_ = plan_components(values, measure_);
  why_not_ = components_.why_not;
  if (!why_not_.empty()) return;
  std::vector<Runners::Emitter> emitters;
  emitters.reserve(values.size());
  for (const GroupedValue& v : values) emitters.push_back({v.value, 1, v.lateral});
  runners_.assign(emitters, static_cast<int>(laterals.size()));
  laterals_ = static_cast<double>(laterals.size());
  emitters_each_ = static_cast<double>(values.size()) / laterals_;
  const double log_value = runners_.log_value(shape_, 0);
  const double value = std::exp(log_value);
  if (shape_ == Shape::shortfall) {
    scale_slope_ = value * (1 - value);
  } else if (shape_ != Shape::mean) {
    scale_slope_ = value;
  }
  const double alone = runners_.evaluate(shape_, 0).independent;
  if (!(alone > 0) || !(scale_slope_ > 0)) {
    why_not_ = "the emitters dug are alike: their variation plans no survey";
    return;
  }
  const double alone_on_scale = error_on_scale(shape_, {log_value, alone, 0, alone});
  for (int s = 0; s < share_steps; ++s) {
    const double share = std::min(s * share_step, 0.24);
    const ShapeValue at = runners_.evaluate(shape_, share);
    spreads_.push_back(error_on_scale(shape_, {at.log_value, at.independent, 0, at.independent}) /
                       alone_on_scale);
  }
}

void SurveyOutlook::draw_possible(const PluggedCounts& counts) {
  std::mt19937_64 stream = item_stream(plan_seed, {1});
  boost::random::normal_distribution<double> normal;
  const double k = emitters_each_;
  const double of_laterals = k * components_.between + components_.within;
  const double lateral_freedom = freedom_of(laterals_, 1, components_.shape.excess_kurtosis(k));
  const double emitter_freedom =
      freedom_of(laterals_ * k, laterals_, components_.shape.excess_kurtosis(1));
  std::vector<PluggedZone> plugged = possible_zones(counts, zones_looked_at, stream);
  for (const PluggedZone& zone : plugged) {
    Possible possible;
    possible.plugged = zone;
    possible.within = possible_square(components_.within, emitter_freedom, stream);
    const double square = possible_square(of_laterals, lateral_freedom, stream);
    possible.between = std::max(0.0, (square - possible.within) / k);
    const double variance = possible.between / laterals_ + possible.within / (laterals_ * k);
    possible.shift = normal(stream) * std::sqrt(variance) / scale_slope_;
    zones_.push_back(possible);
  }
}

double SurveyOutlook::value_at(double share, double shift) const {
  std::array<double, shape_count> logs{};
  logs.fill(lowest_log);
  const double held = std::min(share, 0.999);
  logs[static_cast<std::size_t>(shape_)] =
      log_from_scale(shape_, on_scale(shape_, runners_.log_value(shape_, held)) + shift);
  return measures_of_whole(share, logs)[static_cast<std::size_t>(limits_measure(measure_))];
}

/// Standard error of the runners' shape in a survey of the zone, as that survey would tell it.
double SurveyOutlook::runner_error(const Possible& zone, double share, double m, double k,
                                   double scatter) const {
  PlanComponents parts = components_;
  parts.between = zone.between;
  parts.within = zone.within / (1 - share);  // only runners tell of it
  const PlannedVariance planned = planned_variance(parts, m, k, options_);
  if (!(planned.variance > 0)) return 0;
  if (!(planned.freedom > 0)) return std::numeric_limits<double>::infinity();
  // Wilson & Hilferty's cube of a normal deviate, for the chi-square of a fixed draw.
  const double ninth = 2 / (9 * planned.scatter_freedom);
  const double chi = std::max(0.05, 1 - ninth + scatter * std::sqrt(ninth));
  const auto at = static_cast<std::size_t>(std::min(share / share_step, share_steps - 1.0));
  return student_quantile(planned.freedom, options_.confidence) *
         std::sqrt(planned.variance * chi * chi * chi) / scale_slope_ * spreads_[at];
}

double SurveyOutlook::foreseen(std::size_t number, int laterals, int emitters_on_each) const {
  const Possible& zone = zones_[number];
  std::mt19937_64 stream = item_stream(plan_seed, {2, number});
  const double scatter = boost::random::normal_distribution<double>()(stream);
  PluggingOptions plugging;
  plugging.confidence = options_.confidence;
  plugging.zone = {options_.laterals, options_.emitters_on_a_lateral};
  const PluggedShare plugged =
      effective_plugging(drawn_counts(zone.plugged, laterals, emitters_on_each, stream), plugging);
  if (plugged.emitters - plugged.plugged < static_cast<int>(least_runners)) {
    return std::numeric_limits<double>::infinity();
  }
  const ShareInterval share = interval_of(plugged, options_.confidence);
  const double error = runner_error(zone, plugged.share, laterals, emitters_on_each, scatter);
  if (!std::isfinite(error)) return error;
  const double estimate = value_at(plugged.share, zone.shift);
  const auto [least, most] = std::minmax(
      {value_at(plugged.share, zone.shift - error), value_at(plugged.share, zone.shift + error)});
  const double lower =
      estimate - std::hypot(estimate - value_at(share.upper, zone.shift), estimate - least);
  const double upper =
      estimate + std::hypot(value_at(share.lower, zone.shift) - estimate, most - estimate);
  const bool signless = measure_ == PlannedMeasure::statistical_uniformity ||
                        measure_ == PlannedMeasure::christiansen;
  const double half = 0.5 * (upper - (signless ? lower : std::max(0.0, lower)));
  return measure_ == PlannedMeasure::mean ? half / estimate : half;
}

std::vector<double> SurveyOutlook::half_widths(int laterals, int emitters_on_each) const {
  std::vector<double> widths;
  for (std::size_t z = 0; z < zones_.size(); ++z) {
    widths.push_back(foreseen(z, laterals, emitters_on_each));
  }
  return widths;
}

bool SurveyOutlook::reaches(int laterals, int emitters_on_each) const {
  const auto zones = static_cast<double>(zones_.size());
  const auto may_miss = static_cast<int>((1 - options_.assurance) * zones + 1e-9);
  int missed = 0;
  for (std::size_t z = 0; z < zones_.size(); ++z) {
    if (!(foreseen(z, laterals, emitters_on_each) <= options_.half_width_frac)) ++missed;
    if (missed > may_miss) return false;
  }
  return true;
}

}  // namespace evendrip
