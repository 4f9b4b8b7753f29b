// SPDX-License-Identifier: Apache-2.0
#include "harvest_quantities.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "logged_records.hpp"

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();
constexpr double per_million = 1e-6;
constexpr double m_per_mm = 1e-3;

/// Median yield of each section by its width, of records that have one.
std::vector<double> levels_of_sections(const TimeLog& log, const LogQuantities& q) {
  std::vector<double> levels;
  for (std::size_t p = 0; p < q.yield.parts(); ++p) {
    std::vector<double> values;
    for (std::size_t r = 0; r < log.records(); ++r) {
      const double width = is_flow(q.stated) ? q.weight(r, p) : 1;
      if (q.yield.of(r, p) > 0 && width > 0) values.push_back(q.yield.of(r, p) / width);
    }
    levels.push_back(median_of(std::move(values)));
  }
  return levels;
}

}  // namespace

bool is_flow(Stated stated) {
  return stated == Stated::mass_flow || stated == Stated::dry_mass_flow ||
         stated == Stated::volume_flow;
}

bool is_dry(Stated stated) {
  return stated == Stated::dry_mass_flow || stated == Stated::dry_mass_per_area;
}

bool is_volume(Stated stated) {
  return stated == Stated::volume_flow || stated == Stated::volume_per_area;
}

int ddi_of(Stated stated) {
  return std::find_if(ways_stated.begin(), ways_stated.end(),
                      [&](const auto& way) { return way.first == stated; })
      ->second;
}

LogQuantities::LogQuantities(const TimeLog& log, Stated how)
    : stated(how),
      yield(log, ddi_of(how)),
      width(log, actual_working_width, device()),
      speed(log, actual_speed),
      distance(log, effective_total_distance),
      state(log, actual_work_state, device()),
      wet(log, crop_moisture, device()),
      dry_matter(log, actual_percentage_crop_dry_matter, device()),
      reference(log, reference_moisture, device()) {}

double LogQuantities::moisture_frac(std::size_t r) const {
  return wet.there() ? per_million * wet.mean(r) : 1 - per_million * dry_matter.mean(r);
}

double LogQuantities::reference_frac(std::size_t r) const {
  return reference.there() ? per_million * reference.mean(r) : 0;
}

double LogQuantities::distance_m(std::size_t r) const {
  if (r == 0 || !(distance.mean(r) >= distance.mean(r - 1))) return no_number;
  return m_per_mm * (distance.mean(r) - distance.mean(r - 1));
}

bool LogQuantities::works(std::size_t r, const std::string& element) const {
  const std::size_t part = state.part_of(element);
  return part == state.parts() || state.of(r, part) != 0;
}

double LogQuantities::speed_m_s(std::size_t r) const {
  return m_per_mm * speed.mean(r);
}

double LogQuantities::swath_m(std::size_t r) const {
  if (state.all_zero(r)) return 0;
  double sum = no_number;
  for (std::size_t p = 0; p < width.parts(); ++p) {
    const double value = works(r, width.description(p).device_element) ? width.of(r, p) : 0;
    if (!std::isnan(value)) sum = std::isnan(sum) ? value : sum + value;
  }
  return m_per_mm * sum;
}

double LogQuantities::weight(std::size_t r, std::size_t part) const {
  const std::string& element = yield.description(part).device_element;
  if (!works(r, element)) return 0;
  const std::size_t of_width = width.part_of(element);
  const double known = of_width < width.parts() ? width.of(r, of_width) : 1;
  return std::isnan(known) ? 1 : known;
}

double LogQuantities::yield_at(std::size_t r) const {
  if (yield.parts() < 2) return yield.sum(r);
  if (is_flow(stated)) return yield.sum(r);
  double sum = 0;
  double weights = 0;
  for (std::size_t p = 0; p < yield.parts(); ++p) {
    const double value = yield.of(r, p);
    if (std::isnan(value)) continue;
    sum += weight(r, p) * value;
    weights += weight(r, p);
  }
  return weights > 0 ? sum / weights : yield.mean(r);
}

void tell_elements(const TimeLog& log, const LogQuantities& q, const std::string& file,
                   Doubts& doubts) {
  const auto tell = [&](const char* code, Severity severity, std::string text, const char* remedy) {
    doubts.push_back(
        {code, severity, {file + ", " + log.name, "", 0, ""}, std::move(text), "", "", remedy});
  };
  if (q.yield.parts() > 1) {
    tell("sections_joined", Severity::note,
         fmt::format(
             "the yield is logged by {} sections: {}", q.yield.parts(),
             is_flow(q.stated) ? "their flows are added up" : "their mean by width is taken"),
         "");
    const std::vector<double> levels = levels_of_sections(log, q);
    for (std::size_t p = 1; p < levels.size(); ++p) {
      if (!levels_differ_by_pounds(levels[0], levels[p])) continue;
      tell(
          "units_look_mixed", Severity::doubt,
          fmt::format("the levels of sections {} and {} differ by {:.3g}, near the ratio of pounds "
                      "and kilograms",
                      q.yield.description(0).device_element, q.yield.description(p).device_element,
                      std::max(levels[0], levels[p]) / std::min(levels[0], levels[p])),
          "Check the calibration of each section; nothing is converted");
    }
  }
  if (q.yield.not_described() > 0)
    tell("elements_not_described", Severity::doubt,
         fmt::format("{} elements log the yield and the file does not say which are sections: that "
                     "with the most values is read",
                     q.yield.not_described()),
         "Export the task data with the descriptions of its devices");
  for (const std::string& device : q.yield.left_out())
    tell("device_left_out", Severity::doubt,
         fmt::format("two devices log a yield at once: that of {} is read, that of {} is not",
                     q.device().empty() ? "one without a name" : q.device(),
                     device.empty() ? "one without a name" : device),
         "Give each machine its own task");
}

}  // namespace evendrip
