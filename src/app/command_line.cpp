// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/command_line.hpp"

#include "evendrip/crs/crs.hpp"
#include "evendrip/units/quantity.hpp"

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

CLI::Validator whole_within(int least, int most) {
  const auto problem = [least, most](const std::string& text) {
    int value = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), value);
    const bool whole = failure == std::errc() && end == text.data() + text.size();
    if (whole && value >= least && value <= most) return std::string();
    return fmt::format("needs a whole number from {} to {}, not {}", least, most, text);
  };
  return {problem, ""};
}

CLI::Validator within(double least, double most) {
  const auto problem = [least, most](const std::string& text) {
    double value = 0;
    const auto [end, failure] = std::from_chars(text.data(), text.data() + text.size(), value);
    const bool number = failure == std::errc() && end == text.data() + text.size();
    if (number && value >= least && value <= most) return std::string();
    return fmt::format("needs a number from {} to {}, not {}", least, most, text);
  };
  return {problem, ""};
}

QuarterRule quarter_rule(const std::string& text) {
  if (text == "part") return QuarterRule::fractional;
  if (text == "down") return QuarterRule::floor;
  if (text == "up") return QuarterRule::ceiling;
  throw CLI::ValidationError("--quarter", "needs part, down or up, not " + text);
}

/// "one,two": ids, none of them empty.
std::vector<std::string> split_ids(const std::string& option, const std::string& text) {
  std::vector<std::string> ids;
  std::size_t from = 0;
  for (;;) {
    const std::size_t comma = text.find(',', from);
    const std::string id = text.substr(from, comma == std::string::npos ? comma : comma - from);
    if (id.empty())
      throw CLI::ValidationError(option, "needs ids with commas between, not " + text);
    ids.push_back(id);
    if (comma == std::string::npos) return ids;
    from = comma + 1;
  }
}

/// "100m..150m"
StationRange station_range(const std::string& text) {
  const std::size_t dots = text.find("..");
  try {
    if (dots != std::string::npos) {
      const StationRange range{parse_quantity(text.substr(0, dots), Dimension::length),
                               parse_quantity(text.substr(dots + 2), Dimension::length)};
      if (range.from_m >= 0 && range.to_m > range.from_m) return range;
    }
  } catch (const InputError&) {  // told below like every other text that is no range
  }
  throw CLI::ValidationError(
      "--stations", "needs two lengths that grow, like 100m..150m or 330ft..490ft, not " + text);
}

void add_field(CLI::App& command, std::filesystem::path& folder) {
  command.add_option("FIELD", folder, "folder with field.toml")->required();
}

void add_survey(CLI::App& command, std::string& survey) {
  command.add_option("--survey", survey,
                     "id of the survey; default the latest. Example: --survey 2026-spring");
}

void add_json(CLI::App& command, OutputForm& form) {
  command.add_flag_callback(
      "--json", [&form] { form = OutputForm::json; },
      "machine-readable result on stdout. Example: --json");
}

void add_threads(CLI::App& command, int& threads) {
  command.add_option("--threads", threads, "threads; default all")->check(whole_within(1, 1024));
}

void add_seed(CLI::App& command, std::uint64_t& seed) {
  command.add_option("--seed", seed, "seed of random draws; default 1. Example: --seed 7")
      ->check(CLI::NonNegativeNumber);
}

CLI::App* add_check(CLI::App& app, CheckOptions& options) {
  CLI::App* check = app.add_subcommand(
      "check", "Read everything in a field folder and tell every problem and doubt");
  add_field(*check, options.folder);
  add_json(*check, options.form);
  check->footer(
      "Example: evendrip check sample_fields/heron_flat\n"
      "Exit status 3 when a run would refuse.");
  return check;
}

CLI::App* add_run(CLI::App& app, RunOptions& options) {
  CLI::App* run = app.add_subcommand(
      "run", "Evaluate a survey: uniformity, discharge maps over the crop, low places, visits");
  add_field(*run, options.folder);
  add_survey(*run, options.survey);
  run->add_option("-o,--output", options.output,
                  "folder for the results; default FIELD/results/<survey>");
  add_json(*run, options.form);
  add_threads(*run, options.threads);
  add_seed(*run, options.seed);
  run->footer("Example: evendrip run sample_fields/heron_flat --survey 2026-spring -o maps");
  return run;
}

/// How limits are drawn and what sample would be enough.
void add_limit_options(CLI::App& evaluate, EvaluationOptions& options) {
  evaluate
      .add_option_function<std::string>(
          "--quarter", [&options](const std::string& text) { options.rule = quarter_rule(text); },
          "readings in the low quarter where their number is not divisible by four: part (the last "
          "one counts in part), down, up; default part. Example: --quarter down")
      ->type_name("RULE");
  const auto percent = [&evaluate](const char* name, double& frac, double least, double most,
                                   const char* help) {
    evaluate
        .add_option_function<double>(
            name, [&frac](const double& value) { frac = value / 100; }, help)
        ->type_name("NUMBER")
        ->check(within(least, most));
  };
  percent("--confidence", options.confidence, 50, 99.9,
          "of all limits, %, from 50 to 99.9; default 95. Example: --confidence 90");
  percent("--uniformity-within", options.half_width_frac, 0.1, 50,
          "half-width wanted on low-quarter uniformity, points, for \"was it enough?\"; default 5. "
          "Example: --uniformity-within 8");
  percent("--mean-within", options.mean_half_width_frac, 0.1, 100,
          "half-width wanted on the mean, % of it; default 5. Example: --mean-within 10");
  evaluate
      .add_option("--draws", options.draws,
                  "draws of the bootstrap, from 1000 to 1000000; default 4000. "
                  "Example: --draws 20000")
      ->type_name("N")
      ->check(whole_within(1000, 1'000'000));
  add_seed(evaluate, options.seed);
}

/// A part of the field to be told beside its zones.
void add_selection_options(CLI::App& evaluate, EvaluateOptions& options) {
  evaluate
      .add_option_function<std::string>(
          "--zones",
          [&options](const std::string& text) { options.zones = split_ids("--zones", text); },
          "tell these zones together, beside each zone and the field. Example: --zones Z1,Z2")
      ->type_name("IDS");
  evaluate
      .add_option_function<std::string>(
          "--laterals",
          [&options](const std::string& text) { options.laterals = split_ids("--laterals", text); },
          "the same of these laterals; FIRST..LAST is all from one to another. "
          "Example: --laterals Z1-20..Z1-26,Z2-09")
      ->type_name("IDS");
  evaluate
      .add_option_function<std::string>(
          "--stations",
          [&options](const std::string& text) { options.stations = station_range(text); },
          "the same of this stretch of the laterals, from the supply end; with --zones and "
          "--laterals what all of them hold. Example: --stations 100m..150m")
      ->type_name("FROM..TO");
}

CLI::App* add_evaluate(CLI::App& app, EvaluateOptions& options) {
  CLI::App* evaluate = app.add_subcommand(
      "evaluate",
      "Tell how even the emitters are, how sure that is, and why; draw the sheet to be signed");
  add_field(*evaluate, options.folder);
  add_survey(*evaluate, options.survey);
  evaluate->add_option("-o,--output", options.output,
                       "file for the evaluation sheet (PDF) that is signed; default none. "
                       "Example: -o evaluation.pdf");
  add_json(*evaluate, options.form);
  add_limit_options(*evaluate, options.evaluation);
  add_selection_options(*evaluate, options);
  evaluate->footer(
      "Example: evendrip evaluate sample_fields/heron_flat -o evaluation.pdf\n"
      "         evendrip evaluate sample_fields/heron_flat --stations 100m..150m --confidence 90\n"
      "Two usable emitters suffice for figures, one lateral does not for limits.");
  return evaluate;
}

CLI::App* add_screen(CLI::App& app, ScreenOptions& options) {
  CLI::App* screen = app.add_subcommand(
      "screen", "Learn from gauges and meter alone, without digging: what each zone suffers from");
  add_field(*screen, options.folder);
  add_survey(*screen, options.survey);
  screen->add_flag("--commission", options.commission,
                   "keep today's readings in FIELD/commissioning.csv, as the record of a good "
                   "system");
  add_json(*screen, options.form);
  screen->footer(
      "Example: evendrip screen sample_fields/heron_flat\n"
      "One meter or port reading suffices; catch cans are not needed.");
  return screen;
}

CLI::App* add_crop(CLI::App& app, CropOptions& options) {
  CLI::App* crop = app.add_subcommand(
      "crop", "Learn from yield logs and biomass, without digging: where to look first, and why");
  add_field(*crop, options.folder);
  crop->add_option("--survey", options.survey,
                   "id of the survey whose dug emitters the crop is set beside; default the latest "
                   "with catches. Example: --survey 2026-spring");
  crop->add_option("-o,--output", options.output,
                   "folder for the results; default FIELD/results/crop. Example: -o crop_maps");
  add_json(*crop, options.form);
  add_threads(*crop, options.threads);
  add_seed(*crop, options.seed);
  crop->footer(
      "Example: evendrip crop sample_fields/heron_flat -o crop_maps\n"
      "One [[crop]] in field.toml suffices; no survey is needed. The crop alone never says that an "
      "emitter is clogged: it says where to look.");
  return crop;
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
  CropOptions crop_options;
  SimulateOptions simulate_options;
  run_options.threads = hardware_threads();
  evaluate_options.threads = hardware_threads();
  screen_options.threads = hardware_threads();
  crop_options.threads = hardware_threads();
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
  const CLI::App* crop = add_crop(app, crop_options);
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
  if (*crop) return {crop_options, loudness};
  if (*simulate) return {simulate_options, loudness};
  throw UsageError("no command was given",
                   "Say check, run, evaluate, screen, crop or simulate; see evendrip --help");
}

}  // namespace evendrip
