// SPDX-License-Identifier: Apache-2.0
// One [[crop]] read to a layer, with what was learned on the way: a yield log with its cleaning and
// its map, a raster with its index.
#pragma once

#include <optional>

#include "evendrip/crop/cleaning.hpp"
#include "evendrip/crop/crop.hpp"
#include "evendrip/crop/evidence.hpp"
#include "evendrip/crop/harvest_log.hpp"
#include "evendrip/crop/vegetation_index.hpp"
#include "evendrip/crop/yield_map.hpp"

namespace evendrip {

/// A log as it was read, cleaned and mapped.
struct MappedHarvest {
  HarvestLog log;
  CleanedLog cleaned;
  YieldMap map;
};

struct CropReading {
  CropLayer layer;
  std::optional<MappedHarvest> harvest;  ///< of a yield log
  std::optional<IndexLayer> index;       ///< of a raster; `layer` reads the same values
};

/// True for yields at points: a table, a vector layer or task data. They are read as a log.
bool is_harvest_log(const CropSource& source);

/// Yields at points are cleaned and block-kriged over the zones; other points are gridded as
/// crop/point_surface.hpp says; rasters are opened as crop/vegetation_index.hpp says. Throws as
/// open_crop().
CropReading read_crop(const Field& field, const CropSource& source, const Grid& grid,
                      const Work& work);

/// What the layer's data are and see; nothing for points that are no log: what they see is not
/// known.
std::optional<CropEvidence> evidence_of(const Field& field, const CropSource& source,
                                        const CropReading& reading, const Work& work);

}  // namespace evendrip
