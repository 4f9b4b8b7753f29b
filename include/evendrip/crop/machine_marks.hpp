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
  double width_m = 0;  ///< 0: none recognised
  double level = 1;    ///< of the crop there over that farther in
  std::string why;
};
/// Crop against the distance to the limit of the field, at both ends of the laterals.
Headland recognise_headland(const Field& field, const RasterReader& relative, const Work& work);

struct MachineStripe {
  double width_m = 0;    ///< period across the laterals
  double amplitude = 0;  ///< half the difference of high and low, relative
  double p = 1;          ///< by chance, over all periods tried
  bool crosses_zones = false;
  bool stated = false;  ///< one of [agronomy] implement_widths
  std::string told;
};
/// Periods across the laterals, tested on means along them: Lomb-Scargle periodogram (Scargle 1982,
/// Astrophys. J. 263:835-853) in each zone and over zones; a multiple of the lateral spacing that
/// ends at a zone's limit is not blamed on a machine.
std::vector<MachineStripe> machine_stripes(const Field& field, const RasterReader& relative,
                                           std::vector<double> stated_widths_m, const Work& work);

}  // namespace evendrip
