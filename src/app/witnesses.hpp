// SPDX-License-Identifier: Apache-2.0
// A layer of the crop as a witness of the emitters' condition.
#pragma once

#include <optional>
#include <vector>

#include "evendrip/condition/field_condition.hpp"
#include "evendrip/crop/crop_reading.hpp"

namespace evendrip {

/// Its data with what each one sees, those on headlands marked, the stripes that machines left
/// taken out or marked. Nothing for points that are no log: what they see is not known.
std::optional<CropWitness> witness_of(const Field& field, const CropSource& source,
                                      const CropReading& reading,
                                      const std::vector<double>& implement_widths_m,
                                      const Work& work);

}  // namespace evendrip
