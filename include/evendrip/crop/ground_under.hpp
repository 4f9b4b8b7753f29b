// SPDX-License-Identifier: Apache-2.0
// What ground each crop datum lies on, where the field folder knows it: height and unit of the soil
// map. The crop may follow either for reasons that are no fault of the water's.
#pragma once

#include "evendrip/base/work.hpp"
#include "evendrip/crop/evidence.hpp"
#include "evendrip/field/field.hpp"

namespace evendrip {

/// Sets elevation_m and soil_unit of all data, by their places, and soil_units. Without [layers]
/// elevation or soil there is none. Throws what Terrain throws (hydraulics/terrain.hpp). Same
/// result for any number of threads.
void see_ground(CropEvidence& evidence, const Field& field, const Work& work);

}  // namespace evendrip
