// SPDX-License-Identifier: Apache-2.0
// The command line as a value.
#pragma once

#include <string>
#include <variant>
#include <vector>

#include "evendrip/app/commands.hpp"

namespace evendrip {

/// Text for stdout that needs no work: --help, --version.
struct Told {
  std::string text;
};
struct CommandLine {
  std::variant<Told, CheckOptions, RunOptions, EvaluateOptions, ScreenOptions, CropOptions,
               SimulateOptions>
      command;
  Console::Loudness loudness = Console::Loudness::normal;
};

/// Arguments without the program's name. Throws UsageError.
CommandLine parse_command_line(const std::vector<std::string>& arguments);

/// "0.1.0"
std::string program_version();

}  // namespace evendrip
