// SPDX-License-Identifier: Apache-2.0
// The layers that field.toml names, read and brought into the field's CRS.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "evendrip/field/field.hpp"
#include "layers.hpp"

namespace evendrip {

/// (role in [layers], file)
using NamedFiles = std::vector<std::pair<std::string, FileRef>>;

/// Runs a step; what it throws about the input becomes problems, and the rest is still read.
template <typename Step>
void attempt(Doubts& doubts, const Step& step) {
  try {
    step();
  } catch (const InputError& error) {
    doubts.insert(doubts.end(), error.problems().begin(), error.problems().end());
  }
}

/// In their own CRSs, attributes under our names: `columns` holds (theirs, ours).
std::vector<RoleLayer> layers_as_written(
    const NamedFiles& files, const std::vector<std::pair<std::string, std::string>>& columns,
    Doubts& doubts);

/// A stated CRS with metres as its unit. Throws InputError for degrees (crs/crs.hpp).
Crs in_metres(const Crs& stated);

/// UTM zone of the zones' extent, or of the first layer if there are no zones; at least one layer.
/// Throws InputError "layer_without_crs".
Crs automatic_crs(const std::vector<RoleLayer>& layers);

/// Layers that do not tell their CRS are taken to be in `assumed`. Those that cannot be transformed
/// become problems and are left out.
std::vector<RoleLayer> layers_in_crs(std::vector<RoleLayer> layers, const Crs& crs,
                                     const std::optional<Crs>& assumed, Doubts& doubts);

/// Problems: layers so far from the zones that they must be in another CRS.
Doubts far_layers(const std::vector<RoleLayer>& layers, const Extent& zones);

/// Every file that was read, once, with its hash; a shapefile with the files it consists of.
std::vector<InputFile> inputs_of(const Field& field, const NamedFiles& layer_files);

}  // namespace evendrip
