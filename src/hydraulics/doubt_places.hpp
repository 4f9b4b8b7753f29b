// SPDX-License-Identifier: Apache-2.0
// Doubts of the hydraulics: where they point to, and each told once.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "evendrip/field/field.hpp"

namespace evendrip {

/// The file (and its layer) that has a role in [layers]; field.toml and the key where none has.
Place layer_place(const Field& field, std::string_view role);

/// Adds the doubt unless one of the same code, place and text is there.
void tell_once(Doubts& doubts, Doubt doubt);

/// "A, B, C and 4 more".
std::string some_of(const std::vector<std::string>& names);

}  // namespace evendrip
