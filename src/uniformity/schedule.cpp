// SPDX-License-Identifier: Apache-2.0
#include "evendrip/uniformity/schedule.hpp"

#include <cmath>
#include <stdexcept>

namespace evendrip {
namespace {

constexpr double seconds_in_hour = 3600;
constexpr double seconds_in_day = 86'400;

void require(const ScheduleFacts& facts) {
  for (const auto& fact : {facts.set_time_s, facts.interval_s, facts.season_depth_mm,
                           facts.season_need_mm, facts.emitter_ground_m2}) {
    if (fact && !(std::isfinite(*fact) && *fact > 0)) {
      throw std::invalid_argument("a fact of the schedule is not above 0 and finite");
    }
  }
  if (facts.pulses && *facts.pulses < 1) {
    throw std::invalid_argument("a set has one pulse or more");
  }
}

std::optional<double> product(std::optional<double> a, std::optional<double> b) {
  if (!a || !b) return std::nullopt;
  return *a * *b;
}

std::optional<double> ratio(std::optional<double> a, std::optional<double> b) {
  if (!a || !b || !(*b > 0)) return std::nullopt;
  return *a / *b;
}

std::optional<double> in_units_of(std::optional<double> seconds, double unit) {
  return ratio(seconds, unit);
}

ServingSet serving_set(const DepthFactor& factor, const ScheduleFacts& facts) {
  ServingSet set;
  set.model = factor.model;
  set.served_frac = factor.served_frac;
  set.possible = factor.possible;
  if (!factor.possible) return set;
  set.season_depth_mm = product(factor.factor, facts.season_need_mm);
  if (!set.season_depth_mm || !facts.season_depth_mm) return set;
  set.change_mm = *set.season_depth_mm - *facts.season_depth_mm;
  set.set_time_s = product(facts.set_time_s, ratio(set.season_depth_mm, facts.season_depth_mm));
  return set;
}

/// One line for each figure that is missing, with the keys that it lacks.
class Missing {
 public:
  void note(const std::string& figure, const std::vector<std::string>& keys) {
    std::string text;
    for (const std::string& key : keys) {
      if (!key.empty()) text += (text.empty() ? "" : " and ") + key;
    }
    if (!text.empty()) lines_.push_back(figure + ": needs " + text);
  }
  std::vector<std::string> lines() const { return lines_; }

 private:
  std::vector<std::string> lines_;
};

std::vector<std::string> missing_in(const ScheduleFacts& facts) {
  const auto key = [](bool stated, const char* name) { return stated ? std::string() : name; };
  const std::string set_time = key(facts.set_time_s.has_value(), "[irrigation] set_time");
  const std::string interval = key(facts.interval_s.has_value(), "[irrigation] interval");
  const std::string depth = key(facts.season_depth_mm.has_value(), "[irrigation] season_depth");
  const std::string need = key(facts.season_need_mm.has_value(), "[irrigation] season_net_need");
  const std::string ground =
      key(facts.emitter_ground_m2.has_value(), "[emitter] spacing with [lateral] spacing");
  Missing missing;
  missing.note("rate of application", {ground});
  missing.note("depth of a set", {ground, set_time});
  missing.note("depth of a day", {ground, set_time, interval});
  missing.note("sets and days of a season", {ground, set_time, interval, depth});
  missing.note("what the season's depth leaves short and applies in excess", {depth, need});
  missing.note("set time that serves a share of the plants", {set_time, depth, need});
  return missing.lines();
}

}  // namespace

Schedule schedule_of(const DepthResult& depth, const ScheduleFacts& facts) {
  require(facts);
  Schedule schedule;
  if (!depth.computed) {
    schedule.not_computed.push_back("what sets apply: " + depth.why_not);
    return schedule;
  }
  // 1 L over 1 m2 is 1 mm.
  schedule.rate_mm_h = ratio(depth.mean_lph, facts.emitter_ground_m2);
  schedule.set_depth_mm =
      product(schedule.rate_mm_h, in_units_of(facts.set_time_s, seconds_in_hour));
  if (facts.pulses) {
    const auto pulses = static_cast<double>(*facts.pulses);
    schedule.pulse_time_s = ratio(facts.set_time_s, pulses);
    schedule.pulse_depth_mm = ratio(schedule.set_depth_mm, pulses);
  }
  const auto interval_days = in_units_of(facts.interval_s, seconds_in_day);
  schedule.daily_depth_mm = ratio(schedule.set_depth_mm, interval_days);
  schedule.sets_in_season = ratio(facts.season_depth_mm, schedule.set_depth_mm);
  schedule.days_in_season = product(schedule.sets_in_season, interval_days);
  schedule.applied_over_need = ratio(facts.season_depth_mm, facts.season_need_mm);
  for (const DepthFactor& factor : depth.factors) {
    schedule.serving.push_back(serving_set(factor, facts));
  }
  schedule.not_computed = missing_in(facts);
  return schedule;
}

}  // namespace evendrip
