// SPDX-License-Identifier: Apache-2.0
// One field of condition_scenarios.hpp tried: the joint estimate and its competitors on the same
// holes and crop, scored over 10 m of every lateral.
#pragma once

#include <algorithm>
#include <array>
#include <chrono>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <utility>
#include <vector>

#include "evendrip/condition/crop_gate.hpp"
#include "evendrip/condition/field_condition.hpp"
#include "evendrip/condition/zone_data.hpp"
#include "evendrip/surface/comparison.hpp"
#include "evendrip/surface/discharge_samples.hpp"
#include "evendrip/surface/expected_map.hpp"

#include "condition_explained.hpp"
#include "condition_fields.hpp"

namespace evendrip::bench {

/// The first is judged, by holes and, if that helps, crop; the second is the same by holes alone,
/// the third with the crop whether it helps or not; the others are its competitors.
inline constexpr std::array<const char*, 7> condition_methods = {
    "condition",     "holes alone",  "crop forced",  "zone mean",
    "inverse dist.", "ord. kriging", "crop regress."};
inline constexpr std::size_t first_competitor = 3;
inline constexpr std::size_t regression = 6;

/// What is true of ten metres of a lateral.
struct Stretch {
  int lateral = 0;
  double middle_m = 0;
  double delivery = 0;  ///< mean of its emitters
  double shared = 0;    ///< without their own make and luck
  int emitters = 0;
  int clogged = 0;
  bool hole = false;
};

/// What is said of it.
struct Said {
  double delivery = 0;
  double lower_90 = 0;
  double upper_90 = 0;
  double p_low = 0;      ///< of an emitter
  double p_clogged = 0;  ///< likewise
  bool known = true;     ///< the verdict stands whatever the crop's slope
};
/// Called low: never where the verdict is not known.
inline bool called(const Said& said) {
  return said.known && said.p_low > called_above;
}

struct ConditionTrial {
  ConditionScenario scenario;
  std::array<double, condition_methods.size()> errors{};
  double floor = 0;
  double bias = 0;     ///< mean of estimated less true delivery
  double error_r = 0;  ///< error of r, without the share that is plugged by chance
  double coverage = 0;
  double log_score = 0;        ///< of the joint estimate
  double share_log_score = 0;  ///< of the share of clogged emitters in the holes
  double called_low = 0;       ///< share of all emitters
  double truly_low = 0;        ///< share of all emitters
  int missed_emitters = 0;     ///< in runs that lose 0.3 or more over 30 m without a hole
  int missed_called = 0;       ///< of them, called low
  bool crop_used = false;
  int faults = 0;
  int manifold_faults = 0;
  double soil_share = 0;
  Explained explained;  ///< known only where the network was asked
  std::size_t crop_data = 0;
  std::size_t stripes = 0;
  int emitters = 0;
  double mean_delivery = 0;
  double deepest = 0;  ///< least delivery of ten metres, without make and luck
  double seconds_made = 0;
  double seconds = 0;  ///< of the joint estimate
  ConditionParameters parameters;
};

inline std::vector<Stretch> stretches_of(const ConditionField& made) {
  std::vector<Stretch> stretches;
  const auto bins =
      static_cast<std::size_t>(std::lround(made.actual.plan.lateral_length_m / scored_over_m));
  for (std::size_t l = 0; l < made.actual.laterals.size(); ++l) {
    const std::size_t first = stretches.size();
    for (std::size_t b = 0; b < bins; ++b) {
      Stretch stretch;
      stretch.lateral = static_cast<int>(l);
      stretch.middle_m = (static_cast<double>(b) + 0.5) * scored_over_m;
      stretches.push_back(stretch);
    }
    const auto bin_of = [&](double station_m) {
      return first + std::min(bins - 1, static_cast<std::size_t>(station_m / scored_over_m));
    };
    const auto& emitters = made.actual.laterals[l].emitters;
    for (std::size_t i = 0; i < emitters.size(); ++i) {
      Stretch& stretch = stretches[bin_of(emitters[i].station_m)];
      stretch.delivery += emitters[i].delivery;
      stretch.shared += made.shared.laterals[l].emitters[i].delivery;
      stretch.emitters += 1;
      stretch.clogged += emitters[i].performance < clogged_below ? 1 : 0;
    }
    for (const MeasuredEmitter& hole : made.survey.emitters) {
      if (hole.site.lateral == static_cast<int>(l))
        stretches[bin_of(hole.site.station_m)].hole = true;
    }
  }
  for (Stretch& stretch : stretches) {
    stretch.delivery /= stretch.emitters;
    stretch.shared /= stretch.emitters;
  }
  return stretches;
}

/// A zone's condition at every stretch; steps of the grid are as long as a stretch.
inline std::vector<Said> said_of(const SegmentGrid& grid, const ZoneCondition& condition,
                                 const std::vector<Stretch>& stretches) {
  constexpr double normal_95 = 1.6448536269514722;
  const double share = condition.clogging.share;
  const double make = std::pow(condition.fit.parameters.emitter, 2) + std::pow(stated_make_cv, 2);
  std::vector<Said> said;
  for (const Stretch& stretch : stretches) {
    const auto i = static_cast<std::size_t>(
        grid.segment(grid.row_of(stretch.lateral), grid.station_of(stretch.middle_m)));
    const auto [r, variance] = place_delivery(condition, condition.estimate, i);
    const double half = normal_95 * std::sqrt(variance) * (1 - share);
    Said here;
    here.delivery = condition.delivered[i];
    here.lower_90 = here.delivery - half;
    here.upper_90 = here.delivery + half;
    const PlaceDelivery place{r, 1};
    here.p_low = chance_below(condition.clogging, place, variance, make, low_below);
    here.p_clogged = chance_below(condition.clogging, place, variance, make, clogged_below);
    said.push_back(here);
  }
  return said;
}

inline double error_of(const std::vector<Stretch>& stretches,
                       const std::vector<double>& predicted) {
  double squares = 0;
  for (std::size_t i = 0; i < stretches.size(); ++i)
    squares += std::pow(predicted[i] - stretches[i].delivery, 2);
  return std::sqrt(squares / static_cast<double>(stretches.size()));
}

inline std::vector<double> deliveries(const std::vector<Said>& said) {
  std::vector<double> values;
  for (const Said& here : said) values.push_back(here.delivery);
  return values;
}

/// Mean crop of each segment by the weights of the data in it; NaN where there is none.
inline std::vector<double> crop_of_segments(const SegmentGrid& grid,
                                            const std::vector<CropDatum>& crop) {
  std::vector<double> sums(static_cast<std::size_t>(grid.segments()), 0);
  std::vector<double> weights = sums;
  for (const CropDatum& datum : crop) {
    for (std::size_t k = 0; k < datum.segments.size(); ++k) {
      const auto segment = static_cast<std::size_t>(datum.segments[k]);
      sums[segment] += datum.weights[k] * datum.value;
      weights[segment] += datum.weights[k];
    }
  }
  for (std::size_t i = 0; i < sums.size(); ++i)
    sums[i] = weights[i] > 0 ? sums[i] / weights[i] : std::nan("");
  return sums;
}

/// Least squares of the holes on the crop at their segment; their mean where there is no crop, or
/// fewer than three holes have one.
inline std::vector<double> by_crop_regression(const SegmentGrid& grid,
                                              const std::vector<HoleDatum>& holes,
                                              const std::vector<CropDatum>& crop,
                                              const std::vector<Stretch>& stretches) {
  const std::vector<double> seen = crop_of_segments(grid, crop);
  double n = 0;
  double mean_x = 0;
  double mean_y = 0;
  double mean_all = 0;
  const auto crop_at = [&](int row, int station) {
    return seen[static_cast<std::size_t>(grid.segment(row, station))];
  };
  for (const HoleDatum& hole : holes) {
    mean_all += hole.value / static_cast<double>(holes.size());
    const double x = crop_at(hole.row, hole.station);
    if (!std::isfinite(x)) continue;
    n += 1;
    mean_x += (x - mean_x) / n;
    mean_y += (hole.value - mean_y) / n;
  }
  double xx = 0;
  double xy = 0;
  for (const HoleDatum& hole : holes) {
    const double x = crop_at(hole.row, hole.station);
    if (!std::isfinite(x)) continue;
    xx += (x - mean_x) * (x - mean_x);
    xy += (x - mean_x) * (hole.value - mean_y);
  }
  std::vector<double> predicted;
  for (const Stretch& stretch : stretches) {
    const double x = crop_at(grid.row_of(stretch.lateral), grid.station_of(stretch.middle_m));
    const bool told = std::isfinite(x) && n >= 3 && xx > 0;
    predicted.push_back(told ? mean_y + xy / xx * (x - mean_x) : mean_all);
  }
  return predicted;
}

/// Minus the logarithm of the probability given to what is; probabilities no nearer to 0 and 1 than
/// a ten-thousandth.
inline double log_score(double p, int clogged, int emitters) {
  const double held = std::clamp(p, 1e-4, 1 - 1e-4);
  return -(clogged * std::log(held) + (emitters - clogged) * std::log(1 - held));
}

/// Runs of stretches of a lateral that lose 0.3 or more over 30 m and hold no hole.
inline void score_missed(const std::vector<Stretch>& stretches, const std::vector<Said>& said,
                         ConditionTrial& trial) {
  for (std::size_t i = 0; i < stretches.size();) {
    std::size_t end = i;
    bool hole = false;
    while (end < stretches.size() && stretches[end].lateral == stretches[i].lateral &&
           stretches[end].delivery <= 0.7) {
      hole = hole || stretches[end].hole;
      ++end;
    }
    if (end - i >= 3 && !hole) {
      for (std::size_t k = i; k < end; ++k) {
        trial.missed_emitters += stretches[k].emitters;
        trial.missed_called += called(said[k]) ? stretches[k].emitters : 0;
      }
    }
    i = std::max(end, i + 1);
  }
}

inline void score_said(const ConditionField& made, const std::vector<Stretch>& stretches,
                       const std::vector<Said>& said, ConditionTrial& trial) {
  trial.errors[0] = error_of(stretches, deliveries(said));
  double holes_clogged = 0.5;
  for (const MeasuredEmitter& hole : made.survey.emitters) {
    // Of the catch against what is rated: plain counting knows no pressures.
    holes_clogged += hole.discharge_lph < clogged_below * made.actual.plan.discharge_lph ? 1 : 0;
  }
  const double share = holes_clogged / (static_cast<double>(made.survey.emitters.size()) + 1);
  const auto n = static_cast<double>(stretches.size());
  double squares = 0;
  trial.deepest = 1;
  for (std::size_t i = 0; i < stretches.size(); ++i) {
    const Stretch& stretch = stretches[i];
    trial.emitters += stretch.emitters;
    squares += std::pow(stretch.delivery - stretch.shared, 2);
    trial.deepest = std::min(trial.deepest, stretch.shared);
    trial.mean_delivery += stretch.delivery / n;
    trial.bias += (said[i].delivery - stretch.delivery) / n;
    trial.coverage +=
        stretch.shared >= said[i].lower_90 && stretch.shared <= said[i].upper_90 ? 1 / n : 0;
    trial.called_low += called(said[i]) ? stretch.emitters : 0;
    trial.truly_low += stretch.shared < low_below ? stretch.emitters : 0;
    trial.log_score += log_score(said[i].p_clogged, stretch.clogged, stretch.emitters);
    trial.share_log_score += log_score(share, stretch.clogged, stretch.emitters);
  }
  trial.floor = std::sqrt(squares / n);
  for (double* sum :
       {&trial.called_low, &trial.truly_low, &trial.log_score, &trial.share_log_score})
    *sum /= trial.emitters;
  score_missed(stretches, said, trial);
}

inline double seconds_since(std::chrono::steady_clock::time_point start) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

/// What the evaluator works with.
struct Known {
  Expectation expectation;
  DischargeSamples samples;
  SegmentGrid grid;
  std::vector<HoleDatum> holes;
  std::vector<CropDatum> crop;
  ConditionRanges ranges;
};
inline Known known_of(const ConditionField& made) {
  Known known;
  known.expectation = expect(made.system, made.survey, {}, {});
  known.samples = discharge_samples(made.system, made.survey, reference_of(known.expectation));
  known.grid = segment_grid(made.system, 0, scored_over_m);
  known.holes = hole_data(known.grid, known.samples.samples);
  known.crop = crop_data(made.system, known.grid, made.evidence, {});
  known.ranges = ranges_of(known.grid, made.evidence.typical.across_m);
  known.ranges.response = usual_response(made.evidence.kind);
  return known;
}

inline void score_competitors(const ConditionField& made, const Known& known,
                              const std::vector<Stretch>& stretches, ConditionTrial& trial) {
  std::vector<Site> sites;
  for (const Stretch& stretch : stretches)
    sites.push_back({place_on_lateral(made.system, stretch.lateral, stretch.middle_m),
                     stretch.lateral, stretch.middle_m, 0});
  const Samples& samples = known.samples.samples;
  const int all = static_cast<int>(samples.size());
  const std::array<Estimator, 3> estimators = {
      zone_mean_estimator(), inverse_distance_estimator(2, all), ordinary_kriging_estimator(all)};
  for (std::size_t i = 0; i < estimators.size(); ++i) {
    std::vector<double> predicted;
    for (const Prediction& p : estimators[i].predict(samples, sites)) predicted.push_back(p.value);
    trial.errors[first_competitor + i] = error_of(stretches, predicted);
  }
  trial.errors[regression] =
      error_of(stretches, by_crop_regression(known.grid, known.holes, known.crop, stretches));
}

/// Who judges: the estimate from holes and crop of the zone alone, or with network, gauges,
/// placebos and all that run asks.
enum class Judge { zone, field };

/// What is said of a field, by whichever judge.
struct Verdict {
  std::vector<Said> said;
  ConditionParameters parameters;
  double plugged_share = 0;
  bool crop_used = false;
  int faults = 0;  ///< of the network, found
  int manifold_faults = 0;
  double soil_share = 0;  ///< of the crop's variance
  Explained explained;
};

/// Holes and crop of the zone alone.
inline std::optional<Verdict> by_zone(const Known& known, const std::vector<Stretch>& stretches) {
  const auto judged = judge_zone(known.grid, known.holes, known.crop, known.ranges, clogged_below);
  if (!judged) return {};
  Verdict verdict;
  verdict.said = said_of(known.grid, judged->condition, stretches);
  verdict.parameters = judged->condition.fit.parameters;
  verdict.plugged_share = judged->condition.clogging.share;
  verdict.crop_used = judged->crop_used;
  return verdict;
}

/// True loss of each segment of the grid, emitters as their places are on the average.
inline std::vector<double> losses_of(const SegmentGrid& grid,
                                     const std::vector<Stretch>& stretches) {
  std::vector<double> loss(static_cast<std::size_t>(grid.segments()), 0);
  for (const Stretch& stretch : stretches) {
    const int segment =
        grid.segment(grid.row_of(stretch.lateral), grid.station_of(stretch.middle_m));
    loss[static_cast<std::size_t>(segment)] = 1 - stretch.shared;
  }
  return loss;
}

/// As run judges it. Delivery is what the emitters of a place share, less the share of them that is
/// plugged.
inline std::optional<Verdict> by_field(const ConditionField& made, const Known& known,
                                       const std::vector<Stretch>& stretches) {
  ConditionOptions options;
  options.seed = made.scenario.seed;
  options.draws = 20;  // of the uniformity, which is not scored
  options.segment_m = scored_over_m;
  const FieldCondition judged =
      judge_condition(made.system, made.survey, known.expectation, known.samples,
                      {{made.evidence, made.stripes}}, options, {});
  const ZoneState& zone = judged.zones.front();
  if (!zone.judged) return {};
  Verdict verdict;
  verdict.parameters = zone.condition.fit.parameters;
  verdict.plugged_share = zone.condition.clogging.share;
  verdict.crop_used = !zone.layer_used.empty();
  verdict.faults = static_cast<int>(zone.network.faults.size());
  for (const FoundFault& found : zone.network.faults)
    verdict.manifold_faults += found.fault.on_lateral ? 0 : 1;
  verdict.soil_share = zone.shares.soil;
  const CropVoice& voice = zone.voices.front();
  verdict.explained = explained_by(
      zone, losses_of(zone.grid, stretches),
      voice.moved_m == 0
          ? known.crop
          : crop_data(made.system, zone.grid,
                      moved_across(made.evidence, made.system, zone.grid, voice.moved_m), {}));
  const double running = 1 - verdict.plugged_share;
  for (const Stretch& stretch : stretches) {
    const SegmentCondition* here = condition_at(judged, 0, stretch.lateral, stretch.middle_m);
    if (here == nullptr) return {};
    verdict.said.push_back({running * here->delivery.value, running * here->delivery.lower_90,
                            running * here->delivery.upper_90, here->p_low,
                            std::isfinite(here->p_clogged) ? here->p_clogged : 0.5,
                            here->slope_holds});
  }
  return verdict;
}

/// Error with the crop, or without it.
inline double error_with(const Known& known, const std::vector<CropDatum>& crop,
                         const std::vector<Stretch>& stretches) {
  ZoneModel model(known.grid, known.holes, crop, known.ranges);
  const auto condition = zone_condition(model, clogged_below);
  if (!condition) return std::nan("");
  return error_of(stretches, deliveries(said_of(known.grid, *condition, stretches)));
}

/// Nothing where the estimate could not be made.
inline std::optional<ConditionTrial> tried(const ConditionScenario& scenario, Judge judge) {
  const auto begun = std::chrono::steady_clock::now();
  const ConditionField made = made_condition_field(scenario);
  ConditionTrial trial;
  trial.scenario = scenario;
  trial.seconds_made = seconds_since(begun);
  const std::vector<Stretch> stretches = stretches_of(made);
  const Known known = known_of(made);
  trial.crop_data = known.crop.size();
  trial.stripes = made.stripes.size();
  const auto start = std::chrono::steady_clock::now();
  const auto verdict =
      judge == Judge::zone ? by_zone(known, stretches) : by_field(made, known, stretches);
  trial.seconds = seconds_since(start);
  if (!verdict) return {};
  trial.crop_used = verdict->crop_used;
  trial.parameters = verdict->parameters;
  trial.faults = verdict->faults;
  trial.manifold_faults = verdict->manifold_faults;
  trial.soil_share = verdict->soil_share;
  trial.explained = verdict->explained;
  score_said(made, stretches, verdict->said, trial);
  std::vector<double> sound = deliveries(verdict->said);
  for (double& delivery : sound) delivery /= 1 - verdict->plugged_share;
  trial.error_r = error_of(stretches, sound);
  trial.errors[1] = error_with(known, {}, stretches);
  trial.errors[2] = error_with(known, known.crop, stretches);
  score_competitors(made, known, stretches, trial);
  return trial;
}

}  // namespace evendrip::bench
