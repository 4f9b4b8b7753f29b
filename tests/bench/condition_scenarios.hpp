// SPDX-License-Identifier: Apache-2.0
// What the joint estimate of a zone's condition is tried on. Set down before it was tried, and not
// to be changed to suit it.
//
// A set has 200 fields of each kind of trouble. Field `number` of any kind has, by its number
// alone,
//   ends        closed and flush manifold in turn,
//   pixel       0.5, 1, 3, 7 lateral spacings (the last two by turns a raster and a harvester's
//   log), holes       12, 24, 48 in a zone, crop noise  3, 5, 7, 10, 20 % of a pixel or record, on
//   its own,
// so that any 24 fields in a row have every ends, pixel and number of holes together once, and any
// 120 every noise with them; the severity is spread by the golden ratio, so that the first fields
// of a set span it as well as all of them do. Two sets of seeds: one to tune on, one to report.
//
// Truth is not what the estimate assumes. Faults of pipes are put in the network and solved; every
// emitter has its own make and luck. Water feeds a daily soil-water balance on a soil map with
// edges and patches; yield or an index that saturates follows from it; sensor or harvester blurs
// it, the map lies a little beside its place, ends of the field are headland, machines leave
// stripes.
//
// Scored, of each field:
//   error        root mean square of estimated less true delivery, means over 10 m of a lateral,
//                emitters with their own make and luck
//   floor        the part of it that nobody can know: own make and luck over 10 m
//   coverage     share of the 10 m means, without own make and luck, within the 90 % limits
//   log score    of "performs below 0.75" at every emitter; mean of minus the logarithm of the
//                probability given to what is
//   called low   share of the emitters whose probability to deliver below 0.9 is above 0.8: of all
//                emitters, and of the runs of 30 m and more whose 10 m means lose 0.3 or more and
//                that no hole hit
// Competitors: zone mean, inverse distance (power 2, all holes), ordinary kriging (the best of the
// usual shapes, else the mean), crop regression (least squares of the holes on the crop at their
// segment). The best of them is chosen once for each kind of trouble, by its median error. Ratios
// to it are told as medians with 90 % limits from order statistics.
#pragma once

#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <string>

#include "evendrip/base/random.hpp"

namespace evendrip::bench {

enum class ConditionTrouble {
  clean,              ///< soil slight
  soil_only,          ///< soil of edges and patches, strong
  weak_inlets,        ///< 8 to 40 % of the laterals, in short runs
  pinched_group,      ///< 3 to 8 neighbours at about one station
  pinched_line,       ///< one lateral
  narrowed_manifold,  ///< one section
  pressure_only,      ///< the same, delivery beyond down by 30 %: r = 1
  tail_sediment,      ///< where water is slow
  plugged_clusters,   ///< 2 to 8 of them
  local_patch,        ///< 2 to 6 neighbours over 15 to 50 m, edges sharp
  machine_told,       ///< water clean; stripes at a width that the grower states
  machine_untold,     ///< water clean; one strip of 1 to 3 spacings, whole length
  unrelated_crop      ///< inlets weak, crop that has water enough all the same
};
inline constexpr std::array<const char*, 13> condition_trouble_names = {
    "clean",           "soil only",     "weak inlets",   "pinched group",    "pinched line",
    "manifold narrow", "pressure only", "tail sediment", "plugged clusters", "local patch",
    "machine, told",   "machine, not",  "unrelated crop"};
inline std::string to_text(ConditionTrouble trouble) {
  return condition_trouble_names[static_cast<std::size_t>(trouble)];
}
/// Kinds in which water is at fault and the crop follows it: the ratio's limits are over these.
inline bool water_at_fault(ConditionTrouble trouble) {
  return trouble >= ConditionTrouble::weak_inlets && trouble <= ConditionTrouble::local_patch;
}

inline constexpr std::uint64_t condition_tuning_seed = 70201;
inline constexpr std::uint64_t condition_report_seed = 90803;
inline constexpr int condition_fields_each = 200;

inline constexpr std::array<double, 4> pixels_over_spacing = {0.5, 1, 3, 7};
inline constexpr std::array<int, 3> hole_counts = {12, 24, 48};
inline constexpr int holes_on_a_lateral = 4;  ///< laterals at random, one hole in each quarter
inline constexpr std::array<double, 5> crop_noises = {0.03, 0.05, 0.07, 0.10, 0.20};

// Zones.
inline constexpr std::array<int, 2> scenario_laterals = {36, 44};
inline constexpr std::array<int, 2> scenario_length_10m = {10, 13};
inline constexpr std::array<double, 2> scenario_spacing_m = {1, 2};  ///< to 0.1 m
inline constexpr std::array<double, 2> scenario_inlet_kpa = {90, 120};
inline constexpr double scenario_slope_frac = 0.001;  ///< at most; taken for level by the evaluator
inline constexpr std::array<double, 2> scenario_make_cv = {0.03, 0.05};
inline constexpr double most_plugged_share = 0.004;  ///< by chance, anywhere: 0 to this

// What is known of them.
inline constexpr double catch_error = 0.02;     ///< of a hole
inline constexpr double gauge_error_kpa = 1.5;  ///< at the inlet and at the ends of three laterals
inline constexpr double stated_make_cv = 0.04;
inline constexpr double clogged_below = 0.75;
inline constexpr double low_below = 0.90;
inline constexpr double called_above = 0.80;
inline constexpr double scored_over_m = 10;

// Severity s, 0.0025 to 0.9975, in each kind: open share of the bore 0.3 (least / 0.3)^s, times
// exp(0.35 normal), at most 0.5; losses of emitters from first to last with s; stripes likewise.
inline constexpr double least_open_inlet = 0.012;
inline constexpr double least_open_line = 0.008;
inline constexpr double least_open_manifold = 0.02;
inline constexpr double pressure_only_delivery = 0.70;
inline constexpr std::array<double, 2> patch_loss = {0.05, 0.9};
inline constexpr std::array<double, 2> stripe_amplitude = {0.02, 0.15};  ///< half high less low
inline constexpr std::array<double, 2> strip_loss = {0.05, 0.40};
inline constexpr std::array<double, 2> implement_spacings = {2.2, 5.8};  ///< over the spacing

// Crop, drawn evenly for each field; the season is simulate/season_crop.hpp's.
inline constexpr std::array<double, 2> season_share_irrigated = {0.5, 0.9};
inline constexpr std::array<double, 2> irrigation_over_need = {0.95, 1.10};
inline constexpr std::array<double, 2> yield_response = {0.9, 1.25};
inline constexpr std::array<double, 2> index_saturation = {0.8, 2.5};
inline constexpr std::array<double, 2> available_water_mm_m = {90, 200};  ///< of a soil unit
inline constexpr double slight_soil_sd = 0.03;  ///< smooth part; clean, faults and machines
inline constexpr double strong_soil_sd = 0.08;  ///< soil_only and unrelated_crop
inline constexpr std::array<int, 2> slight_soil_patches = {0, 3};
inline constexpr std::array<int, 2> strong_soil_patches = {4, 9};
inline constexpr std::array<double, 2> patch_factor = {0.65, 0.95};
inline constexpr std::array<double, 2> unit_factor = {0.88, 1.0};
inline constexpr std::array<double, 2> headland_m = {4, 10};
inline constexpr std::array<double, 2> headland_factor = {0.75, 0.95};
inline constexpr double misregistration_pixels = 0.3;  ///< sd in each axis, of the pixel ...
inline constexpr double misregistration_m = 0.2;       ///< ... and this besides
inline constexpr double sensor_blur_pixels = 0.3;
inline constexpr double harvester_speed_m_s = 1.6;
inline constexpr double harvester_mixing_s = 2;
inline constexpr double harvester_lag_error_s = 1;  ///< sd, of the whole log

struct ConditionScenario {
  ConditionTrouble trouble = ConditionTrouble::clean;
  int number = 0;
  bool closed = true;
  double severity = 0.5;
  double pixel_over_spacing = 1;
  bool harvester = false;  ///< a log of a swath as wide as the pixel, else a raster
  int holes = 24;
  double crop_noise = 0.05;
  std::uint64_t seed = 0;
};

inline ConditionScenario condition_scenario(std::uint64_t set_seed, ConditionTrouble trouble,
                                            int number) {
  const auto n = static_cast<std::size_t>(number);
  ConditionScenario s;
  s.trouble = trouble;
  s.number = number;
  s.closed = n % 2 == 0;
  s.pixel_over_spacing = pixels_over_spacing[n / 2 % 4];
  s.harvester = n / 2 % 4 >= 2 && n / 8 % 2 == 1;
  s.holes = hole_counts[n % 3];
  s.crop_noise = crop_noises[n % 5];
  constexpr double golden = 0.6180339887498949;
  const double turn = (number + 0.5) * golden;
  s.severity = 0.0025 + 0.995 * (turn - std::floor(turn));
  s.seed = item_seed(set_seed, {static_cast<std::uint64_t>(trouble), n});
  return s;
}

}  // namespace evendrip::bench
