// SPDX-License-Identifier: Apache-2.0
// The layer of results.gpkg that tells what was doubtful about the data.
#pragma once

#include "evendrip/base/error.hpp"
#include "evendrip/io/results.hpp"

namespace evendrip {

ResultLayer doubts_layer(const Doubts& doubts);

}  // namespace evendrip
