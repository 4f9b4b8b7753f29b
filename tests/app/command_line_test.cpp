// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/command_line.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

TEST(CommandLine, ReadsEveryOptionOfRun) {
  const CommandLine line =
      parse_command_line({"run", "field", "--survey", "spring", "-o", "maps", "--json", "--threads",
                          "3", "--seed", "42", "--quiet"});
  const auto& options = std::get<RunOptions>(line.command);
  EXPECT_EQ(options.folder, "field");
  EXPECT_EQ(options.survey, "spring");
  EXPECT_EQ(options.output, "maps");
  EXPECT_EQ(options.form, OutputForm::json);
  EXPECT_EQ(options.threads, 3);
  EXPECT_EQ(options.seed, 42U);
  EXPECT_EQ(line.loudness, Console::Loudness::quiet);
}

TEST(CommandLine, LeavesTheOutputFolderToTheSurveyByDefault) {
  const CommandLine line = parse_command_line({"run", "field"});
  EXPECT_FALSE(std::get<RunOptions>(line.command).output.has_value());
  EXPECT_GE(std::get<RunOptions>(line.command).threads, 1);
}

TEST(CommandLine, ReadsCheckAndSimulate) {
  EXPECT_EQ(std::get<CheckOptions>(parse_command_line({"check", "f"}).command).folder, "f");
  const auto simulate = std::get<SimulateOptions>(
      parse_command_line({"simulate", "f", "--plan", "p.toml", "--seed", "9"}).command);
  EXPECT_EQ(simulate.plan, "p.toml");
  EXPECT_EQ(simulate.seed, 9U);
}

TEST(CommandLine, ReadsEveryOptionOfScreen) {
  const CommandLine line =
      parse_command_line({"screen", "field", "--survey", "spring", "--commission", "--json"});
  const auto& options = std::get<ScreenOptions>(line.command);
  EXPECT_EQ(options.folder, "field");
  EXPECT_EQ(options.survey, "spring");
  EXPECT_TRUE(options.commission);
  EXPECT_EQ(options.form, OutputForm::json);
  EXPECT_FALSE(std::get<ScreenOptions>(parse_command_line({"screen", "f"}).command).commission);
}

TEST(CommandLine, ReadsEveryOptionOfCrop) {
  const CommandLine line = parse_command_line({"crop", "field", "--survey", "spring", "-o", "maps",
                                               "--json", "--threads", "3", "--seed", "42"});
  const auto& options = std::get<CropOptions>(line.command);
  EXPECT_EQ(options.folder, "field");
  EXPECT_EQ(options.survey, "spring");
  EXPECT_EQ(options.output, "maps");
  EXPECT_EQ(options.form, OutputForm::json);
  EXPECT_EQ(options.threads, 3);
  EXPECT_EQ(options.seed, 42U);
  const auto plain = std::get<CropOptions>(parse_command_line({"crop", "field"}).command);
  EXPECT_FALSE(plain.output.has_value());
  EXPECT_GE(plain.threads, 1);
  EXPECT_THROW(parse_command_line({"crop"}), UsageError);
}

TEST(CommandLine, ReadsEveryOptionOfEvaluate) {
  const CommandLine line = parse_command_line(
      {"evaluate", "field", "--survey", "spring", "-o", "sheet.pdf", "--json", "--seed", "7"});
  const auto& options = std::get<EvaluateOptions>(line.command);
  EXPECT_EQ(options.folder, "field");
  EXPECT_EQ(options.survey, "spring");
  EXPECT_EQ(options.output, "sheet.pdf");
  EXPECT_EQ(options.form, OutputForm::json);
  EXPECT_EQ(options.evaluation.seed, 7U);
  EXPECT_FALSE(std::get<EvaluateOptions>(parse_command_line({"evaluate", "f"}).command).output);
}

TEST(CommandLine, ReadsHowLimitsAreDrawnAndWhatWouldBeEnough) {
  const CommandLine line =
      parse_command_line({"evaluate", "f", "--quarter", "down", "--confidence", "90", "--draws",
                          "20000", "--uniformity-within", "7.5", "--mean-within", "10"});
  const EvaluationOptions& options = std::get<EvaluateOptions>(line.command).evaluation;
  EXPECT_EQ(options.rule, QuarterRule::floor);
  EXPECT_DOUBLE_EQ(options.confidence, 0.9);
  EXPECT_EQ(options.draws, 20000);
  EXPECT_DOUBLE_EQ(options.half_width_frac, 0.075);
  EXPECT_DOUBLE_EQ(options.mean_half_width_frac, 0.1);
}

TEST(CommandLine, ReadsASelection) {
  const CommandLine line = parse_command_line(
      {"evaluate", "--zones", "Z1,Z2", "--laterals", "a..c,e", "--stations", "100m..500 ft", "f"});
  const auto& options = std::get<EvaluateOptions>(line.command);
  EXPECT_EQ(options.folder, "f");
  EXPECT_EQ(options.zones, (std::vector<std::string>{"Z1", "Z2"}));
  EXPECT_EQ(options.laterals, (std::vector<std::string>{"a..c", "e"}));
  ASSERT_TRUE(options.stations);
  EXPECT_EQ(options.stations->from_m, 100);
  EXPECT_NEAR(options.stations->to_m, 152.4, 1e-9);
}

TEST(CommandLine, RefusesLimitsAndSelectionsThatCannotBe) {
  using Arguments = std::vector<std::string>;
  for (const Arguments& wrong : {Arguments{"--quarter", "0"},
                                 {"--quarter", "half"},
                                 {"--confidence", "0.95"},
                                 {"--confidence", "nan"},
                                 {"--confidence", "100"},
                                 {"--draws", "999"},
                                 {"--draws", "2000.5"},
                                 {"--uniformity-within", "0"},
                                 {"--mean-within", "-5"},
                                 {"--zones", "Z1,"},
                                 {"--stations", "100..150"},
                                 {"--stations", "20m..10m"},
                                 {"--stations", "20m"},
                                 {"--stations", "1L..2L"}}) {
    Arguments arguments{"evaluate", "f"};
    arguments.insert(arguments.end(), wrong.begin(), wrong.end());
    EXPECT_THROW(parse_command_line(arguments), UsageError) << wrong[0] << " " << wrong[1];
  }
}

TEST(CommandLine, HelpOfEveryCommandShowsAnExample) {
  for (const std::vector<std::string>& arguments : {std::vector<std::string>{"--help"},
                                                    {"check", "--help"},
                                                    {"run", "--help"},
                                                    {"evaluate", "--help"},
                                                    {"screen", "--help"},
                                                    {"simulate", "--help"}}) {
    const CommandLine line = parse_command_line(arguments);
    EXPECT_NE(std::get<Told>(line.command).text.find("Example: evendrip "), std::string::npos);
  }
}

TEST(CommandLine, HelpOfACommandShowsHowTheWholeLineIsWritten) {
  const CommandLine line = parse_command_line({"run", "--help"});
  EXPECT_NE(std::get<Told>(line.command).text.find("Usage: evendrip run "), std::string::npos);
}

TEST(CommandLine, VersionNamesTheLibraries) {
  const CommandLine line = parse_command_line({"--version"});
  const std::string text = std::get<Told>(line.command).text;
  EXPECT_NE(text.find("evendrip " + program_version()), std::string::npos);
  EXPECT_NE(text.find("GDAL"), std::string::npos);
}

TEST(CommandLine, RefusesWhatItDoesNotKnow) {
  EXPECT_THROW(parse_command_line({}), UsageError);
  EXPECT_THROW(parse_command_line({"run"}), UsageError);
  EXPECT_THROW(parse_command_line({"dance"}), UsageError);
  EXPECT_THROW(parse_command_line({"screen"}), UsageError);
  EXPECT_THROW(parse_command_line({"evaluate"}), UsageError);
  EXPECT_THROW(parse_command_line({"run", "f", "--threads", "0"}), UsageError);
  EXPECT_THROW(parse_command_line({"run", "f", "--threads", "two"}), UsageError);
  EXPECT_THROW(parse_command_line({"run", "f", "--colour"}), UsageError);
}

}  // namespace
}  // namespace evendrip
