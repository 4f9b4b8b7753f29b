// SPDX-License-Identifier: Apache-2.0
// What a harvester logged, record by record: a table, points of any vector driver, or task data of
// ISO 11783-10. Nothing is corrected here; crop/cleaning.hpp does that.
//
// Columns, units in the heading (metric or US): place by lat + lon or x + y; either yield_<unit>,
// or mass_flow_kg_s (also _kg_h, _t_h, _lb_s, _lb_h), moisture_pct, distance_<unit>,
// duration_<unit>, swath_<unit>; where logged time_<unit> or time (ISO 8601, or seconds), machine
// and speed_<unit>. What is not logged is worked out where it can be: durations from the times,
// distances from speed or from the places, the swath from CropSource::swath_m.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

/// Yield at a standard moisture, t/ha:
///   10 m (1 - w) / (1 - basis) / (distance x swath), m = mass flow x duration in kg;
/// 10 turns kg/m2 into t/ha. NaN where there is no area. basis 0: dry matter.
double yield_at_basis_t_ha(double mass_kg, double moisture_frac, double basis_frac, double area_m2);

/// Arrays of one length, in the order of the source. NaN: not logged.
struct HarvestLog {
  std::string file;                ///< as written
  std::vector<std::size_t> lines;  ///< of the table, or number of the feature or record
  std::vector<Point> places;       ///< field CRS, m
  std::vector<double> time_s;      ///< since the first record of the file
  std::vector<double> duration_s;
  std::vector<double> distance_m;  ///< travelled during the record, on the ground
  std::vector<double> swath_m;     ///< as logged: the width the machine believes it cut
  std::vector<double> mass_flow_kg_s;
  std::vector<double> moisture_frac;
  std::vector<double> yield_t_ha;  ///< logged, or from mass flow at the basis
  std::vector<int> machine;        ///< index into machines
  std::vector<std::string> machines;
  bool has_mass_flow = false;  ///< yield_t_ha follows from it
  double basis_frac = 0;
  std::size_t set_aside = 0;        ///< rows without a place, left out of the arrays
  std::size_t first_set_aside = 0;  ///< line of the first of them
  std::string method_text;          ///< how the yields came about, one sentence
  Doubts doubts;

  std::size_t size() const { return places.size(); }
};

/// Throws InputError listing every bad value with its row. Doubts: no moisture, time that runs
/// backwards, two machines in one file, passes that stand twice, units that look mixed.
HarvestLog read_harvest_log(const Field& field, const CropSource& source);

}  // namespace evendrip
