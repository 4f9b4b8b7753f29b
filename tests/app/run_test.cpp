// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/commands.hpp"

#include "own_folder.hpp"
#include "small_story.hpp"

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <map>

namespace evendrip {
namespace {

namespace fs = std::filesystem;

std::map<std::string, std::string> contents(const fs::path& folder) {
  std::map<std::string, std::string> files;
  for (const auto& entry : fs::recursive_directory_iterator(folder)) {
    if (!entry.is_regular_file()) continue;
    std::ifstream in(entry.path(), std::ios::binary);
    files[fs::relative(entry.path(), folder).string()] =
        std::string(std::istreambuf_iterator<char>(in), {});
  }
  return files;
}

CommandResult run_quietly(const RunOptions& options) {
  Console console(Console::Loudness::quiet);
  return run(options, {}, console);
}

TEST(Run, WritesEveryResultUnderTheSurveysFolder) {
  RunOptions options;
  options.folder = test::small_field("run_results");
  const CommandResult result = run_quietly(options);
  EXPECT_EQ(result.exit_code, ExitCode::done);
  const fs::path results = options.folder / "results" / "2026-spring";
  for (const char* name :
       {"evendrip-results.json", "discharge.tif", "relative_discharge.tif",
        "relative_discharge_error.tif", "pressure.tif", "pressure.sld", "ports.sld",
        "sheets/pressure.pdf", "results.gpkg", "visits.gpx", "discharge.sld",
        "sheets/discharge.png", "sheets/findings.pdf", "frames/relative_discharge.pgw"}) {
    EXPECT_TRUE(fs::exists(results / name)) << name;
  }
}

TEST(Run, GoesOnWithoutHydraulicsWhereThereAreNoManifoldsAndSaysWhatItNeeds) {
  RunOptions options;
  options.folder = test::small_field_without_manifolds("run_median");
  options.output = test::fresh_folder() / "results";
  const CommandResult result = run_quietly(options);
  EXPECT_EQ(result.exit_code, ExitCode::done);
  EXPECT_FALSE(fs::exists(*options.output / "pressure.tif"));
  EXPECT_NE(result.output.find("hydraulics of zone Z1: needs"), std::string::npos) << result.output;
  EXPECT_NE(result.output.find("over the median of the zone"), std::string::npos);
}

TEST(Run, GivesTheSameBytesForAnyNumberOfThreads) {
  RunOptions options;
  options.folder = test::small_field("run_threads");
  options.output = test::own_folder() / "of_one";
  run_quietly(options);
  const auto one = contents(*options.output);
  options.threads = 3;
  options.output = test::own_folder() / "of_three";
  run_quietly(options);
  const auto three = contents(*options.output);
  ASSERT_EQ(one.size(), three.size());
  for (const auto& [name, bytes] : one) EXPECT_EQ(bytes, three.at(name)) << name;
}

TEST(Run, KeepsTheEarlierResultWhenANewRunFails) {
  RunOptions options;
  options.folder = test::small_field("run_fails");
  options.output = test::fresh_folder() / "results";
  run_quietly(options);
  const auto before = contents(*options.output);
  fs::remove_all(options.folder / "crop");
  EXPECT_THROW(run_quietly(options), InputError);
  EXPECT_EQ(contents(*options.output), before);
}

TEST(Run, StopsWhenAskedAndLeavesNothing) {
  RunOptions options;
  options.folder = test::small_field("run_stopped");
  options.output = test::fresh_folder() / "results";
  std::stop_source source;
  source.request_stop();
  Console console(Console::Loudness::quiet);
  EXPECT_THROW(run(options, source.get_token(), console), Interrupted);
  EXPECT_FALSE(fs::exists(*options.output));
}

}  // namespace
}  // namespace evendrip
