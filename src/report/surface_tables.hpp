// SPDX-License-Identifier: Apache-2.0
// Layers of results.gpkg that tell of the surface.
#pragma once

#include "evendrip/io/results.hpp"
#include "evendrip/report/story.hpp"

namespace evendrip {

/// Means of relative discharge over segments of laterals, with limits and probabilities.
ResultLayer segments_layer(const Story& story);
ResultLayer surface_models_layer(const Story& story);
ResultLayer surface_parameters_layer(const Story& story);
/// Of pairs of emitters within zones.
ResultLayer variogram_layer(const Story& story);
/// This map and other estimators, leaving out emitters and laterals.
ResultLayer cross_validation_layer(const Story& story);
/// Emitters unlike all others, at their places.
ResultLayer unlike_emitters_layer(const Story& story);
/// How far each emitter alone moves the map of its zone, the most moving one first.
ResultLayer influence_layer(const Story& story);
ResultLayer areas_below_layer(const Story& story);

}  // namespace evendrip
