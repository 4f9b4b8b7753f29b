// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <memory>

#include "evendrip/base/work.hpp"
#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// The raster held in memory where it is small enough to be read often (16 million cells), else as
/// it is. More than one thread only for readers that many may read at once.
std::shared_ptr<const RasterReader> held(std::unique_ptr<RasterReader> reader, const Work& work);

}  // namespace evendrip
