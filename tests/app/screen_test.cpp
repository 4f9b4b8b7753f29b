// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/commands.hpp"
#include "evendrip/field/commissioning.hpp"

#include "small_story.hpp"

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <fstream>
#include <iterator>
#include <sstream>

namespace evendrip {
namespace {

namespace fs = std::filesystem;

/// A small made-up field without a record.
fs::path field_without_record(const std::string& name) {
  const fs::path folder = test::small_field(name);
  fs::remove(folder / commissioning_file);
  return folder;
}

CommandResult screen_quietly(const ScreenOptions& options) {
  Console console(Console::Loudness::quiet);
  return screen(options, {}, console);
}

std::string text_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::size_t files_in(const fs::path& folder) {
  const fs::recursive_directory_iterator all(folder);
  return static_cast<std::size_t>(std::distance(begin(all), end(all)));
}

TEST(Screen, WritesNothingUnlessARecordIsAskedFor) {
  ScreenOptions options;
  options.folder = field_without_record("screen_reads");
  const std::size_t before = files_in(options.folder);
  const CommandResult result = screen_quietly(options);
  EXPECT_EQ(result.exit_code, ExitCode::done);
  EXPECT_NE(result.output.find("Zones, most urgent first"), std::string::npos);
  EXPECT_EQ(files_in(options.folder), before);
}

TEST(Screen, AddsWhereTheCropSaysToLookFirst) {
  ScreenOptions options;
  options.folder = field_without_record("screen_crop");
  EXPECT_NE(screen_quietly(options).output.find("What the crop shows"), std::string::npos);
  options.form = OutputForm::json;
  const auto told = nlohmann::json::parse(screen_quietly(options).output);
  ASSERT_EQ(told["crops"].size(), 1U);
  EXPECT_FALSE(told["crops"][0]["look_first_told"].get<std::string>().empty());
  CropOptions listened;
  listened.folder = options.folder;
  listened.form = OutputForm::json;
  Console console(Console::Loudness::quiet);
  const auto heard = nlohmann::json::parse(crop(listened, {}, console).output);
  EXPECT_EQ(told["crops"][0]["look_first"], heard["layers"][0]["look_first"]);
}

TEST(Screen, KeepsTheRecordAndComparesWithItNextTime) {
  ScreenOptions options;
  options.folder = field_without_record("screen_commissions");
  options.form = OutputForm::json;
  options.commission = true;
  const auto first = nlohmann::json::parse(screen_quietly(options).output);
  EXPECT_EQ(first["commissioning_written"]["file"], commissioning_file);
  ASSERT_TRUE(fs::exists(options.folder / commissioning_file));
  options.commission = false;
  const auto second = nlohmann::json::parse(screen_quietly(options).output);
  EXPECT_EQ(second["commissioning_date"], second["survey"]["date"]);
  EXPECT_EQ(second["inputs"].back()["file"], commissioning_file);
  for (const auto& zone : second["zones"]) {
    for (const auto& change : zone["changes"]) {
      if (change["against"] != "commissioning record") continue;
      EXPECT_NEAR(change["change_frac"].get<double>(), 0, 1e-9) << change["name"];
    }
  }
}

TEST(Screen, NeverOverwritesARecord) {
  ScreenOptions options;
  options.folder = field_without_record("screen_refuses");
  options.commission = true;
  screen_quietly(options);
  const std::string before = text_of(options.folder / commissioning_file);
  try {
    screen_quietly(options);
    FAIL() << "the record was overwritten";
  } catch (const FileError& error) {
    EXPECT_EQ(error.exit_code(), ExitCode::file);
    EXPECT_EQ(error.problems().front().code, "commissioning_exists");
    EXPECT_NE(error.problems().front().remedy.find("Move it away"), std::string::npos);
  }
  EXPECT_EQ(text_of(options.folder / commissioning_file), before);
}

TEST(Screen, TellsWhenAFaultySystemWasRecordedAsGood) {
  ScreenOptions options;
  options.folder = field_without_record("screen_faulty_record");
  options.form = OutputForm::json;
  options.commission = true;
  const auto toml = text_of(options.folder / "field.toml");
  const auto at = toml.find("\nmeter = \"") + 10;
  const fs::path meter = options.folder / toml.substr(at, toml.find('"', at) - at);
  std::ofstream(meter) << "meter,zones,flow_m3_h,accuracy_pct\nM1,Z1,0.4,2\n";
  const auto told = nlohmann::json::parse(screen_quietly(options).output);
  int warned = 0;
  for (const auto& doubt : told["doubts"]) warned += doubt["code"] == "commissioned_with_fault";
  EXPECT_EQ(warned, 1);
}

TEST(Screen, RefusesASurveyWithoutGaugeOrMeter) {
  ScreenOptions options;
  options.folder = field_without_record("screen_no_readings");
  const std::string toml = text_of(options.folder / "field.toml");
  std::ofstream out(options.folder / "field.toml", std::ios::binary);
  std::istringstream lines(toml);
  for (std::string line; std::getline(lines, line);) {
    if (line.starts_with("pressures =") || line.starts_with("meter =")) continue;
    out << line << '\n';
  }
  out.close();
  try {
    screen_quietly(options);
    FAIL() << "there was nothing to screen";
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().front().code, "nothing_to_screen");
  }
}

TEST(Screen, RefusesARecordThatCannotBeRead) {
  ScreenOptions options;
  options.folder = field_without_record("screen_bad_record");
  std::ofstream(options.folder / commissioning_file)
      << "date,what,id,zones,pressure_kpa,flow_m3_h,accuracy\n2020-01-01,port,nowhere,,100,,\n";
  EXPECT_THROW(screen_quietly(options), InputError);
}

TEST(Screen, DoesNotDependOnTheNumberOfThreads) {
  ScreenOptions options;
  options.folder = field_without_record("screen_threads");
  options.form = OutputForm::json;
  options.threads = 1;
  const std::string one = screen_quietly(options).output;
  options.threads = 3;
  EXPECT_EQ(screen_quietly(options).output, one);
}

}  // namespace
}  // namespace evendrip
