// SPDX-License-Identifier: Apache-2.0
// Harvest logs of task data. Identifiers and units: ISO 11783-11 data dictionary, read in the list
// of entities of the npm package isoxml 1.11.2 (Apache-2.0); resolution 1 in each.
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numeric>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "logged_records.hpp"
#include "point_rows.hpp"

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();

/// ISO 11783-11 data dictionary.
enum Ddi : int {
  actual_working_width = 67,                ///< mm
  mass_per_area_yield = 84,                 ///< mg/m2
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

/// Values of one identifier in a log.
class Quantity {
 public:
  /// Of several elements that log it, the one with the most values.
  Quantity(const TimeLog& log, int ddi) : log_(log) {
    std::size_t most = 0;
    for (std::size_t q = 0; q < log.quantities.size(); ++q) {
      if (log.quantities[q].ddi != ddi) continue;
      std::size_t count = 0;
      for (std::size_t r = 0; r < log.records(); ++r) {
        if (!std::isnan(value(r, q))) ++count;
      }
      if (count <= most) continue;
      most = count;
      at_ = q;
    }
  }

  bool there() const { return at_.has_value(); }
  double operator()(std::size_t record) const { return at_ ? value(record, *at_) : no_number; }
  const LoggedQuantity& description() const { return log_.quantities[*at_]; }

 private:
  double value(std::size_t record, std::size_t q) const {
    return log_.values[record * log_.quantities.size() + q];
  }

  const TimeLog& log_;
  std::optional<std::size_t> at_;
};

/// How the logs state yield, from the rawest on.
enum class Stated { mass_flow, mass_per_area, dry_mass_flow, dry_mass_per_area };

constexpr std::array<std::pair<Stated, int>, 4> ways_stated = {
    {{Stated::mass_flow, mass_per_time_yield},
     {Stated::mass_per_area, mass_per_area_yield},
     {Stated::dry_mass_flow, dry_mass_per_time_yield},
     {Stated::dry_mass_per_area, dry_mass_per_area_yield}}};

std::optional<Stated> stated_in(const std::vector<const TimeLog*>& logs) {
  for (const auto& [stated, ddi] : ways_stated) {
    for (const TimeLog* log : logs) {
      if (Quantity(*log, ddi).there()) return stated;
    }
  }
  return std::nullopt;
}

/// Logs that hold a yield in some way, in the order of their times.
std::vector<const TimeLog*> harvest_logs(const TaskData& data) {
  std::vector<const TimeLog*> logs;
  for (const TimeLog& log : data.logs) {
    const bool yields = std::any_of(ways_stated.begin(), ways_stated.end(), [&](const auto& way) {
      return Quantity(log, way.second).there();
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
       fmt::format("none of the {} time logs holds a yield by mass", data.logs.size()),
       "",
       "identifiers 84, 87, 181 or 182 of ISO 11783-11",
       "Export the task of the harvest"}};
  for (Doubt doubt : data.doubts) {
    doubt.severity = Severity::problem;
    problems.push_back(std::move(doubt));
  }
  return InputError(std::move(problems));
}

/// What is read of one log.
struct LogQuantities {
  explicit LogQuantities(const TimeLog& log, int ddi_of_yield)
      : yield(log, ddi_of_yield),
        width(log, actual_working_width),
        speed(log, actual_speed),
        distance(log, effective_total_distance),
        state(log, actual_work_state),
        wet(log, crop_moisture),
        dry_matter(log, actual_percentage_crop_dry_matter),
        reference(log, reference_moisture) {}

  Quantity yield;
  Quantity width;
  Quantity speed;
  Quantity distance;
  Quantity state;
  Quantity wet;
  Quantity dry_matter;
  Quantity reference;

  double moisture_frac(std::size_t r) const {
    return wet.there() ? per_million * wet(r) : 1 - per_million * dry_matter(r);
  }
  /// Without a stated reference, dry mass is dry matter.
  double reference_frac(std::size_t r) const {
    return reference.there() ? per_million * reference(r) : 0;
  }
  /// Growth of the total since the record before, m; NaN where it was set back.
  double distance_m(std::size_t r) const {
    if (r == 0 || !(distance(r) >= distance(r - 1))) return no_number;
    return m_per_mm * (distance(r) - distance(r - 1));
  }
  /// Nothing is cut while the machine does not work.
  double swath_m(std::size_t r) const { return state(r) == 0 ? 0 : m_per_mm * width(r); }
};

/// Adds the records of one log after the other.
class RecordTaker {
 public:
  RecordTaker(const Field& field, Stated stated, double basis_frac)
      : field_(field), to_field_(wgs84(), field.crs), stated_(stated), basis_frac_(basis_frac) {}

  void take(const TimeLog& log, const std::string& file) {
    require_near_field(log, file);
    const LogQuantities q(log, ddi_of(stated_));
    const int machine = machine_of(q.yield.there() ? q.yield.description().device : "");
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
      records_.speed_m_s.push_back(m_per_mm * q.speed(r));
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
    const bool dry = stated_ == Stated::dry_mass_flow || stated_ == Stated::dry_mass_per_area;
    const double moisture_frac = dry ? q.reference_frac(r) : q.moisture_frac(r);
    const bool flow = stated_ == Stated::mass_flow || stated_ == Stated::dry_mass_flow;
    const double value = q.yield(r);
    to.moisture_frac.push_back(moisture_frac);
    to.mass_flow_kg_s.push_back(flow ? kg_per_mg * value : no_number);
    // As harvested where the moisture is not logged.
    const double dry_share =
        std::isnan(moisture_frac) ? 1 : (1 - moisture_frac) / (1 - basis_frac_);
    to.yield_t_ha.push_back(flow ? no_number : t_ha_per_mg_m2 * value * dry_share);
  }

  const Field& field_;
  Transform to_field_;
  Stated stated_;
  double basis_frac_;
  LoggedRecords records_;
  std::size_t number_ = 1;
};

std::string in_words(Stated stated, double basis_frac) {
  switch (stated) {
    case Stated::mass_flow:
    case Stated::dry_mass_flow:
      return "";  // worked out from the flow
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
  RecordTaker taker(field, *stated, source.moisture_basis_frac);
  for (const TimeLog* log : logs) taker.take(*log, data.file);
  LoggedRecords records = taker.taken();
  records.log.file = data.file;
  records.log.doubts = data.doubts;
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
