// SPDX-License-Identifier: Apache-2.0
// The crop layers of a field heard one by one, and set beside the dug emitters.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/report/crop_story.hpp"
#include "evendrip/survey/survey.hpp"

namespace evendrip {

/// Whether the middle of the field lies south of the equator.
bool lies_south(const Field& field);

/// One [[crop]] read, cleaned, mapped, freed of what the field explains, and screened: what it
/// takes to say where to look first.
HeardLayer screen_layer(const Field& field, std::size_t source, const Grid& grid,
                        const std::vector<double>& implement_widths_m, std::uint64_t seed,
                        const Work& work);

/// The same with what is told of zones, of laterals and along them.
HeardLayer listen_to(const Field& field, std::size_t source, const Grid& grid,
                     const std::vector<double>& implement_widths_m, std::uint64_t seed,
                     const Work& work);

/// Layers of several dates or seasons as one (crop/over_dates.hpp).
std::vector<CropOverDates> over_dates_of(const Field& field, const std::vector<HeardLayer>& layers);

/// Survey to set beside the crop: the one named, else the latest with catch cans; empty if none.
std::string survey_with_catches(const Field& field, const std::string& named);

/// Relative discharge of the dug emitters of a survey. Throws InputError.
MeasuredDischarge measured_discharge(const Field& field, const std::string& survey,
                                     const Work& work);

/// The crop at the dug emitters (crop/emitter_crop.hpp); nothing where fewer than ten have a crop
/// value (common practice, no source). `emitters_per_root_zone`: 0 if not stated.
std::optional<LayerAssociation> set_beside(const Field& field, const HeardLayer& heard,
                                           const MeasuredDischarge& discharge,
                                           int emitters_per_root_zone, std::uint64_t seed,
                                           const Work& work);

}  // namespace evendrip
