// SPDX-License-Identifier: Apache-2.0
#include "freed_crop.hpp"

#include <cmath>
#include <stdexcept>

namespace evendrip {

void take_out(std::span<const double> pattern, CropEvidence& evidence) {
  if (pattern.size() != evidence.data.size())
    throw std::invalid_argument("there is not one value for each datum");
  const bool high_is_poor = evidence.kind == "canopy_temperature";
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    EvidenceDatum& datum = evidence.data[i];
    if (pattern[i] == 0 || !std::isfinite(datum.value)) continue;
    double freed = datum.value - pattern[i] * evidence.median;
    if (high_is_poor) {
      const double relative = evidence.median / datum.value - pattern[i];
      if (!(datum.value > 0) || !(relative > 0)) continue;
      freed = evidence.median / relative;
    }
    datum.taken_out += static_cast<float>(datum.value - freed);
    datum.value = freed;
  }
}

}  // namespace evendrip
