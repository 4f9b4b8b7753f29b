// SPDX-License-Identifier: Apache-2.0
// The results as layers of one GeoPackage, in canonical units, which stand in the names.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "evendrip/io/results.hpp"
#include "evendrip/report/story.hpp"

namespace evendrip {

/// Layers zones, laterals, segments, emitters, unlike_emitters, expected_emitters, pipes, ports,
/// findings, visits and tables zone_hydraulics, meter, design, crop_by_zone, crop_by_lateral,
/// surface_models, surface_parameters, variogram, cross_validation, areas_below, doubts. They refer
/// to the story, which must outlive them.
std::vector<ResultLayer> result_layers(const Story& story);

/// What every result records: version, libraries, inputs with their hashes, method, seed.
std::vector<std::pair<std::string, std::string>> record_of(const Story& story);

}  // namespace evendrip
