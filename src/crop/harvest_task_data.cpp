// SPDX-License-Identifier: Apache-2.0
// Harvest logs of task data.
#include <algorithm>
#include <cmath>
#include <limits>
#include <numeric>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "harvest_quantities.hpp"
#include "logged_records.hpp"
#include "point_rows.hpp"

namespace evendrip {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();

constexpr double kg_per_mg = 1e-6;
constexpr double t_ha_per_mg_m2 = 1e-5;
constexpr double mg_per_ml_and_kg_m3 = 1;  ///< 1 ml of 1 kg/m3 weighs 1 mg

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
    const LogQuantities q(log, stated_);
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
      records_.speed_m_s.push_back(q.speed_m_s(r));
      take_yield(q, r);
    }
  }

  LoggedRecords taken() { return std::move(records_); }

 private:
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
  if (is_volume(*stated) && source.bulk_density_kg_m3)
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
