// SPDX-License-Identifier: Apache-2.0
// The sections [irrigation] and [agronomy] as read_field goes through them. Private to this room.
#pragma once

#include <string>
#include <vector>

#include "evendrip/field/agronomy.hpp"
#include "evendrip/io/toml.hpp"

namespace evendrip {

/// Keys that nothing reads yet are named in `not_computed`.
Watering watering_from(TomlReader& root, std::vector<std::string>& not_computed, Doubts& doubts);

}  // namespace evendrip
