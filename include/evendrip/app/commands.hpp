// SPDX-License-Identifier: Apache-2.0
// The commands of the program, each with its options as a value; they return what goes to stdout
// and the exit status, and throw Error. `main` parses, calls and prints.
#pragma once

#include <cstdint>
#include <filesystem>
#include <optional>
#include <stop_token>
#include <string>
#include <vector>

#include "evendrip/app/console.hpp"
#include "evendrip/base/error.hpp"
#include "evendrip/report/evaluation.hpp"

namespace evendrip {

struct CommandResult {
  std::string output;  ///< for stdout
  ExitCode exit_code = ExitCode::done;
};

enum class OutputForm { text, json };

struct CheckOptions {
  std::filesystem::path folder;
  OutputForm form = OutputForm::text;
};
/// Reads everything of a field folder and tells every problem and doubt; exit 3 when a run would
/// refuse.
CommandResult check(const CheckOptions& options, std::stop_token stop, Console& console);

struct RunOptions {
  std::filesystem::path folder;
  std::string survey;                           ///< empty: the latest
  std::optional<std::filesystem::path> output;  ///< none: FOLDER/results/<survey>
  OutputForm form = OutputForm::text;
  int threads = 1;
  std::uint64_t seed = 1;
};
/// The whole chain; results appear at once in the output folder.
CommandResult run(const RunOptions& options, std::stop_token stop, Console& console);

struct EvaluateOptions {
  std::filesystem::path folder;
  std::string survey;                           ///< empty: the latest
  std::optional<std::filesystem::path> output;  ///< the one-page sheet (PDF); none: not drawn
  OutputForm form = OutputForm::text;
  int threads = 1;
  EvaluationOptions evaluation;       ///< its selection is made of the three below
  std::vector<std::string> zones;     ///< ids of a selection to be told beside zones and field
  std::vector<std::string> laterals;  ///< ids, or FIRST..LAST
  std::optional<StationRange> stations;
};
/// How even the emitters are and how sure that is. Writes only the sheet that is asked for.
CommandResult evaluate(const EvaluateOptions& options, std::stop_token stop, Console& console);

struct ScreenOptions {
  std::filesystem::path folder;
  std::string survey;  ///< empty: the latest
  OutputForm form = OutputForm::text;
  bool commission = false;  ///< write today's readings as the commissioning record
  int threads = 1;
};
/// What gauges and meter say of every zone, without digging. Writes only where a record is asked
/// for: FileError "commissioning_exists" if the folder has one.
CommandResult screen(const ScreenOptions& options, std::stop_token stop, Console& console);

struct CropOptions {
  std::filesystem::path folder;
  std::string
      survey;  ///< whose dug emitters the crop is set beside; empty: the latest with catches
  std::optional<std::filesystem::path> output;  ///< none: FOLDER/results/crop
  OutputForm form = OutputForm::text;
  int threads = 1;
  std::uint64_t seed = 1;
};
/// What the crop says and where to look first; no survey is needed. Results appear at once in the
/// output folder. InputError "nothing_to_listen_to" for a field without [[crop]].
CommandResult crop(const CropOptions& options, std::stop_token stop, Console& console);

struct SimulateOptions {
  std::filesystem::path folder;               ///< to be made
  std::optional<std::filesystem::path> plan;  ///< TOML
  std::optional<std::uint64_t> seed;          ///< instead of the plan's
};
/// Writes a field folder whose truth is known.
CommandResult simulate(const SimulateOptions& options);

}  // namespace evendrip
