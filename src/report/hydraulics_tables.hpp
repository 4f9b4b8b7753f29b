// SPDX-License-Identifier: Apache-2.0
// Layers of results.gpkg that hydraulics fills; empty where no zone is computed.
#pragma once

#include "evendrip/io/results.hpp"
#include "evendrip/report/story.hpp"

namespace evendrip {

/// Every emitter of every computed zone, made row by row: the story must outlive the layer.
ResultLayer expected_emitters_layer(const Story& story);
/// Laterals end to end, and manifolds from joint to joint.
ResultLayer pipes_layer(const Story& story);
/// One row for each port and zone.
ResultLayer ports_layer(const Story& story);
/// What gauges, meter and pipes say of each zone.
ResultLayer zone_hydraulics_layer(const Story& story);
ResultLayer meter_layer(const Story& story);
/// Design and flushing of each computed zone.
ResultLayer design_layer(const Story& story);

}  // namespace evendrip
