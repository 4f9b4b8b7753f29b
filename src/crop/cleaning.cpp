// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/cleaning.hpp"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <utility>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "evendrip/base/random.hpp"

#include "cleaning_words.hpp"
#include "cut_width.hpp"
#include "harvest_limit.hpp"
#include "near_records.hpp"
#include "odd_yields.hpp"
#include "opposite_passes.hpp"
#include "passes.hpp"
#include "travel_time.hpp"

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double lifted_share = 0.02;  ///< of the usual flow: less is none; common practice
constexpr std::size_t variogram_records = 20'000;

/// One log on its way through the steps.
class Cleaning {
 public:
  Cleaning(const Field& field, const HarvestLog& log, const CleaningSettings& settings,
           const Work& work)
      : field_(field), log_(log), settings_(settings), work_(without_progress(work)) {}

  CleanedLog run(const Work& work);

 private:
  void look_over();
  void move_grain();
  void set_pass_ends_aside();
  void set_narrow_cuts_aside();
  void set_speeds_aside();
  void set_impossible_yields_aside();
  void set_edge_aside();
  void set_same_spots_aside();
  void set_odd_neighbours_aside();
  void compare();

  TravelTime travel_time_of(std::size_t machine, const std::vector<double>& rates);
  std::vector<double> travel_times(const std::vector<double>& rates);
  void tell_without_value(const std::vector<double>& moved);
  double neighbourhood_m() const;
  std::string stated_limits() const;
  std::vector<VariogramLag> variogram(std::span<const double> yields,
                                      std::span<const char> wanted) const;
  std::vector<char> kept_flags() const;
  bool keeps(std::size_t i) const { return result_.step[i] == SetAside::kept; }
  std::string metres(double value) const {
    return format_quantity(value, Dimension::length, field_.report_units, 3);
  }
  std::string speed(double value) const {
    return format_quantity(value, Dimension::velocity, field_.report_units, 2);
  }
  std::string yield(double value) const {
    return format_quantity(value, Dimension::yield, field_.report_units, 3);
  }

  /// Adds a step that set aside the flagged records, of those kept so far.
  void add_step(SetAside step, std::span<const char> aside, const std::string& why,
                const std::string& otherwise, const std::string& more = "");
  void skip_step(SetAside step, const std::string& why);

  const Field& field_;
  const HarvestLog& log_;
  const CleaningSettings& settings_;
  Work work_;
  DrivenLog driven_;
  double spacing_m_ = 0;
  std::vector<RecordPair> pairs_;
  std::vector<double> rates_;  ///< moved back; empty where they cannot be
  std::vector<char> cuts_;     ///< header down
  CleanedLog result_;
};

std::vector<char> Cleaning::kept_flags() const {
  std::vector<char> kept(log_.size());
  for (std::size_t i = 0; i < log_.size(); ++i) kept[i] = keeps(i) ? 1 : 0;
  return kept;
}

void Cleaning::add_step(SetAside step, std::span<const char> aside, const std::string& why,
                        const std::string& otherwise, const std::string& more) {
  CleaningStep done;
  done.step = step;
  for (std::size_t i = 0; i < log_.size(); ++i) {
    if (aside[i] == 0 || !keeps(i)) continue;
    result_.step[i] = step;
    ++done.records;
  }
  done.told = told(done.records, log_.size(), why, otherwise) + more;
  done.source = source_of(step);
  result_.steps.push_back(std::move(done));
}

void Cleaning::skip_step(SetAside step, const std::string& why) {
  result_.steps.push_back({step, 0, "Not done: " + why + ".", source_of(step)});
}

void Cleaning::look_over() {
  driven_ = driven_log(log_, field_.scale_factor);
  spacing_m_ = pass_spacing_m(log_, driven_);
  pairs_ = opposite_pairs(log_, driven_, spacing_m_, work_);
  result_.step.assign(log_.size(), SetAside::kept);
  result_.heading_deg = driven_.heading_deg;
  result_.yield_t_ha = log_.yield_t_ha;
  result_.cut_width_m = log_.swath_m;
  result_.cut_width_m.resize(log_.size(), nan);
  cuts_.assign(log_.size(), 1);
}

TravelTime Cleaning::travel_time_of(std::size_t machine, const std::vector<double>& rates) {
  TravelTime travel = estimated_travel_time(log_, driven_, rates, pairs_, machine,
                                            settings_.longest_travel_time_s, work_);
  if (settings_.travel_time_s) {
    const std::string stated =
        fmt::format("The grain's travel time of {:.3g} s is as stated.", *settings_.travel_time_s);
    travel.why = stated + " " + (travel.estimated ? "The log itself says: " : "") + travel.why;
    travel.used_s = *settings_.travel_time_s;
    travel.estimated = false;
  } else if (!travel.estimated) {
    result_.doubts.push_back(travel_time_doubt(log_, travel.why));
  }
  const auto number = static_cast<std::size_t>(
      log_.machine.size() == log_.size() ? log_.machine[driven_.order[driven_.machine[machine]]]
                                         : 0);
  if (driven_.machine.size() > 2 && number < log_.machines.size())
    travel.why = fmt::format("Machine {}: {}", log_.machines[number], travel.why);
  return travel;
}

/// Of every machine; that of the machine with most records is told first.
std::vector<double> Cleaning::travel_times(const std::vector<double>& rates) {
  std::vector<double> times;
  std::size_t most = 0;
  for (std::size_t m = 0; m + 1 < driven_.machine.size(); ++m) {
    TravelTime travel = travel_time_of(m, rates);
    times.push_back(travel.used_s);
    const std::size_t records = driven_.machine[m + 1] - driven_.machine[m];
    if (records > most) {
      most = records;
      result_.travel_time = travel;
    }
    result_.travel_time_by_machine.push_back(std::move(travel));
  }
  return times;
}

void Cleaning::move_grain() {
  const std::vector<double> rates = grain_rates(log_, driven_);
  const std::vector<double> times = travel_times(rates);
  const bool moves = driven_.has_clock() && driven_.has_speed();
  // Without times a record's own yield stands for its flow.
  std::vector<double> moved = moves ? moved_back(driven_, rates, times) : log_.yield_t_ha;
  std::vector<double> known;
  for (const double rate : moved)
    if (rate > 0 && std::isfinite(rate)) known.push_back(rate);
  const double none = lifted_share * median_of(std::move(known));
  std::vector<char> lifted(log_.size(), 0);
  for (std::size_t i = 0; i < log_.size(); ++i) {
    lifted[i] = moved[i] <= none ? 1 : 0;
    cuts_[i] = lifted[i] != 0 || (moves && driven_.speed_m_s[i] == 0) ? 0 : 1;
  }
  split_where_lifted(driven_, lifted);
  result_.pass = driven_.pass;
  result_.passes = driven_.passes;
  if (moves) {
    result_.yield_t_ha = yields_of(log_, driven_, moved);
    rates_ = moved;
  }
  tell_without_value(moved);
}

void Cleaning::tell_without_value(const std::vector<double>& moved) {
  std::vector<char> aside(log_.size(), 0);
  std::size_t lifted = 0, unread = 0, standing = 0;
  for (std::size_t i = 0; i < log_.size(); ++i) {
    double& value = result_.yield_t_ha[i];
    if (cuts_[i] != 0 && std::isfinite(value)) continue;
    aside[i] = 1;
    value = nan;
    if (cuts_[i] == 0 && !(driven_.has_speed() && driven_.speed_m_s[i] == 0))
      ++lifted;
    else if (!std::isfinite(moved[i]))
      ++unread;
    else
      ++standing;
  }
  const std::string time = rates_.empty() ? "" : fmt::format(" {}", result_.travel_time.why);
  add_step(SetAside::no_value, aside,
           fmt::format("no grain came from their place ({}: the header was up), no flow was logged "
                       "when it should have reached the sensor ({}), or they covered no ground "
                       "({})",
                       lifted, unread, standing),
           "is without grain, area or reading", time);
}

void Cleaning::set_pass_ends_aside() {
  if (!driven_.has_clock()) return skip_step(SetAside::pass_end, "the log has no times");
  const auto passes = static_cast<std::size_t>(driven_.passes);
  constexpr double infinity = std::numeric_limits<double>::infinity();
  std::vector<double> first(passes, infinity), last(passes, -infinity);
  for (std::size_t i = 0; i < log_.size(); ++i) {
    if (cuts_[i] == 0) continue;
    const auto pass = static_cast<std::size_t>(driven_.pass[i]);
    first[pass] = std::min(first[pass], driven_.clock_s[i]);
    last[pass] = std::max(last[pass], driven_.clock_s[i]);
  }
  std::vector<char> aside(log_.size(), 0);
  for (std::size_t i = 0; i < log_.size(); ++i) {
    const auto pass = static_cast<std::size_t>(driven_.pass[i]);
    const double since = driven_.clock_s[i] - first[pass], until = last[pass] - driven_.clock_s[i];
    aside[i] = since < settings_.pass_start_s || until < settings_.pass_end_s ? 1 : 0;
  }
  add_step(SetAside::pass_end, aside,
           fmt::format("a pass had begun less than {:.3g} s before or ended less than {:.3g} s "
                       "after, while the machine fills or empties",
                       settings_.pass_start_s, settings_.pass_end_s),
           fmt::format("lies within {:.3g} s after the start or {:.3g} s before the end of a pass",
                       settings_.pass_start_s, settings_.pass_end_s));
}

void Cleaning::set_narrow_cuts_aside() {
  if (!(driven_.swath_m > 0))
    return skip_step(SetAside::narrow_cut, "the log does not say how wide the swath is");
  if (!(driven_.step_m > 0))
    return skip_step(SetAside::narrow_cut, "the records do not show where the machine went");
  const CutWidths cut = cut_widths(log_, driven_, cuts_, field_.scale_factor, work_);
  std::vector<char> aside(log_.size(), 0);
  std::size_t corrected = 0;
  for (std::size_t i = 0; i < log_.size(); ++i) {
    if (cuts_[i] == 0) continue;
    const double width = cut.width_m[i];
    result_.cut_width_m[i] = width;
    aside[i] = width < settings_.least_cut_share * driven_.swath_m ? 1 : 0;
    const double logged = log_.swath_m[i] > 0 ? log_.swath_m[i] : driven_.swath_m;
    if (width < 0.995 * logged && aside[i] == 0) ++corrected;
    result_.yield_t_ha[i] *= width > 0 ? logged / width : nan;
  }
  for (std::size_t i = 0; i < log_.size(); ++i)
    if (aside[i] != 0 && !std::isfinite(result_.yield_t_ha[i])) result_.yield_t_ha[i] = nan;
  add_step(SetAside::narrow_cut, aside,
           fmt::format("earlier passes had left less than {:.0f} % of the swath of {}",
                       100 * settings_.least_cut_share, metres(driven_.swath_m)),
           fmt::format("cut less than {:.0f} % of the swath of {}", 100 * settings_.least_cut_share,
                       metres(driven_.swath_m)),
           fmt::format(" The yields of {} more were computed anew on the width that was really "
                       "cut; overlaps of no more than {} are not told from errors of the places.",
                       corrected, metres(cut.place_tolerance_m)));
}

void Cleaning::set_speeds_aside() {
  if (!driven_.has_speed())
    return skip_step(SetAside::speed, "the log has neither times nor speeds");
  std::vector<char> aside(log_.size(), 0);
  std::size_t slow = 0, fast = 0, jump = 0;
  for (std::size_t k = 0; k < driven_.order.size(); ++k) {
    const std::size_t i = driven_.order[k];
    const double here = driven_.speed_m_s[i];
    if (!keeps(i) || !std::isfinite(here)) continue;
    double change = 0;
    if (k > 0 && driven_.pass[driven_.order[k - 1]] == driven_.pass[i]) {
      const double before = driven_.speed_m_s[driven_.order[k - 1]];
      if (std::isfinite(before))
        change = std::abs(here - before) - settings_.speed_jump_share * before;
    }
    if (here < settings_.slowest_m_s)
      ++slow;
    else if (here > settings_.fastest_m_s)
      ++fast;
    else if (change > 0)
      ++jump;
    else
      continue;
    aside[i] = 1;
  }
  add_step(SetAside::speed, aside,
           fmt::format("the machine went slower than {} ({}), faster than {} ({}), or changed its "
                       "speed by more than {:.0f} % from one record to the next ({})",
                       speed(settings_.slowest_m_s), slow, speed(settings_.fastest_m_s), fast,
                       100 * settings_.speed_jump_share, jump),
           fmt::format("is slower than {}, faster than {}, or changes speed by more than {:.0f} %",
                       speed(settings_.slowest_m_s), speed(settings_.fastest_m_s),
                       100 * settings_.speed_jump_share));
}

std::string Cleaning::stated_limits() const {
  if (!settings_.least_yield_t_ha && !settings_.most_yield_t_ha)
    return "below 0, no limits being stated";
  return fmt::format("outside the limits stated, {} to {}",
                     yield(settings_.least_yield_t_ha.value_or(0)),
                     settings_.most_yield_t_ha ? yield(*settings_.most_yield_t_ha) : "any height");
}

void Cleaning::set_impossible_yields_aside() {
  const double least = settings_.least_yield_t_ha.value_or(0);
  const double most = settings_.most_yield_t_ha.value_or(std::numeric_limits<double>::infinity());
  std::vector<char> kept = kept_flags();
  std::vector<char> aside(log_.size(), 0);
  std::size_t stated = 0;
  for (std::size_t i = 0; i < log_.size(); ++i) {
    if (kept[i] == 0) continue;
    const double value = result_.yield_t_ha[i];
    if (value >= least && value <= most) continue;
    aside[i] = 1, kept[i] = 0, ++stated;
  }
  const RobustBounds bounds = robust_bounds(result_.yield_t_ha, kept, settings_.robust_limit);
  OddYields odd{std::vector<char>(log_.size(), 0), 0};
  const double within_m = neighbourhood_m();
  if (within_m > 0)
    odd = beyond_bounds(log_, driven_, result_.yield_t_ha, kept, bounds, within_m, work_);
  std::size_t robust = 0;
  for (std::size_t i = 0; i < log_.size(); ++i)
    if (odd.odd[i] != 0) aside[i] = 1, ++robust;
  const std::string limits = stated_limits();
  const std::string range =
      fmt::format("outside {} to {}, {:.3g} robust deviations from the median",
                  yield(std::max(0.0, bounds.low)), yield(bounds.high), settings_.robust_limit);
  add_step(
      SetAside::impossible_yield, aside,
      fmt::format("their yield is {} ({}), or stands alone {} ({})", limits, stated, range, robust),
      fmt::format("is {} or alone {}", limits, range),
      odd.spared == 0
          ? ""
          : fmt::format(" {} more lie outside too, but their neighbours or their pass go "
                        "along with them, so they may be what is looked for and are kept.",
                        odd.spared));
}

void Cleaning::set_edge_aside() {
  const double edge_m = settings_.edge_m.value_or(0.5 * spacing_m_);
  if (!(edge_m > 0))
    return skip_step(SetAside::field_edge, settings_.edge_m
                                               ? "no width of an edge is asked for"
                                               : "how wide the passes are is not known");
  const double width_m = spacing_m_ > 0 ? spacing_m_ : 2 * edge_m;
  const auto limit = harvest_limit(log_, driven_, cuts_, width_m, work_);
  if (!limit)
    return skip_step(SetAside::field_edge,
                     "the records lie too far apart to tell the limit of what was harvested");
  std::vector<char> aside(log_.size(), 0);
  for (std::size_t i = 0; i < log_.size(); ++i)
    aside[i] = limit->inside_m[i] < edge_m - 1.5 * limit->cell_m ? 1 : 0;
  add_step(
      SetAside::field_edge, aside,
      fmt::format("they lie less than {} inside the limit of what was harvested", metres(edge_m)),
      fmt::format("lies less than {} inside the limit of what was harvested", metres(edge_m)));
}

void Cleaning::set_same_spots_aside() {
  const double within_m = settings_.same_spot_share * driven_.step_m;
  if (!(within_m > 0))
    return skip_step(SetAside::same_spot,
                     "the distance from record to record is 0 or none is asked for");
  const std::vector<char> kept = kept_flags();
  const NearRecords near(log_.places, kept, within_m);
  std::vector<std::size_t> by_rank(log_.size());
  for (std::size_t i = 0; i < log_.size(); ++i) by_rank[driven_.rank[i]] = i;
  std::vector<char> aside(log_.size(), 0);
  for (const std::size_t i : by_rank) {
    if (kept[i] == 0) continue;
    near.for_each(log_.places[i], [&](std::size_t j) {
      if (driven_.rank[j] < driven_.rank[i] && aside[j] == 0) aside[i] = 1;
    });
  }
  add_step(SetAside::same_spot, aside,
           fmt::format("an earlier record lies less than {} away, which is {:.0f} % of the usual "
                       "distance from record to record",
                       metres(within_m), 100 * settings_.same_spot_share),
           fmt::format("has an earlier one less than {} away", metres(within_m)));
}

double Cleaning::neighbourhood_m() const {
  return settings_.neighbours_within_m.value_or(std::max(2.5 * spacing_m_, 4 * driven_.step_m));
}

void Cleaning::set_odd_neighbours_aside() {
  const NeighbourTests tests{neighbourhood_m(), settings_.neighbour_limit,
                             settings_.false_discovery_rate};
  if (!(tests.within_m > 0))
    return skip_step(SetAside::odd_neighbours, "the records do not lie apart");
  const OddNeighbours odd =
      odd_neighbours(log_, driven_, result_.yield_t_ha, kept_flags(), tests, work_);
  add_step(
      SetAside::odd_neighbours, odd.all.odd,
      fmt::format("they fit neither their pass nor their neighbours within {}: local Moran's "
                  "I is below 0 at a false discovery rate of {:.0f} % ({}), or they are {:.3g} "
                  "robust deviations off the neighbours' median ({}), {} by both",
                  metres(tests.within_m), 100 * tests.false_discovery_rate, odd.by_moran,
                  tests.limit, odd.by_median,
                  odd.by_moran + odd.by_median -
                      static_cast<std::size_t>(
                          std::count(odd.all.odd.begin(), odd.all.odd.end(), char{1}))),
      fmt::format("fits neither its pass nor its neighbours within {}", metres(tests.within_m)),
      odd.all.spared == 0
          ? ""
          : fmt::format(" {} more do not fit their neighbours but go along with their pass, "
                        "as strips along laterals would, and are kept.",
                        odd.all.spared));
}

std::vector<VariogramLag> Cleaning::variogram(std::span<const double> yields,
                                              std::span<const char> wanted) const {
  std::vector<std::size_t> records;
  Extent extent;
  for (std::size_t i = 0; i < log_.size(); ++i) {
    if ((!wanted.empty() && wanted[i] == 0) || !std::isfinite(yields[i])) continue;
    records.push_back(i);
    extent.include(log_.places[i]);
  }
  Samples samples;
  for (const std::size_t i : records) {
    if (records.size() > variogram_records &&
        item_seed(0, {i}) % records.size() >= variogram_records)
      continue;
    Sample sample;
    sample.site.place = log_.places[i];
    sample.value = yields[i];
    samples.push_back(sample);
  }
  MomentOptions options;
  options.within_zone_only = false;
  if (!extent.empty()) {
    const double third = std::hypot(extent.width(), extent.height()) / 3;
    const double near = 20 * std::max(spacing_m_, driven_.step_m);
    options.cutoff_m = near > 0 ? std::min(third, near) : third;
  }
  return moment_variogram(samples, options);
}

void Cleaning::compare() {
  const std::vector<char> kept = kept_flags();
  result_.before = variogram(log_.yield_t_ha, {});
  result_.after = variogram(result_.yield_t_ha, kept);
  result_.opposite_pass_difference_before = opposite_difference(pairs_, log_.yield_t_ha);
  std::vector<double> after = result_.yield_t_ha;
  for (std::size_t i = 0; i < log_.size(); ++i)
    if (kept[i] == 0) after[i] = nan;
  result_.opposite_pass_difference_after = opposite_difference(pairs_, after);
  result_.summary = summary_of(result_, field_.report_units);
}

CleanedLog Cleaning::run(const Work& work) {
  using Step = void (Cleaning::*)();
  const Step steps[] = {&Cleaning::look_over,
                        &Cleaning::move_grain,
                        &Cleaning::set_pass_ends_aside,
                        &Cleaning::set_narrow_cuts_aside,
                        &Cleaning::set_speeds_aside,
                        &Cleaning::set_impossible_yields_aside,
                        &Cleaning::set_edge_aside,
                        &Cleaning::set_same_spots_aside,
                        &Cleaning::set_odd_neighbours_aside,
                        &Cleaning::compare};
  double done = 0;
  for (const Step step : steps) {
    (this->*step)();
    done += 1.0 / static_cast<double>(std::size(steps));
    if (work.stop.stop_requested()) throw Interrupted();
    if (work.progress) work.progress(std::min(1.0, done));
  }
  return std::move(result_);
}

}  // namespace

std::size_t CleanedLog::kept() const {
  return static_cast<std::size_t>(std::count(step.begin(), step.end(), SetAside::kept));
}

CleanedLog clean(const Field& field, const HarvestLog& log, const CleaningSettings& settings,
                 const Work& work) {
  return Cleaning(field, log, settings, work).run(work);
}

}  // namespace evendrip
