// SPDX-License-Identifier: Apache-2.0
// Which samples are left out together, and the figures of what was predicted of them.
#pragma once

#include <string>
#include <vector>

#include "evendrip/surface/comparison.hpp"

namespace evendrip {

/// Samples of one place always stand in one group; by lateral also those of one lateral. Groups in
/// the order of their first samples, samples ascending.
std::vector<std::vector<int>> groups_left_out(const Samples& samples, LeaveOut left_out);

EstimatorScore score_of(const Samples& samples, std::string name, LeaveOut left_out,
                        std::vector<Prediction> predicted);

}  // namespace evendrip
