// SPDX-License-Identifier: Apache-2.0
#include "logged_records.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/format.h>

#include "length_words.hpp"
#include "median_above_zero.hpp"

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();
// Longer than so many median steps, a step leads from one pass to another.
constexpr double pass_break_steps = 5;

bool any_number(const std::vector<double>& values) {
  return std::any_of(values.begin(), values.end(), [](double v) { return !std::isnan(v); });
}

/// Of each record the step from the one before, in a pass, else the step to the one after.
/// `step(i)` is the step from record i - 1 to record i.
template <typename Step>
std::vector<double> steps_of_records(const HarvestLog& log, const Step& step) {
  const std::size_t n = log.size();
  std::vector<double> steps(n, no_number);
  for (std::size_t i = 1; i < n; ++i) {
    if (log.machine[i] == log.machine[i - 1]) steps[i] = step(i);
  }
  const double longest = pass_break_steps * median_above_zero(steps);
  const auto usable = [&](double s) { return s >= 0 && s <= longest; };
  std::vector<double> chosen(n, no_number);
  for (std::size_t i = 0; i < n; ++i) {
    if (usable(steps[i])) {
      chosen[i] = steps[i];
    } else if (i + 1 < n && usable(steps[i + 1])) {
      chosen[i] = steps[i + 1];
    }
  }
  return chosen;
}

void fill(std::vector<double>& values, const std::vector<double>& with) {
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (std::isnan(values[i])) values[i] = with[i];
  }
}

/// Words about what was worked out, for the method text.
using Words = std::vector<std::string>;

/// Times since the first record that has one.
void start_times_at_zero(std::vector<double>& times) {
  const auto first =
      std::find_if(times.begin(), times.end(), [](double t) { return !std::isnan(t); });
  if (first == times.end()) return;
  const double start = *first;
  for (double& t : times) t -= start;
}

void complete_durations(HarvestLog& log, Words& words) {
  if (any_number(log.duration_s)) return;
  if (!any_number(log.time_s)) {
    throw InputError::missing_column(log.file,
                                     "duration_s or time_s (or yield_t_ha instead of the raw log)");
  }
  fill(log.duration_s,
       steps_of_records(log, [&](std::size_t i) { return log.time_s[i] - log.time_s[i - 1]; }));
  words.emplace_back("durations from the times");
}

void complete_distances(LoggedRecords& records, const Field& field, Words& words) {
  HarvestLog& log = records.log;
  if (any_number(log.distance_m)) return;
  if (any_number(records.speed_m_s)) {
    for (std::size_t i = 0; i < log.size(); ++i) {
      log.distance_m[i] = records.speed_m_s[i] * log.duration_s[i];
    }
    words.emplace_back("distances from speed and duration");
    return;
  }
  fill(log.distance_m, steps_of_records(log, [&](std::size_t i) {
         return distance_m(log.places[i - 1], log.places[i]) / field.scale_factor;
       }));
  words.emplace_back("distances from the places");
}

void complete_swaths(HarvestLog& log, const Field& field, const CropSource& source, Words& words) {
  const auto missing = static_cast<std::size_t>(std::count_if(
      log.swath_m.begin(), log.swath_m.end(), [](double s) { return std::isnan(s); }));
  if (missing == 0) return;
  if (source.swath_m) {
    std::replace_if(
        log.swath_m.begin(), log.swath_m.end(), [](double s) { return std::isnan(s); },
        *source.swath_m);
    words.push_back(
        missing == log.size()
            ? fmt::format("a swath of {} as stated", length_words(field, *source.swath_m, 4))
            : fmt::format("a swath of {}, as stated, where none was logged",
                          length_words(field, *source.swath_m, 4)));
  } else if (missing == log.size() && log.has_mass_flow) {
    Doubts problems =
        InputError::missing_column(log.file, "swath_m (or yield_t_ha instead of the raw log)")
            .problems();
    problems.front().remedy += "; or state the width of the header as swath under [[crop]]";
    throw InputError(std::move(problems));
  }
}

void tell_moisture(HarvestLog& log, std::size_t missing) {
  if (missing == 0) return;
  const bool all = missing == log.size();
  const auto first = std::find_if(log.moisture_frac.begin(), log.moisture_frac.end(),
                                  [](double w) { return std::isnan(w); });
  const std::size_t line =
      all ? 0 : log.lines[static_cast<std::size_t>(first - log.moisture_frac.begin())];
  log.doubts.push_back(
      {all ? "moisture_not_stated" : "moisture_missing",
       Severity::doubt,
       {log.file, "", line, "moisture_pct"},
       all ? "the log has no moisture: yield is as harvested"
           : fmt::format("{} of {} records have no moisture, this one first; they have no yield",
                         missing, log.size()),
       "",
       "",
       all ? "Add moisture_pct if the moisture varied over the field" : ""});
}

void yields_from_flow(HarvestLog& log, const Words& words) {
  const auto missing = static_cast<std::size_t>(std::count_if(
      log.moisture_frac.begin(), log.moisture_frac.end(), [](double w) { return std::isnan(w); }));
  const bool as_harvested = missing == log.size();
  tell_moisture(log, missing);
  for (std::size_t i = 0; i < log.size(); ++i) {
    log.yield_t_ha[i] = yield_at_basis_t_ha(log.mass_flow_kg_s[i] * log.duration_s[i],
                                            as_harvested ? log.basis_frac : log.moisture_frac[i],
                                            log.basis_frac, log.distance_m[i] * log.swath_m[i]);
  }
  std::string moisture = "as harvested";
  if (!as_harvested) {
    moisture = log.basis_frac > 0 ? fmt::format("at {:.4g} % moisture", 100 * log.basis_frac)
                                  : std::string("as dry matter");
  }
  log.method_text = fmt::format("yield from mass flow, duration, distance and swath, {}{}{}",
                                moisture, words.empty() ? "" : "; ", fmt::join(words, ", "));
}

}  // namespace

void LoggedRecords::resize(std::size_t records) {
  for (std::vector<double>* values :
       {&log.time_s, &log.duration_s, &log.distance_m, &log.swath_m, &log.mass_flow_kg_s,
        &log.moisture_frac, &log.yield_t_ha, &speed_m_s}) {
    values->resize(records, no_number);
  }
  log.machine.resize(records, 0);
}

HarvestLog completed(LoggedRecords records, const Field& field, const CropSource& source) {
  HarvestLog& log = records.log;
  log.basis_frac = source.moisture_basis_frac;
  log.has_mass_flow = records.yields_as.empty();
  Words words;
  start_times_at_zero(log.time_s);
  if (log.has_mass_flow || any_number(log.time_s)) complete_durations(log, words);
  complete_distances(records, field, words);
  complete_swaths(log, field, source, words);
  if (log.has_mass_flow) {
    yields_from_flow(log, words);
  } else {
    log.method_text = records.yields_as;
  }
  return std::move(log);
}

}  // namespace evendrip
