// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/commands.hpp"

#include "own_folder.hpp"
#include "small_story.hpp"

#include <gtest/gtest.h>

#include <fstream>

namespace evendrip {
namespace {

CommandResult check_quietly(const std::filesystem::path& folder, OutputForm form) {
  Console console(Console::Loudness::quiet);
  return check({folder, form}, {}, console);
}

TEST(Check, PassesASoundField) {
  const CommandResult result = check_quietly(test::small_field("check_sound"), OutputForm::text);
  EXPECT_EQ(result.exit_code, ExitCode::done);
  EXPECT_NE(result.output.find("a run can start"), std::string::npos);
}

TEST(Check, ListsProblemsOfSeveralFilesAtOnce) {
  const auto folder = test::small_field("check_two_faults");
  std::filesystem::remove_all(folder / "crop");
  std::ofstream(folder / "survey" / "2026-spring" / "catch_cans.csv") << "record,volume_ml\n";
  const CommandResult result = check_quietly(folder, OutputForm::json);
  EXPECT_EQ(result.exit_code, ExitCode::input);
  EXPECT_NE(result.output.find("\"run_would_refuse\": true"), std::string::npos);
  EXPECT_NE(result.output.find("catch_cans.csv"), std::string::npos);
}

TEST(Check, SaysWhatIsMissingInAFolderWithoutADescription) {
  const auto folder = test::fresh_folder();
  EXPECT_THROW(check_quietly(folder, OutputForm::text), Error);
}

}  // namespace
}  // namespace evendrip
