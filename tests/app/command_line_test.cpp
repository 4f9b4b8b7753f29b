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

TEST(CommandLine, ReadsEveryOptionOfEvaluate) {
  const CommandLine line = parse_command_line(
      {"evaluate", "field", "--survey", "spring", "-o", "sheet.pdf", "--json", "--seed", "7"});
  const auto& options = std::get<EvaluateOptions>(line.command);
  EXPECT_EQ(options.folder, "field");
  EXPECT_EQ(options.survey, "spring");
  EXPECT_EQ(options.output, "sheet.pdf");
  EXPECT_EQ(options.form, OutputForm::json);
  EXPECT_EQ(options.seed, 7U);
  EXPECT_FALSE(std::get<EvaluateOptions>(parse_command_line({"evaluate", "f"}).command).output);
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
