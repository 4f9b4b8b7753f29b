// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>
#include <sys/stat.h>
#include <nlohmann/json.hpp>

#include <fstream>
#include <iterator>

#include "evendrip/app/commands.hpp"
#include "own_folder.hpp"
#include "small_story.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;

CommandResult evaluate_quietly(const EvaluateOptions& options) {
  Console console(Console::Loudness::quiet);
  return evaluate(options, {}, console);
}

std::size_t files_in(const fs::path& folder) {
  const fs::recursive_directory_iterator all(folder);
  return static_cast<std::size_t>(std::distance(begin(all), end(all)));
}

TEST(Evaluate, WritesNothingUnlessASheetIsAskedFor) {
  EvaluateOptions options;
  options.folder = test::small_field("evaluate_reads");
  const std::size_t before = files_in(options.folder);
  const CommandResult result = evaluate_quietly(options);
  EXPECT_EQ(result.exit_code, ExitCode::done);
  EXPECT_NE(result.output.find("Low-quarter distribution uniformity"), std::string::npos);
  EXPECT_EQ(files_in(options.folder), before);
}

TEST(Evaluate, WritesTheSheetAloneWhereItIsAskedFor) {
  EvaluateOptions options;
  options.folder = test::small_field("evaluate_draws");
  const fs::path folder = test::fresh_folder();
  options.output = folder / "sheet.pdf";
  options.form = OutputForm::json;
  const auto json = nlohmann::json::parse(evaluate_quietly(options).output);
  EXPECT_EQ(json["schema"], "evendrip-evaluation/1");
  EXPECT_EQ(files_in(folder), 1U);
  std::ifstream in(folder / "sheet.pdf", std::ios::binary);
  const std::string bytes(std::istreambuf_iterator<char>(in), {});
  EXPECT_EQ(bytes.substr(0, 5), "%PDF-");
}

TEST(Evaluate, DoesNotDependOnTheNumberOfThreads) {
  EvaluateOptions options;
  options.folder = test::small_field("evaluate_threads");
  options.form = OutputForm::json;
  const std::string one = evaluate_quietly(options).output;
  options.threads = 3;
  EXPECT_EQ(evaluate_quietly(options).output, one);
}

TEST(Evaluate, RefusesASheetThatCannotBeWritten) {
  EvaluateOptions options;
  options.folder = test::small_field("evaluate_unwritable");
  options.output = options.folder / "no_such_folder" / "sheet.pdf";
  EXPECT_THROW(evaluate_quietly(options), FileError);
  options.output = options.folder;  // a folder stands there
  EXPECT_THROW(evaluate_quietly(options), FileError);
  const fs::path pipe = test::fresh_folder() / "pipe";
  ASSERT_EQ(mkfifo(pipe.c_str(), 0600), 0);
  options.output = pipe;  // what is no file is not replaced by one
  EXPECT_THROW(evaluate_quietly(options), FileError);
  EXPECT_TRUE(fs::is_fifo(pipe));
}

TEST(Evaluate, RefusesASurveyWithoutCatches) {
  EvaluateOptions options;
  options.folder = test::small_field("evaluate_without_catches");
  std::ifstream in(options.folder / "field.toml");
  std::string kept;
  for (std::string line; std::getline(in, line);) {
    if (line.rfind("catch_cans", 0) != 0) kept += line + "\n";
  }
  in.close();
  std::ofstream(options.folder / "field.toml") << kept;
  try {
    evaluate_quietly(options);
    FAIL() << "a survey without catches was evaluated";
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().front().code, "nothing_to_evaluate");
  }
}

}  // namespace
}  // namespace evendrip
