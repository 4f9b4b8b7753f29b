// SPDX-License-Identifier: Apache-2.0
// A season on a made-up field: weather and watering day by day, the soil-water balance of every
// spot of ground (simulate/soil_water.hpp) fed by what its emitters deliver, and the crop that
// comes of it.
//
// Watering follows the balance of a spot of middling soil whose emitters deliver all that they
// should: every few days what that spot lacks, times a factor. Crop ET rises and falls over the
// season as a half sine; rain falls on random days. Below drip lines only a share of the roots'
// soil is wetted and holds water for the crop (common practice, no source).
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "evendrip/geo/raster.hpp"
#include "evendrip/simulate/crop_signal.hpp"
#include "evendrip/simulate/soil_map.hpp"
#include "evendrip/simulate/soil_water.hpp"
#include "evendrip/simulate/truth.hpp"

namespace evendrip {

struct SeasonPlan {
  int days = 110;
  int watered_every_days = 2;
  double least_et_mm = 3;        ///< crop ET of the first and last day
  double most_et_mm = 7;         ///< of the middle day
  double share_irrigated = 0.7;  ///< rain falls for the rest of the season's crop ET
  double irrigation_over_need = 1.0;
  double middling_available_mm_m = 145;
  double root_depth_m = 0.8;
  double wetted_share = 0.4;  ///< of the roots' soil
  double depletion_share = 0.5;
  double yield_response = 1.1;   ///< Ky
  double index_saturation = 0;   ///< of saturating_index; 0: the yield itself
  double follows_the_water = 1;  ///< 0: every spot gets what it should, whatever its emitters give
  std::uint64_t seed = 1;
};

/// Weather and watering of a spot that gets all it should. Throws std::invalid_argument for a
/// season of no days, watering every less than one day, or a share outside 0 to 1.
std::vector<WaterDay> season_days(const SeasonPlan& plan);

/// The roots' soil that holds `available_mm_m`.
RootZone season_root_zone(const SeasonPlan& plan, double available_mm_m);

/// Yield over that of a crop that lacks nothing, at a spot whose emitters deliver this share.
double season_yield(const SeasonPlan& plan, std::span<const WaterDay> days, double available_mm_m,
                    double delivery);

/// (1 - exp(-s y)) / (1 - exp(-s)): a canopy's index over that of a full one, as leaves cover the
/// ground (Beer's law; the form only); y itself for s = 0.
double saturating_index(double relative_yield, double saturation);

/// Crop over that of a full one on cells of the local frame (x along the flow, y across), the zones
/// and 6 m around them: index of the season's yield times what the soil leaves; 0.3 outside the
/// zones.
Raster season_crop(const SimulatedField& field, const SoilMap& soil, const SoilPattern& smooth,
                   const SeasonPlan& plan, double cell_m);

}  // namespace evendrip
