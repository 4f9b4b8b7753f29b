// SPDX-License-Identifier: Apache-2.0
// Confidence limits of the shares that pressure, the emitters and both at once have in the
// variation of discharge: what PartShares says.
#pragma once

#include <span>

#include "evendrip/uniformity/variation.hpp"

namespace evendrip {

/// Of emitters that all have a pressure above 0 and a discharge that is finite and not negative.
PartShares plain_shares(std::span<const VariedEmitter> emitters, double exponent,
                        double confidence);
/// Of emitters that all run; in logarithms.
PartShares log_shares(std::span<const VariedEmitter> running, double exponent, double confidence);

}  // namespace evendrip
