// SPDX-License-Identifier: Apache-2.0
// [[zone]]: what differs in a zone from the defaults of [emitter] and [lateral].
#pragma once

#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/io/toml.hpp"
#include "specification.hpp"

namespace evendrip {

/// How the laterals get their places; tells how well these are known where nothing is stated.
enum class LateralPlaces { drawn, laid_out };

/// The zones with specification and inlet pressure. What is required and stands neither in the
/// defaults nor in a zone's table is told once.
std::vector<Zone> with_zone_tables(std::vector<Zone> zones, TomlReader& root,
                                   const Specification& defaults, LateralPlaces places,
                                   Doubts& doubts);

}  // namespace evendrip
