// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/command_line.hpp"

#include "evendrip/crs/crs.hpp"

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include <charconv>

namespace evendrip {
namespace {

constexpr const char* main_footer =
    "Example: evendrip run sample_fields/heron_flat -o maps\n"
    "Exit status: 0 done, 1 internal fault, 2 usage, 3 input, 4 reading or writing failed, "
    "130 interrupted.\n"
    "Before anyone digs: have buried utilities located and relieve pressure; local codes and "
    "licensed practice come first.";

std::string thread_count_problem(const std::string& text) {
  int threads = 0;
  const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), threads);
  const bool whole = failure == std::errc() && end == text.data() + text.size();
  if (whole && threads >= 1 && threads <= 1024) return {};
  return "needs a whole number from 1 to 1024, not " + text;
}

CLI::App* add_check(CLI::App& app, CheckOptions& options) {
  CLI::App* check = app.add_subcommand(
      "check", "Read everything in a field folder and tell every problem and doubt");
  check->add_option("FIELD", options.folder, "folder with field.toml")->required();
  check->add_flag_callback(
      "--json", [&options] { options.form = OutputForm::json; }, "machine-readable result");
  check->footer(
      "Example: evendrip check sample_fields/heron_flat\n"
      "Exit status 3 when a run would refuse.");
  return check;
}

CLI::App* add_run(CLI::App& app, RunOptions& options) {
  CLI::App* run = app.add_subcommand(
      "run", "Evaluate a survey: uniformity, discharge maps over the crop, low places, visits");
  run->add_option("FIELD", options.folder, "folder with field.toml")->required();
  run->add_option("--survey", options.survey, "id of the survey; default the latest");
  run->add_option("-o,--output", options.output,
                  "folder for the results; default FIELD/results/<survey>");
  run->add_flag_callback(
      "--json", [&options] { options.form = OutputForm::json; },
      "machine-readable result on stdout");
  run->add_option("--threads", options.threads, "threads; default all")
      ->check(CLI::Validator(thread_count_problem, ""));
  run->add_option("--seed", options.seed, "seed of random draws; default 1")
      ->check(CLI::NonNegativeNumber);
  run->footer("Example: evendrip run sample_fields/heron_flat --survey 2026-spring -o maps");
  return run;
}

CLI::App* add_evaluate(CLI::App& app, EvaluateOptions& options) {
  CLI::App* evaluate = app.add_subcommand(
      "evaluate",
      "Tell how even the emitters are, how sure that is, and why; draw the sheet to be signed");
  evaluate->add_option("FIELD", options.folder, "folder with field.toml")->required();
  evaluate->add_option("--survey", options.survey, "id of the survey; default the latest");
  evaluate->add_option("-o,--output", options.output,
                       "file for the one-page evaluation sheet (PDF); default none");
  evaluate->add_flag_callback(
      "--json", [&options] { options.form = OutputForm::json; },
      "machine-readable result on stdout");
  evaluate->add_option("--seed", options.seed, "seed of random draws; default 1")
      ->check(CLI::NonNegativeNumber);
  evaluate->footer(
      "Example: evendrip evaluate sample_fields/heron_flat -o evaluation.pdf\n"
      "Limits are of 95 %. Two usable emitters suffice for figures, one lateral does not for "
      "limits.");
  return evaluate;
}

CLI::App* add_screen(CLI::App& app, ScreenOptions& options) {
  CLI::App* screen = app.add_subcommand(
      "screen", "Learn from gauges and meter alone, without digging: what each zone suffers from");
  screen->add_option("FIELD", options.folder, "folder with field.toml")->required();
  screen->add_option("--survey", options.survey, "id of the survey; default the latest");
  screen->add_flag("--commission", options.commission,
                   "keep today's readings in FIELD/commissioning.csv, as the record of a good "
                   "system");
  screen->add_flag_callback(
      "--json", [&options] { options.form = OutputForm::json; },
      "machine-readable result on stdout");
  screen->footer(
      "Example: evendrip screen sample_fields/heron_flat\n"
      "One meter or port reading suffices; catch cans are not needed.");
  return screen;
}

CLI::App* add_simulate(CLI::App& app, SimulateOptions& options) {
  CLI::App* simulate = app.add_subcommand(
      "simulate", "Write a field folder whose truth is known, for practice and proof");
  simulate->add_option("FOLDER", options.folder, "folder to be made")->required();
  simulate->add_option("--plan", options.plan, "what to make (TOML); default a small metric field");
  simulate->add_option("--seed", options.seed, "seed, instead of the plan's")
      ->check(CLI::NonNegativeNumber);
  simulate->footer("Example: evendrip simulate practice_field --seed 7");
  return simulate;
}

std::string version_text() {
  return fmt::format("evendrip {}\n{}\n", program_version(), library_versions());
}

}  // namespace

std::string program_version() {
  return EVENDRIP_VERSION;
}

CommandLine parse_command_line(const std::vector<std::string>& arguments) {
  CLI::App app(
      "Evaluates subsurface drip irrigation: how even the emitters are, where water is low and "
      "whether the crop shows it, and where to look first.",
      "evendrip");
  app.footer(main_footer);
  app.require_subcommand(0, 1);
  CheckOptions check_options;
  RunOptions run_options;
  EvaluateOptions evaluate_options;
  ScreenOptions screen_options;
  SimulateOptions simulate_options;
  run_options.threads = hardware_threads();
  evaluate_options.threads = hardware_threads();
  screen_options.threads = hardware_threads();
  bool quiet = false;
  const auto tell_version = [](CLI::App& command) {
    command.set_version_flag("--version", version_text,
                             "versions of the program and its libraries");
  };
  tell_version(app);
  app.add_flag("-q,--quiet", quiet, "no progress and no doubts on stderr");
  const CLI::App* check = add_check(app, check_options);
  const CLI::App* run = add_run(app, run_options);
  const CLI::App* evaluate = add_evaluate(app, evaluate_options);
  const CLI::App* screen = add_screen(app, screen_options);
  const CLI::App* simulate = add_simulate(app, simulate_options);
  for (CLI::App* command : app.get_subcommands([](CLI::App*) { return true; })) {
    command->fallthrough();
    tell_version(*command);
  }

  try {
    app.parse(std::vector<std::string>(arguments.rbegin(), arguments.rend()));
  } catch (const CLI::CallForHelp&) {
    const auto chosen = app.get_subcommands();
    return {Told{chosen.empty() ? app.help() : chosen.front()->help("evendrip")}, {}};
  } catch (const CLI::CallForVersion&) {
    return {Told{version_text()}, {}};
  } catch (const CLI::ParseError& error) {
    throw UsageError(error.what(), "See evendrip --help");
  }
  const auto loudness = quiet ? Console::Loudness::quiet : Console::Loudness::normal;
  if (*check) return {check_options, loudness};
  if (*run) return {run_options, loudness};
  if (*evaluate) return {evaluate_options, loudness};
  if (*screen) return {screen_options, loudness};
  if (*simulate) return {simulate_options, loudness};
  throw UsageError("no command was given",
                   "Say check, run, evaluate, screen or simulate; see evendrip --help");
}

}  // namespace evendrip
