// SPDX-License-Identifier: Apache-2.0
// Harvest logs of task data. Identifiers and units: ISO 11783-11 data dictionary, read in the list
// of entities of the npm package isoxml 1.11.2 (Apache-2.0); resolution 1 in each.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "evendrip/base/median.hpp"
#include "logged_quantity.hpp"
#include "logged_records.hpp"
#include "point_rows.hpp"

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();

/// ISO 11783-11 data dictionary.
enum Ddi : int {
  actual_working_width = 67,                ///< mm
  volume_per_area_yield = 83,               ///< ml/m2
  mass_per_area_yield = 84,                 ///< mg/m2
  volume_per_time_yield = 86,               ///< ml/s
  mass_per_time_yield = 87,                 ///< mg/s
  crop_moisture = 99,                       ///< ppm
  effective_total_distance = 117,           ///< mm
  actual_work_state = 141,                  ///< 0 off, 1 on
  dry_mass_per_area_yield = 181,            ///< mg/m2, at the reference moisture
  dry_mass_per_time_yield = 182,            ///< mg/s, at the reference moisture
  reference_moisture = 184,                 ///< ppm, for dry mass
  actual_percentage_crop_dry_matter = 314,  ///< ppm
  actual_speed = 397,                       ///< mm/s
};

constexpr double per_million = 1e-6;
constexpr double m_per_mm = 1e-3;
constexpr double kg_per_mg = 1e-6;
constexpr double t_ha_per_mg_m2 = 1e-5;
constexpr double mg_per_ml_and_kg_m3 = 1;  ///< 1 ml of 1 kg/m3 weighs 1 mg

/// How the logs state yield, from the rawest on.
enum class Stated {
  mass_flow,
  mass_per_area,
  dry_mass_flow,
  dry_mass_per_area,
  volume_flow,
  volume_per_area
};

constexpr std::array<std::pair<Stated, int>, 6> ways_stated = {
    {{Stated::mass_flow, mass_per_time_yield},
     {Stated::mass_per_area, mass_per_area_yield},
     {Stated::dry_mass_flow, dry_mass_per_time_yield},
     {Stated::dry_mass_per_area, dry_mass_per_area_yield},
     {Stated::volume_flow, volume_per_time_yield},
     {Stated::volume_per_area, volume_per_area_yield}}};

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

std::optional<Stated> stated_in(const std::vector<const TimeLog*>& logs) {
  for (const auto& [stated, ddi] : ways_stated) {
    for (const TimeLog* log : logs) {
      if (ElementValues(*log, ddi).there()) return stated;
    }
  }
  return std::nullopt;
}

/// Logs that hold a yield in some way, in the order of their times.
std::vector<const TimeLog*> harvest_logs(const TaskData& data) {
  std::vector<const TimeLog*> logs;
  for (const TimeLog& log : data.logs) {
    const bool yields = std::any_of(ways_stated.begin(), ways_stated.end(), [&](const auto& way) {
      return ElementValues(log, way.second).there();
    });
    if (yields && log.records() > 0) logs.push_back(&log);
  }
  std::stable_sort(logs.begin(), logs.end(), [](const TimeLog* a, const TimeLog* b) {
    return a->time_s.front() < b->time_s.front();
  });
  return logs;
}

InputError no_harvest(const TaskData& data) {
  Doubts problems = {
      {"no_yield_logged",
       Severity::problem,
       {data.file, "", 0, ""},
       fmt::format("none of the {} time logs holds a yield", data.logs.size()),
       "",
       "identifiers 84, 87, 181 or 182 of ISO 11783-11, or 83 or 86 with the density of the grain",
       "Export the task of the harvest"}};
  for (Doubt doubt : data.doubts) {
    doubt.severity = Severity::problem;
    problems.push_back(std::move(doubt));
  }
  return InputError(std::move(problems));
}

InputError no_density(const TaskData& data, Stated stated) {
  return InputError(
      Doubt{"bulk_density_not_stated",
            Severity::problem,
            {data.file, "", 0, ""},
            fmt::format("the time logs hold the yield by volume alone (identifier {})",
                        stated == Stated::volume_flow ? static_cast<int>(volume_per_time_yield)
                                                      : static_cast<int>(volume_per_area_yield)),
            "",
            "the density of the grain under [[crop]]",
            "Add bulk_density_kg_m3, or test_weight_lb_bu, as weighed at that harvest"});
}

/// What is read of one log.
struct LogQuantities {
  LogQuantities(const TimeLog& log, Stated how, int ddi_of_yield)
      : stated(how),
        yield(log, ddi_of_yield),
        width(log, actual_working_width, device()),
        speed(log, actual_speed),
        distance(log, effective_total_distance),
        state(log, actual_work_state, device()),
        wet(log, crop_moisture, device()),
        dry_matter(log, actual_percentage_crop_dry_matter, device()),
        reference(log, reference_moisture, device()) {}

  Stated stated;
  ElementValues yield;
  ElementValues width;
  ElementValues speed;
  ElementValues distance;
  ElementValues state;
  ElementValues wet;
  ElementValues dry_matter;
  ElementValues reference;

  std::string device() const { return yield.there() ? yield.description().device : ""; }

  double moisture_frac(std::size_t r) const {
    return wet.there() ? per_million * wet.mean(r) : 1 - per_million * dry_matter.mean(r);
  }
  /// Without a stated reference, dry mass is dry matter.
  double reference_frac(std::size_t r) const {
    return reference.there() ? per_million * reference.mean(r) : 0;
  }
  /// Growth of the total since the record before, m; NaN where it was set back.
  double distance_m(std::size_t r) const {
    if (r == 0 || !(distance.mean(r) >= distance.mean(r - 1))) return no_number;
    return m_per_mm * (distance.mean(r) - distance.mean(r - 1));
  }
  /// A section cuts nothing while it does not work.
  bool works(std::size_t r, const std::string& element) const {
    const std::size_t part = state.part_of(element);
    return part == state.parts() || state.of(r, part) != 0;
  }
  /// Nothing is cut while the machine does not work.
  double swath_m(std::size_t r) const {
    if (state.all_zero(r)) return 0;
    double sum = no_number;
    for (std::size_t p = 0; p < width.parts(); ++p) {
      const double value = works(r, width.description(p).device_element) ? width.of(r, p) : 0;
      if (!std::isnan(value)) sum = std::isnan(sum) ? value : sum + value;
    }
    return m_per_mm * sum;
  }
  /// Width of the section that a part of the yield is of, mm; 1 where it is not logged by sections.
  double weight(std::size_t r, std::size_t part) const {
    const std::string& element = yield.description(part).device_element;
    if (!works(r, element)) return 0;
    const std::size_t of_width = width.part_of(element);
    const double known = of_width < width.parts() ? width.of(r, of_width) : 1;
    return std::isnan(known) ? 1 : known;
  }
  /// As logged: flows of sections add up, yields per area are their mean by width.
  double yield_at(std::size_t r) const {
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
};

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

/// How the yield of a log came from the elements that log it.
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

/// Adds the records of one log after the other.
class RecordTaker {
 public:
  RecordTaker(const Field& field, Stated stated, const CropSource& source)
      : field_(field),
        to_field_(wgs84(), field.crs),
        stated_(stated),
        basis_frac_(source.moisture_basis_frac),
        density_kg_m3_(source.bulk_density_kg_m3.value_or(no_number)) {}

  void take(const TimeLog& log, const std::string& file) {
    require_near_field(log, file);
    const LogQuantities q(log, stated_, ddi_of(stated_));
    const int machine = machine_of(q.device());
    tell_elements(log, q, file, records_.log.doubts);
    if (!q.yield.there()) tell_stated_otherwise(log, file);
    for (std::size_t r = 0; r < log.records(); ++r, ++number_) {
      const std::optional<Point> place = place_of(log.lonlat[r]);
      HarvestLog& to = records_.log;
      if (!place) {
        if (to.set_aside++ == 0) to.first_set_aside = number_;
        continue;
      }
      to.places.push_back(*place);
      to.lines.push_back(number_);
      to.machine.push_back(machine);
      to.time_s.push_back(log.time_s[r]);
      to.duration_s.push_back(no_number);
      to.distance_m.push_back(q.distance_m(r));
      to.swath_m.push_back(q.swath_m(r));
      records_.speed_m_s.push_back(m_per_mm * q.speed.mean(r));
      take_yield(q, r);
    }
  }

  LoggedRecords taken() { return std::move(records_); }

 private:
  static int ddi_of(Stated stated) {
    return std::find_if(ways_stated.begin(), ways_stated.end(),
                        [&](const auto& way) { return way.first == stated; })
        ->second;
  }

  void require_near_field(const TimeLog& log, const std::string& file) const {
    std::vector<std::size_t> numbers(log.records());
    std::iota(numbers.begin(), numbers.end(), number_);
    std::vector<Point> lonlat = log.lonlat;
    Doubts problems;
    take_astray_out(field_, {file + ", " + log.name, "position", numbers}, lonlat, problems);
    throw_if_problem(problems);
  }

  std::optional<Point> place_of(Point lonlat) const {
    if (std::isnan(lonlat.x)) return std::nullopt;
    try {
      return to_field_(lonlat);
    } catch (const InputError&) {
      return std::nullopt;
    }
  }

  int machine_of(const std::string& device) {
    std::vector<std::string>& machines = records_.log.machines;
    const auto found = std::find(machines.begin(), machines.end(), device);
    const auto index = static_cast<int>(found - machines.begin());
    if (found == machines.end()) machines.push_back(device);
    return index;
  }

  void take_yield(const LogQuantities& q, std::size_t r) {
    HarvestLog& to = records_.log;
    const double moisture_frac = is_dry(stated_) ? q.reference_frac(r) : q.moisture_frac(r);
    const bool flow = is_flow(stated_);
    const double mg_per_unit = is_volume(stated_) ? mg_per_ml_and_kg_m3 * density_kg_m3_ : 1;
    const double value = mg_per_unit * q.yield_at(r);
    to.moisture_frac.push_back(moisture_frac);
    to.mass_flow_kg_s.push_back(flow ? kg_per_mg * value : no_number);
    // As harvested where the moisture is not logged.
    const double dry_share =
        std::isnan(moisture_frac) ? 1 : (1 - moisture_frac) / (1 - basis_frac_);
    to.yield_t_ha.push_back(flow ? no_number : t_ha_per_mg_m2 * value * dry_share);
  }

  /// Its records have no yield.
  void tell_stated_otherwise(const TimeLog& log, const std::string& file) {
    records_.log.doubts.push_back(
        {"yield_stated_otherwise",
         Severity::doubt,
         {file + ", " + log.name, "", 0, ""},
         fmt::format("this log does not state its yield as the others do, by identifier {}: its {} "
                     "records have no value",
                     ddi_of(stated_), log.records()),
         "",
         "",
         "Give logs that state yield in another way their own [[crop]]"});
  }

  const Field& field_;
  Transform to_field_;
  Stated stated_;
  double basis_frac_;
  double density_kg_m3_;
  LoggedRecords records_;
  std::size_t number_ = 1;
};

std::string in_words(Stated stated, double basis_frac) {
  switch (stated) {
    case Stated::mass_flow:
    case Stated::dry_mass_flow:
    case Stated::volume_flow:
      return "";  // worked out from the flow
    case Stated::volume_per_area:
      return fmt::format(
          "volume per area as logged times the density stated, {:.4g} % moisture where moisture "
          "was "
          "logged",
          100 * basis_frac);
    case Stated::mass_per_area:
      return fmt::format("yield per area as logged, {:.4g} % moisture where moisture was logged",
                         100 * basis_frac);
    case Stated::dry_mass_per_area:
      return fmt::format("dry yield per area as logged, at {:.4g} % moisture", 100 * basis_frac);
  }
  return "";
}

}  // namespace

const std::vector<int>& harvest_ddis() {
  static const std::vector<int> ddis = {actual_working_width,
                                        volume_per_area_yield,
                                        volume_per_time_yield,
                                        mass_per_area_yield,
                                        mass_per_time_yield,
                                        crop_moisture,
                                        effective_total_distance,
                                        actual_work_state,
                                        dry_mass_per_area_yield,
                                        dry_mass_per_time_yield,
                                        reference_moisture,
                                        actual_percentage_crop_dry_matter,
                                        actual_speed};
  return ddis;
}

LoggedRecords records_of(const TaskData& data, const Field& field, const CropSource& source) {
  const std::vector<const TimeLog*> logs = harvest_logs(data);
  const std::optional<Stated> stated = stated_in(logs);
  if (!stated) throw no_harvest(data);
  if (is_volume(*stated) && !source.bulk_density_kg_m3) throw no_density(data, *stated);
  RecordTaker taker(field, *stated, source);
  for (const TimeLog* log : logs) taker.take(*log, data.file);
  LoggedRecords records = taker.taken();
  records.log.file = data.file;
  records.log.doubts.insert(records.log.doubts.begin(), data.doubts.begin(), data.doubts.end());
  if (is_volume(*stated))
    records.log.doubts.push_back(
        {"volume_times_density",
         Severity::note,
         {data.file, "", 0, ""},
         fmt::format("the yield is logged by volume: it is that times the stated {:.4g} kg/m3",
                     *source.bulk_density_kg_m3),
         "",
         "",
         ""});
  records.yields_as = in_words(*stated, source.moisture_basis_frac);
  if (records.log.size() == 0) {
    throw InputError(Doubt{"no_places",
                           Severity::problem,
                           {data.file, "", 0, ""},
                           "no record of the time logs has a position",
                           "",
                           "positions with a fix",
                           "Export the task with its positions"});
  }
  return records;
}

}  // namespace evendrip
