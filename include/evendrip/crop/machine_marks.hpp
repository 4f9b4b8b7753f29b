// SPDX-License-Identifier: Apache-2.0
// What machines and turning leave in a crop map: headlands (both ends yield less everywhere) and
// stripes at the width of an implement, which repeat over zones.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

struct Headland {
  double width_m = 0;  ///< on the ground; 0: none recognised
  double level = 1;    ///< of the crop there over that farther in
  std::string why;     ///< plain words
};
/// Crop against the distance along the laterals to the limit of the field, at both ends; where
/// another zone goes on is no limit. One step for both ends, on a slope of each (failing that, on
/// level ground, where that fits better than a slope alone), by least squares, up to 40 m and 0.15
/// of the length of the zones (common practice, no source); recognised where the crop outside it is
/// below 97 % of what the slope lets expect at both ends, with 90 % limits that allow for the
/// likeness of neighbours (crop/lateral_profile.hpp) and in two thirds of the columns. The
/// outermost cell, through which shows what lies beyond the limit, is not asked unless nothing is
/// found farther in. Not where only one end is low, or both are far ends of laterals: that may be
/// water. Rasters beyond 2,000 cells a side are coarsened first, here and below.
Headland recognise_headland(const Field& field, const RasterReader& relative, const Work& work);

struct MachineStripe {
  double width_m = 0;    ///< period across the laterals, on the ground
  double amplitude = 0;  ///< half the difference of high and low, relative
  double p = 1;          ///< by chance, over all periods tried
  bool crosses_zones = false;
  bool stated = false;     ///< once or twice (there and back) one of [agronomy] implement_widths
  std::string told;        ///< one sentence
  std::vector<int> zones;  ///< through which it runs
  double axis_deg = 0;     ///< bearing along it
};
/// Periods across the laterals, tested on means along them: Lomb-Scargle periodogram (Scargle 1982,
/// Astrophys. J. 263:835-853) over the zones whose laterals run alike and in each zone. Power is
/// judged by that at periods near it, so that soil and single odd laterals are not taken for
/// stripes; p by Bonferroni over all periods and sets of zones tried, or over the stated widths
/// alone. Told are those with p at most 0.05 and an amplitude of at least half of one percent
/// (common practice, no source), strongest first. A stripe crosses zones where it has one phase in
/// two zones or more, told by its parts along the laterals. Never blamed on a machine: the lateral
/// spacing itself; a multiple of it that ends at a zone's limit, or, in a field of one zone, that
/// is no stated width. Widths stated on the ground, m.
std::vector<MachineStripe> machine_stripes(const Field& field, const RasterReader& relative,
                                           const std::vector<double>& stated_widths_m,
                                           const Work& work);

}  // namespace evendrip
