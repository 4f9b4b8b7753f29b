// SPDX-License-Identifier: Apache-2.0
// What a made-up field looks like: its layout, its emitters, what is wrong with it, how it is
// surveyed and what the crop shows. Every key of the TOML form is optional; lengths and other
// quantities are texts with a unit ("150 m", "0.26 gph").
#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

/// Something wrong with a group of neighbouring laterals, or with a manifold of the zone.
struct SimulatedFault {
  std::string zone;
  int first_lateral = 1;  ///< 1-based within the zone
  int last_lateral = 1;
  double from_station_m = 0;  ///< of a manifold: from the end where the inlet is
  /// clogging: emitters beyond the station pass less at the same pressure, each differently.
  /// pinch, shut, cut: as FaultKind, at the station, solved in the network.
  std::string kind = "clogging";
  double factor = 0.5;    ///< clogging: mean of what is left of the discharge
  double gradual_m = 0;   ///< clogging: the factor comes in over this length; 0: at once
  double severity = 0.5;  ///< pinch: share of the bore lost; cut: its area over that of the bore
  std::string on = "laterals";  ///< or manifold, flush_manifold (not for clogging)
  bool operator==(const SimulatedFault&) const = default;
};

/// A round place where the soil, not the water, holds the crop back.
struct SimulatedSoilPatch {
  std::string zone;
  int lateral = 1;  ///< of its centre, 1-based within the zone
  double station_m = 0;
  double radius_m = 10;
  double factor = 0.8;  ///< crop index at the centre
  bool operator==(const SimulatedSoilPatch&) const = default;
};

/// Defaults give a small metric field.
struct SimulationPlan {
  std::string name = "Untitled field";
  std::string about;                     ///< told in README.txt
  std::string layers_crs = "EPSG:4326";  ///< of the layers: EPSG:4326 is written as GeoJSON, any
                                         ///< projected CRS as one GeoPackage
  std::string crs = "auto";              ///< of field.toml
  Point lonlat_centre{10.5, 44.5};
  int zones = 2;
  int laterals_per_zone = 40;
  double lateral_length_m = 150;
  double lateral_spacing_m = 1.5;
  double bearing_deg = 20;                ///< of flow, clockwise from north of the UTM grid
  std::vector<std::string> closed_zones;  ///< ids without a flush manifold
  bool mixed_directions = false;          ///< every third lateral is drawn from its far end
  double emitter_spacing_m = 0.5;
  double discharge_lph = 1.0;
  double rated_pressure_kpa = 100;
  double exponent = 0.5;
  double inlet_pressure_kpa = 100;
  double inside_diameter_mm = 16;
  double max_pressure_kpa = 0;  ///< that the laterals stand; 0: not stated
  /// Of the supply manifold's sections, equally long, from the inlet on.
  std::vector<double> manifold_diameters_m{0.075, 0.053};
  double flush_manifold_diameter_m = 0.05;
  double roughness_mm = 0.0015;
  double hazen_williams_c = 0;  ///< above 0: that law, and not the roughness
  double depth_m = 0.35;
  int installed_year = 2017;
  double manufacturing_cv = 0.04;
  double plugged_share = 0.03;
  double soil_sd = 0.06;             ///< of the crop index, smooth in space
  double in_soil_ratio = 0.9;        ///< discharge of a buried emitter over that of one dug free
  double slope_frac = -0.001;        ///< rise of the ground along the flow
  double cross_slope_frac = 0.0005;  ///< rise of the ground from the first lateral to the last
  double elevation_m = 120;          ///< at the centre
  std::vector<SimulatedFault> faults;
  std::vector<SimulatedSoilPatch> soil_patches;
  int laterals_dug = 8;          ///< per zone
  int emitters_per_lateral = 4;  ///< places: head, middle, tail, then pits of two or three emitters
  double replicate_share = 0.2;  ///< emitters measured twice
  double measuring_cv = 0.01;
  double volume_graduation_ml = 2;
  double duration_s = 900;
  double gps_accuracy_m = 2.5;  ///< one standard deviation in each axis
  double gps_only_share = 0;    ///< dug places without a declared lateral and station
  double gauge_accuracy_kpa = 1;
  double meter_accuracy_frac = 0.02;
  double valve_loss_kpa = 9;  ///< from before the zone's valve to the zone's inlet
  double main_loss_kpa = 12;  ///< from the filter to the valve
  double filter_loss_kpa = 11;
  double check_valve_loss_kpa = 4;  ///< from the pump to the filter
  std::string commissioning_date;   ///< empty: no record of the system when it was new
  double water_temperature_c = 16;
  double biomass_pixel_m = 5;      ///< 0: none
  std::string canopy = "biomass";  ///< or canopy_temperature: what the raster shows
  double canopy_noise_sd = 0.02;   ///< of the crop index, each pixel on its own
  double yield_swath_m = 0;        ///< 0: none
  double yield_t_ha = 9;           ///< where water and soil hold nothing back
  double yield_noise_cv = 0.05;
  double water_response = 0.8;  ///< share of crop lost for each share of water missed
  std::string crop = "maize";
  // How it is watered, written to [irrigation] and [agronomy]; 0: not stated.
  double set_time_s = 0;
  int pulses = 0;
  double season_depth_mm = 0;
  double season_net_need_mm = 0;
  int emitters_per_root_zone = 0;
  double season_et_mm = 0;
  double season_effective_rain_mm = 0;
  bool us_units = false;
  bool gps_only = false;  ///< no dug place has a declared lateral
  std::string survey_id = "2026-spring";
  std::string survey_date = "2026-05-12";
  std::string canopy_date = "2025-07-24";
  std::string yield_date = "2025-09-30";
  std::uint64_t seed = 1;
  bool operator==(const SimulationPlan&) const = default;
};

/// Everything in a plan that cannot be made, with the key at fault; an empty list if all is well.
struct PlanProblem {
  std::string key;       ///< "fault.zone" for a key of a table
  std::size_t item = 0;  ///< index of the table where there are several
  std::string found;
  std::string expected;
};
std::vector<PlanProblem> problems_of(const SimulationPlan& plan);

/// Reads a plan from TOML (all keys optional). Throws InputError with the line of every problem,
/// FileError if the file cannot be read.
SimulationPlan read_plan(const std::filesystem::path& file);

/// The plan as TOML that read_plan reads back to the same values.
std::string plan_as_toml(const SimulationPlan& plan);

}  // namespace evendrip
