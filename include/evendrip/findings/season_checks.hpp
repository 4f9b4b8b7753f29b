// SPDX-License-Identifier: Apache-2.0
// Lists for the start and the end of the season. Common practice, no source beyond what a line
// names.
#pragma once

#include <string>
#include <vector>

namespace evendrip {

std::vector<std::string> season_start_checks();
std::vector<std::string> season_end_checks();

}  // namespace evendrip
