// SPDX-License-Identifier: Apache-2.0
// The layers of a field folder as zones, manifolds, ports, hazards and observations.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/io/vector.hpp"

namespace evendrip {

/// A layer by its role in [layers], in the field's CRS, attributes renamed by [columns].
struct RoleLayer {
  std::string role;  ///< "zones"
  VectorLayer layer;

  Place place_of(const Feature& feature, std::string column = "") const {
    return {layer.file, layer.layer, feature.number, std::move(column)};
  }
};

/// Attribute "<stem>_<unit>" in the canonical unit, whatever the unit; nothing if it is missing.
/// Text that is no number is a problem.
std::optional<double> attribute_quantity(const RoleLayer& layer, const Feature& feature,
                                         std::string_view stem, Dimension dimension,
                                         Doubts& doubts);

/// Ids of the features, one for each: the attribute `id`, or "<prefix><number>" where it is
/// missing (told once). Ids that stand twice are problems, except where `repeats` allows them.
enum class Repeats { refused, allowed };
std::vector<std::string> feature_ids(const RoleLayer& layer, std::string_view prefix,
                                     Repeats repeats, Doubts& doubts);

int zone_index(const std::vector<Zone>& zones, std::string_view id);
/// The zone that holds a point, -1 if none does.
int zone_at(const std::vector<Zone>& zones, Point p);
/// "Z1, Z2, Z3" for messages; long lists are cut.
std::string first_few(const std::vector<std::string>& names);
std::string zone_list(const std::vector<Zone>& zones);

/// Zones by id; polygons of one id are one zone. Invalid outlines are mended and told; zones that
/// overlap are told.
std::vector<Zone> zones_from(const RoleLayer& layer, Doubts& doubts);
std::vector<Manifold> manifolds_from(const RoleLayer& layer, const std::vector<Zone>& zones,
                                     Doubts& doubts);
std::vector<Port> ports_from(const RoleLayer& layer, const std::vector<Zone>& zones,
                             Doubts& doubts);
std::vector<Hazard> hazards_from(const RoleLayer& layer, Doubts& doubts);
std::vector<Observation> observations_from(const RoleLayer& layer, Doubts& doubts);
/// Units by their attribute `soil`; polygons of one name are one unit.
std::vector<SoilUnit> soil_from(const RoleLayer& layer, Doubts& doubts);

}  // namespace evendrip
