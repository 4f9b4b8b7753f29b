// SPDX-License-Identifier: Apache-2.0
// Quantities of a harvest in a time log of task data. Identifiers and units: ISO 11783-11 data
// dictionary, read in the list of entities of the npm package isoxml 1.11.2 (Apache-2.0);
// resolution 1 in each.
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <utility>

#include "evendrip/base/error.hpp"
#include "evendrip/io/task_data.hpp"
#include "logged_quantity.hpp"

namespace evendrip {

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

/// How the logs state yield, from the rawest on.
enum class Stated {
  mass_flow,
  mass_per_area,
  dry_mass_flow,
  dry_mass_per_area,
  volume_flow,
  volume_per_area
};

inline constexpr std::array<std::pair<Stated, int>, 6> ways_stated = {
    {{Stated::mass_flow, mass_per_time_yield},
     {Stated::mass_per_area, mass_per_area_yield},
     {Stated::dry_mass_flow, dry_mass_per_time_yield},
     {Stated::dry_mass_per_area, dry_mass_per_area_yield},
     {Stated::volume_flow, volume_per_time_yield},
     {Stated::volume_per_area, volume_per_area_yield}}};

bool is_flow(Stated stated);
bool is_dry(Stated stated);
bool is_volume(Stated stated);
int ddi_of(Stated stated);

/// What is read of one log.
struct LogQuantities {
  LogQuantities(const TimeLog& log, Stated how);

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
  double moisture_frac(std::size_t r) const;
  /// Without a stated reference, dry mass is dry matter.
  double reference_frac(std::size_t r) const;
  /// Growth of the total since the record before, m; NaN where it was set back.
  double distance_m(std::size_t r) const;
  double speed_m_s(std::size_t r) const;
  /// A section cuts nothing while it does not work.
  bool works(std::size_t r, const std::string& element) const;
  /// Nothing is cut while the machine does not work.
  double swath_m(std::size_t r) const;
  /// Width of the section that a part of the yield is of, mm; 1 where it is not logged by sections.
  double weight(std::size_t r, std::size_t part) const;
  /// As logged: flows of sections add up, yields per area are their mean by width.
  double yield_at(std::size_t r) const;
};

/// How the yield of a log came from the elements that log it.
void tell_elements(const TimeLog& log, const LogQuantities& q, const std::string& file,
                   Doubts& doubts);

}  // namespace evendrip
