// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "evaluation_parts.hpp"

namespace evendrip {

EvaluatedLevel level_figures(const EmitterSample& sample, int each, QuarterRule rule) {
  EvaluatedLevel level;
  level.each = each;
  const std::vector<double> values = discharges_of(sample);
  level.count = static_cast<int>(values.size());
  const char* what = each > 1 ? "plant" : "emitter";
  if (values.empty()) {
    level.why_not = fmt::format("no usable {} was measured", what);
    return level;
  }
  level.mean_lph = mean_of(values);
  if (values.size() < 2) {
    level.why_not = fmt::format("one {} alone says nothing of how even they are", what);
    return level;
  }
  if (!(level.mean_lph > 0)) {
    level.why_not = fmt::format("none of the {} {}s gives water, so there is no uniformity to tell",
                                level.count, what);
    return level;
  }
  level.told = true;
  level.cv = coefficient_of_variation(values);
  level.low_quarter_frac = low_quarter_uniformity(values, rule);
  level.corrected_low_quarter_frac = corrected_low_quarter(values, rule);
  level.low_quarter_floor_frac = low_quarter_uniformity(values, QuarterRule::floor);
  level.low_quarter_ceiling_frac = low_quarter_uniformity(values, QuarterRule::ceiling);
  level.christiansen_frac = christiansen_coefficient(values);
  level.statistical_frac = statistical_uniformity(values);
  level.absolute_emission_frac = absolute_emission_uniformity(values, rule);
  level.flow_variation_frac = flow_variation(values);
  std::vector<double> runners;
  for (const double value : values) {
    if (value > 0) runners.push_back(value);
  }
  const double plugged = static_cast<double>(values.size() - runners.size());
  level.two_part_low_quarter_frac =
      two_part_low_quarter(plugged / static_cast<double>(values.size()), runners);
  return level;
}

std::vector<RatedFigure> ratings_of(const EvaluatedLevel& level) {
  std::vector<RatedFigure> ratings;
  if (!level.told) return ratings;
  const auto rate = [&](const std::string& figure, RatingTableId id, double value,
                        Measure measure) {
    const MeasureLimits* limits = level.limits_of(measure);
    const RatingTable table = rating_table(id);
    ratings.push_back(
        {figure, limits != nullptr && limits->two_part.known
                     ? rating_of(table, value, limits->two_part.lower, limits->two_part.upper)
                     : rating_of(table, value)});
  };
  rate("low-quarter distribution uniformity", RatingTableId::low_quarter_ep458,
       level.low_quarter_frac, Measure::low_quarter);
  rate("statistical uniformity", RatingTableId::statistical_ep458, level.statistical_frac,
       Measure::statistical);
  rate("field emission uniformity", RatingTableId::emission_merriam_keller, level.low_quarter_frac,
       Measure::low_quarter);
  return ratings;
}

Schedule watering_schedule(const Evaluation& evaluation, const DepthResult& depth, int zone) {
  const Irrigation& irrigation = evaluation.watering.irrigation;
  const auto stated = [](const std::optional<double>& value) {
    return value.value_or(0) > 0 ? value : std::nullopt;
  };
  ScheduleFacts facts;
  facts.set_time_s = stated(irrigation.set_time_s);
  facts.interval_s = stated(irrigation.interval_s);
  if (irrigation.pulses.value_or(0) > 0) facts.pulses = irrigation.pulses;
  facts.season_depth_mm = stated(irrigation.season_depth_mm);
  facts.season_need_mm = stated(irrigation.season_net_need_mm);
  std::vector<double> grounds;
  for (std::size_t z = 0; z < evaluation.field.zones.size(); ++z) {
    if (zone >= 0 && z != static_cast<std::size_t>(zone)) continue;
    const Zone& of = evaluation.field.zones[z];
    grounds.push_back(of.emitter.spacing_m * of.lateral.spacing_m);
  }
  const bool alike = std::all_of(grounds.begin(), grounds.end(), [&](double ground) {
    return ground > 0 && std::abs(ground - grounds.front()) <= 1e-9 * ground;
  });
  if (alike && !grounds.empty()) facts.emitter_ground_m2 = grounds.front();
  return schedule_of(depth, facts);
}

std::optional<AppliedDepth> applied_depth(const DepthResult& depth, const Irrigation& irrigation) {
  const double need_mm = irrigation.season_net_need_mm.value_or(0);
  if (!depth.computed || !irrigation.season_depth_mm || !(need_mm > 0)) return std::nullopt;
  AppliedDepth applied;
  applied.applied_mm = *irrigation.season_depth_mm;
  applied.factor = applied.applied_mm / need_mm;
  for (const SortedDischarge& step : depth.sorted) {
    const double share = step.share_to_frac - step.share_from_frac;
    const double over_need = applied.factor * step.relative - 1;
    if (over_need < 0) {
      applied.short_share_frac += share;
      applied.deficit_frac -= share * over_need;
    } else {
      applied.excess_frac += share * over_need;
    }
  }
  return applied;
}

std::string percent_with_limits(double figure, const MeasureLimits* limits) {
  std::string plain = fmt::format("{:.0f} %", 100 * figure);
  if (limits == nullptr || !limits->two_part.known) return plain;
  return fmt::format("{} ({:.0f} to {:.0f})", plain, 100 * limits->two_part.lower,
                     100 * limits->two_part.upper);
}

std::optional<FillTimes> fill_times_of(const Survey& survey, int zone) {
  std::vector<double> times;
  double container_ml = 0;
  for (const MeasuredEmitter& emitter : survey.emitters) {
    if (!emitter.usable() || (zone >= 0 && emitter.site.zone != zone)) continue;
    if (emitter.state == EmitterState::none || !(emitter.discharge_lph > 0)) continue;
    double sum = 0;
    int count = 0;
    for (const std::size_t r : emitter.records) {
      const CatchRecord& record = survey.records[r];
      if (!(record.volume_ml > 0 && record.duration_s > 0)) continue;
      if (container_ml == 0) container_ml = record.volume_ml;
      if (std::abs(record.volume_ml - container_ml) > 1e-6 * container_ml) return std::nullopt;
      sum += record.duration_s;
      ++count;
    }
    if (count > 0) times.push_back(sum / count);
  }
  if (times.size() < 2) return std::nullopt;
  const auto [least, most] = std::minmax_element(times.begin(), times.end());
  if (*least == *most) return std::nullopt;
  return measure_fill_times(times);
}

}  // namespace evendrip
