// SPDX-License-Identifier: Apache-2.0
// A field folder for what needs no survey: the crop can be listened to without one.
#pragma once

#include <filesystem>

#include "evendrip/field/field.hpp"

namespace evendrip {

/// read_field() to which a folder without any [[survey]] is no problem.
Field read_field_without_survey(const std::filesystem::path& folder);

}  // namespace evendrip
