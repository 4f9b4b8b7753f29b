// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/limits.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numeric>
#include <stdexcept>
#include <tuple>
#include <utility>

#include <fmt/format.h>
#include <boost/math/distributions/students_t.hpp>

#include "evendrip/base/random.hpp"
#include "evendrip/uniformity/measures.hpp"

#include "joined_draws.hpp"
#include "plain_bootstraps.hpp"

namespace evendrip {
namespace {

// Fewer laterals than this say little of how laterals differ.
constexpr int enough_laterals = 6;
// Fewer emitters that run than this say nothing of the low end.
constexpr std::size_t least_runners = 4;
// Normal relations: low-quarter shortfall and mean deviation of a unit normal, phi(z)/p.
constexpr double normal_low_quarter = 1.2711062907;
constexpr double normal_deviation = 0.7978845608;

constexpr std::size_t index_of(Measure measure) {
  return static_cast<std::size_t>(measure);
}

void require_options(const LimitOptions& options) {
  if (!(options.confidence > 0 && options.confidence < 1)) {
    throw std::invalid_argument("the confidence is not between 0 and 1");
  }
  if (options.draws < 100) throw std::invalid_argument("fewer than 100 draws");
}

/// In an order that does not depend on the order of the table.
EmitterSample ordered(const EmitterSample& sample) {
  EmitterSample result = sample;
  std::stable_sort(
      result.emitters.begin(), result.emitters.end(),
      [](const SampledEmitter& a, const SampledEmitter& b) {
        return std::tuple(a.zone, a.lateral, a.pit, a.place, a.discharge_lph, a.weight) <
               std::tuple(b.zone, b.lateral, b.pit, b.place, b.discharge_lph, b.weight);
      });
  return result;
}

std::vector<LevelledEmitter> levelled(const EmitterSample& sample, const SampleLevels& levels) {
  std::vector<LevelledEmitter> emitters;
  for (std::size_t i = 0; i < sample.emitters.size(); ++i) {
    emitters.push_back({sample.emitters[i].discharge_lph, sample.emitters[i].weight,
                        levels.lateral[i], levels.pit[i]});
  }
  return emitters;
}

std::vector<LevelledEmitter> runners_of(const std::vector<LevelledEmitter>& emitters,
                                        double plugged_at_lph) {
  std::vector<LevelledEmitter> runners;
  for (const LevelledEmitter& e : emitters) {
    if (e.discharge > plugged_at_lph) runners.push_back(e);
  }
  return runners;
}

std::array<double, all_measures.size()> estimates_of(const std::vector<double>& discharges,
                                                     QuarterRule rule) {
  return {mean_of(discharges), coefficient_of_variation(discharges),
          low_quarter_uniformity(discharges, rule), christiansen_coefficient(discharges),
          statistical_uniformity(discharges)};
}

Runners runners_sorted(const std::vector<LevelledEmitter>& emitters) {
  const LateralResampling numbered(emitters);
  std::vector<Runners::Emitter> list;
  for (const LevelledEmitter& e : numbered.emitters()) {
    list.push_back({e.discharge, e.weight, e.lateral});
  }
  Runners runners;
  runners.assign(list, numbered.laterals());
  return runners;
}

std::array<double, shape_count> log_shapes_of(const Runners& runners, double share) {
  std::array<double, shape_count> logs{};
  for (const Shape shape : {Shape::mean, Shape::variation, Shape::deviation, Shape::shortfall}) {
    logs[static_cast<std::size_t>(shape)] = runners.log_value(shape, std::min(share, 0.999));
  }
  return logs;
}

/// The plugged share's draws, as its mid-p upper and as its exact lower limit have them, and none.
std::array<std::vector<double>, 3> plugged_draws(const PluggedShare& plugged,
                                                 const LimitOptions& options) {
  std::mt19937_64 stream = item_stream(options.seed, {1});
  const double n = plugged.effective_emitters;
  const double x = plugged.share * n;
  const double part = plugged.unseen_part();
  const double none_left = plugged.plugged == plugged.emitters ? 0 : n - x;
  std::array<std::vector<double>, 3> draws = {
      middle_share_draws(x, none_left, options.draws, stream),
      share_draws(x, none_left + 1, options.draws, stream),
      std::vector<double>(static_cast<std::size_t>(options.draws), 0.0)};
  for (std::vector<double>* shares : {&draws[0], &draws[1]}) {
    for (double& share : *shares) share = plugged.share + part * (share - plugged.share);
  }
  return draws;
}

/// Nothing where the zone is not known.
RunnersOfZone runners_of_zone(const PluggedShare& plugged, const DugFrom& zone) {
  if (plugged.more_than_zone) return {};
  const double laterals = zone.laterals;
  return {laterals, laterals * zone.emitters_on_a_lateral * (1 - plugged.share)};
}

Limits limits_from(std::vector<double> low, std::vector<double> high, double confidence) {
  const double tail = 0.5 * (1 - confidence);
  Limits limits;
  limits.known = true;
  limits.lower = quantile_of(low, tail);
  limits.upper = std::max(limits.lower, quantile_of(high, 1 - tail));
  return limits;
}

void add_two_part(UniformityLimits& result, const std::vector<LevelledEmitter>& runners,
                  const LimitOptions& options) {
  const auto shares = plugged_draws(result.plugged, options);
  std::vector<MeasureDraws> joined =
      join_draws(runners, result.plugged.share, shares, options.seed,
                 runners_of_zone(result.plugged, options.plugging.zone));
  const Runners sorted = runners_sorted(runners);
  const double share = result.plugged.share;
  const auto whole = measures_of_whole(share, log_shapes_of(sorted, share));
  const auto running = measures_of_whole(0, log_shapes_of(sorted, 0));
  for (MeasureLimits& m : result.measures) {
    const std::size_t i = index_of(m.measure);
    // A larger plugged share lowers every measure but the CV.
    const bool grows = m.measure == Measure::cv;
    m.low_draws = std::move(joined[grows ? 1 : 0][i]);
    m.high_draws = std::move(joined[grows ? 0 : 1][i]);
    m.two_part_estimate = whole[i];
    m.two_part = limits_from(m.low_draws, m.high_draws, options.confidence);
    m.two_part.estimate = whole[i];
    m.running = limits_from(joined[2][i], joined[2][i], options.confidence);
    m.running.method = LimitMethod::studentised;
    m.running.estimate = running[i];
  }
}

Limits mirrored(Limits limits, double slope) {
  const double lower = 1 - slope * limits.upper;
  const double upper = 1 - slope * limits.lower;
  limits.estimate = 1 - slope * limits.estimate;
  limits.lower = lower;
  limits.upper = upper;
  return limits;
}

/// Limits of the CV, and what the relations of a normal distribution make of them.
void add_normal(MeasureLimits& m, double cv, int n, double confidence) {
  if (m.measure == Measure::mean || n < 2) return;
  for (Limits limits :
       {noncentral_t_cv_limits(cv, n, confidence), chi_square_cv_limits(cv, n, confidence),
        large_sample_cv_limits(cv, n, confidence)}) {
    if (m.measure == Measure::statistical) limits = mirrored(limits, 1);
    const bool by_relation =
        m.measure == Measure::low_quarter || m.measure == Measure::christiansen;
    if (by_relation && limits.method != LimitMethod::noncentral_t) continue;
    if (by_relation) {
      limits = mirrored(limits,
                        m.measure == Measure::low_quarter ? normal_low_quarter : normal_deviation);
      limits.approximation = true;
    }
    m.beside.push_back(limits);
  }
}

/// Student's t on the sums of influences of the laterals; on the logarithmic scale but for the
/// mean.
void add_lateral_means(UniformityLimits& result, Runners& all, double confidence) {
  if (result.laterals < 2) return;
  const double t = quantile(boost::math::students_t(result.laterals - 1), 0.5 + 0.5 * confidence);
  auto low = log_shapes_of(all, 0);
  auto high = low;
  const auto estimate = measures_of_whole(0, low);
  for (std::size_t s = 0; s < shape_count; ++s) {
    const ShapeValue value = all.evaluate(static_cast<Shape>(s), 0);
    low[s] = value.log_value - t * value.between_laterals;
    high[s] = value.log_value + t * value.between_laterals;
  }
  const auto a = measures_of_whole(0, low);
  const auto b = measures_of_whole(0, high);
  const double mean_error = t * all.mean() * all.evaluate(Shape::mean, 0).between_laterals;
  for (MeasureLimits& m : result.measures) {
    const std::size_t i = index_of(m.measure);
    Limits limits{LimitMethod::lateral_means, true, true, estimate[i], std::min(a[i], b[i]),
                  std::max(a[i], b[i])};
    if (m.measure == Measure::mean) {
      limits.lower = std::max(0.0, all.mean() - mean_error);
      limits.upper = all.mean() + mean_error;
    }
    m.beside.push_back(limits);
  }
}

void add_beside(UniformityLimits& result, const std::vector<LevelledEmitter>& emitters,
                const LimitOptions& options) {
  const std::vector<double> no_share(static_cast<std::size_t>(options.draws), 0.0);
  std::vector<MeasureDraws> studentised =
      join_draws(emitters, 0, std::span(&no_share, 1), item_seed(options.seed, {4}));
  const auto plain = plain_limits(emitters, options.confidence, options.draws, options.seed);
  const double cv = result.of(Measure::cv).estimate;
  for (MeasureLimits& m : result.measures) {
    const std::size_t i = index_of(m.measure);
    Limits limits = limits_from(studentised[0][i], studentised[0][i], options.confidence);
    limits.method = LimitMethod::studentised;
    limits.estimate = plain[i].percentile.estimate;
    m.beside = {limits, plain[i].percentile, plain[i].bca};
    add_normal(m, cv, result.emitters, options.confidence);
  }
  Runners all = runners_sorted(emitters);
  add_lateral_means(result, all, options.confidence);
}

void state(UniformityLimits& result, std::string code, Severity severity, std::string text,
           std::string remedy = "") {
  result.statements.push_back(
      {std::move(code), severity, {}, std::move(text), "", "", std::move(remedy)});
}

void state_laterals(UniformityLimits& result) {
  if (result.laterals == 1) {
    state(result, "one_lateral", Severity::doubt,
          "all emitters stand on one lateral: the limits are of that lateral, of the others they "
          "say nothing",
          "Dig on other laterals");
  } else if (result.rest_on_model) {
    state(result, "limits_rest_on_model", Severity::doubt,
          fmt::format("these limits rest on the model: {} laterals say little of how laterals "
                      "differ; limits by Student's t from the laterals stand beside",
                      result.laterals),
          fmt::format("Dig on {} laterals or more", enough_laterals));
  }
}

void state_zone(UniformityLimits& result, const DugFrom& zone) {
  if (!result.plugged.more_than_zone) return;
  state(result, "more_dug_than_zone_has", Severity::doubt,
        fmt::format("{} emitters on {} laterals were measured, but the zone is told to have {} "
                    "laterals with {} emitters on each: the limits take it as without end",
                    result.emitters, result.laterals, zone.laterals, zone.emitters_on_a_lateral),
        "Correct the counts of laterals and emitters of the zone, or the places of the catches");
}

void state_plugging(UniformityLimits& result) {
  const PluggedShare& plugged = result.plugged;
  if (plugged.plugged == 0) {
    state(result, "plugged_may_be_missed", Severity::note,
          fmt::format("no plugged emitter among {}; up to {:.1f} % may be plugged, and the lower "
                      "limits reckon with it",
                      plugged.emitters, 100 * plugged.clustered.upper));
  } else if (plugged.plugged == plugged.emitters) {
    state(result, "all_plugged", Severity::doubt,
          fmt::format("all {} emitters are plugged: there is no flow whose evenness could be told; "
                      "only the plugged share has limits",
                      plugged.emitters));
  }
}

void state_runners(UniformityLimits& result, const std::vector<LevelledEmitter>& runners) {
  if (runners.empty()) return;
  if (runners.size() < least_runners) {
    state(result, "too_few_running", Severity::doubt,
          fmt::format("{} emitters run: too few to give their evenness limits", runners.size()),
          "Measure more emitters");
    return;
  }
  const auto [low, high] = std::minmax_element(
      runners.begin(), runners.end(),
      [](const LevelledEmitter& a, const LevelledEmitter& b) { return a.discharge < b.discharge; });
  if (low->discharge == high->discharge) {
    state(result, "all_alike", Severity::doubt,
          fmt::format("all {} running emitters show the same discharge: the graduation may hide "
                      "how they differ, the limits hold the plugged share alone",
                      runners.size()),
          "Catch longer or measure finer");
  }
}

void start_measures(UniformityLimits& result, const EmitterSample& sample,
                    const std::vector<LevelledEmitter>& emitters, const LimitOptions& options) {
  const std::vector<double> discharges = discharges_of(sample);
  auto estimates = estimates_of(discharges, options.rule);
  const bool weighted = std::any_of(emitters.begin(), emitters.end(), [&](const auto& e) {
    return e.weight != emitters.front().weight;
  });
  if (weighted && estimates[0] > 0) {
    estimates = measures_of_whole(0, log_shapes_of(runners_sorted(emitters), 0));
  }
  for (const Measure measure : all_measures) {
    MeasureLimits m;
    m.measure = measure;
    m.estimate = m.two_part_estimate = estimates[index_of(measure)];
    m.two_part.estimate = m.two_part.lower = m.two_part.upper = m.estimate;
    result.measures.push_back(m);
  }
  result.corrected_low_quarter_frac = corrected_low_quarter(discharges, options.rule);
}

/// Adds the weighted draws of a zone, in an order of its own: zones with equal seeds are
/// independent of each other all the same.
void add_zone(MeasureLimits& result, const MeasureLimits& zone, double weight, std::size_t number) {
  const std::size_t draws = zone.low_draws.size();
  if (result.low_draws.empty()) {
    result.low_draws.assign(draws, 0);
    result.high_draws.assign(draws, 0);
  }
  if (draws != result.low_draws.size()) {
    throw std::invalid_argument("the zones have different numbers of draws");
  }
  std::vector<std::size_t> order(draws);
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::mt19937_64 stream = item_stream(draws, {number});
  for (std::size_t b = draws; b > 1; --b) std::swap(order[b - 1], order[draw_below(stream, b)]);
  for (std::size_t b = 0; b < draws; ++b) {
    result.low_draws[b] += weight * zone.low_draws[order[b]];
    result.high_draws[b] += weight * zone.high_draws[order[b]];
  }
  result.estimate += weight * zone.estimate;
  result.two_part_estimate += weight * zone.two_part_estimate;
}

}  // namespace

std::string to_text(Measure measure) {
  switch (measure) {
    case Measure::mean:
      return "mean";
    case Measure::cv:
      return "coefficient of variation";
    case Measure::low_quarter:
      return "low-quarter distribution uniformity";
    case Measure::christiansen:
      return "Christiansen's coefficient";
    case Measure::statistical:
      break;
  }
  return "statistical uniformity";
}

std::string to_text(LimitMethod method) {
  switch (method) {
    case LimitMethod::two_part:
      return "two-part model: binomial plugged share, studentised bootstrap of the rest";
    case LimitMethod::studentised:
      return "studentised bootstrap over laterals, pits and emitters";
    case LimitMethod::percentile:
      return "plain percentile bootstrap over emitters";
    case LimitMethod::bca:
      return "plain bias-corrected accelerated bootstrap over emitters";
    case LimitMethod::noncentral_t:
      return "noncentral t, independent normal emitters";
    case LimitMethod::chi_square:
      return "chi-square approximation, independent normal emitters";
    case LimitMethod::large_sample:
      return "large-sample approximation, independent normal emitters";
    case LimitMethod::lateral_means:
      break;
  }
  return "Student's t from the laterals";
}

std::optional<SimulatedCoverage> simulated_coverage(LimitMethod method) {
  switch (method) {
    case LimitMethod::two_part:
      return SimulatedCoverage{0.962, 0.999, 0.969, 1000};
    case LimitMethod::studentised:
      return SimulatedCoverage{0.479, 0.954, 0.494, 1000};
    case LimitMethod::percentile:
      return SimulatedCoverage{0.438, 0.918, 0.456, 1000};
    case LimitMethod::bca:
      return SimulatedCoverage{0.392, 0.958, 0.462, 1000};
    case LimitMethod::noncentral_t:
      return SimulatedCoverage{0.004, 0.959, 0.476, 1000};
    case LimitMethod::lateral_means:
      return SimulatedCoverage{0.480, 0.963, 0.494, 1000};
    case LimitMethod::chi_square:
    case LimitMethod::large_sample:
      break;
  }
  return std::nullopt;
}

const MeasureLimits& UniformityLimits::of(Measure measure) const {
  return measures.at(index_of(measure));
}

UniformityLimits confidence_limits(const EmitterSample& given, const LimitOptions& options) {
  require_options(options);
  UniformityLimits result;
  if (given.emitters.empty()) {
    state(result, "no_emitter", Severity::doubt, "no emitter was measured: nothing can be said",
          "Dig and measure emitters");
    return result;
  }
  const EmitterSample sample = ordered(given);
  const SampleLevels levels = levels_of(sample);
  PluggingOptions plugging = options.plugging;
  plugging.confidence = options.confidence;
  result.plugged = measure_plugging(sample, plugging);
  result.emitters = result.plugged.emitters;
  result.laterals = levels.laterals;
  result.pits = levels.pits;
  result.rest_on_model = levels.laterals < enough_laterals;
  const std::vector<LevelledEmitter> emitters = levelled(sample, levels);
  start_measures(result, sample, emitters, options);
  const std::vector<LevelledEmitter> runners = runners_of(emitters, plugging.plugged_at_lph);
  if (runners.size() >= least_runners) {
    add_two_part(result, runners, options);
    if (options.comparisons) add_beside(result, emitters, options);
  }
  if (result.emitters == 1) {
    state(result, "one_emitter", Severity::doubt,
          "one emitter was measured: its discharge is all that can be said", "Measure more");
  } else {
    state_laterals(result);
  }
  state_zone(result, plugging.zone);
  state_plugging(result);
  state_runners(result, runners);
  return result;
}

MeasureLimits weighted_limits(std::span<const UniformityLimits> zones,
                              std::span<const double> weights, Measure measure, double confidence) {
  if (zones.size() != weights.size()) throw std::invalid_argument("a zone has no weight");
  MeasureLimits result;
  result.measure = measure;
  double total = 0;
  for (std::size_t z = 0; z < zones.size(); ++z) {
    if (!std::isfinite(weights[z]) || weights[z] < 0) {
      throw std::invalid_argument("a weight is negative or not finite");
    }
    if (zones[z].measures.empty() || !zones[z].of(measure).two_part.known) continue;
    add_zone(result, zones[z].of(measure), weights[z], z);
    total += weights[z];
  }
  if (!(total > 0)) return {measure, 0, 0, {}, {}, {}, {}, {}};
  result.estimate /= total;
  result.two_part_estimate /= total;
  for (double& d : result.low_draws) d /= total;
  for (double& d : result.high_draws) d /= total;
  result.two_part = limits_from(result.low_draws, result.high_draws, confidence);
  result.two_part.estimate = result.two_part_estimate;
  return result;
}

}  // namespace evendrip
