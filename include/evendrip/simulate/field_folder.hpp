// SPDX-License-Identifier: Apache-2.0
// The files of a made-up field that describe the system: field.toml, the layers (GeoJSON, RFC 7946,
// for longitude and latitude, else one GeoPackage) and README.txt.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "evendrip/io/results.hpp"
#include "evendrip/simulate/truth.hpp"

namespace evendrip {

/// Paths of the crop's files inside the folder.
std::string canopy_file(const SimulationPlan& plan);
std::string yield_file(const SimulationPlan& plan);

std::string field_toml(const SimulatedField& field);
std::string readme_text(const SimulatedField& field);

/// Zones, laterals, manifolds, ports and hazards in the CRS of the plan's layers.
std::vector<ResultLayer> system_layers(const SimulatedField& field);
/// One layer in longitude and latitude as GeoJSON text; outer rings run counterclockwise.
std::string geojson_text(const ResultLayer& layer);
void write_layers(const SimulatedField& field, const std::filesystem::path& folder);

}  // namespace evendrip
