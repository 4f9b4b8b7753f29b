// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/commands.hpp"

#include "own_folder.hpp"
#include "small_story.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include <fstream>
#include <iterator>

namespace evendrip {
namespace {

namespace fs = std::filesystem;

using nlohmann::json;

CommandResult crop_quietly(const CropOptions& options, std::stop_token stop = {}) {
  Console console(Console::Loudness::quiet);
  return crop(options, std::move(stop), console);
}

CropOptions options_for(const std::string& name) {
  CropOptions options;
  options.folder = test::small_field(name + "_field");
  options.output = test::fresh_folder() / name;
  return options;
}

std::string text_of(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

TEST(Crop, WritesMapsTablesSheetsAndTellsWhereToLook) {
  CropOptions options = options_for("crop_writes");
  const CommandResult text = crop_quietly(options);
  EXPECT_EQ(text.exit_code, ExitCode::done);
  EXPECT_THAT(text.output, testing::HasSubstr("Small Field, what the crop says"));
  options.form = OutputForm::json;
  const CommandResult told = crop_quietly(options);
  EXPECT_EQ(told.output, text_of(*options.output / "evendrip-results.json"));
  const json results = json::parse(told.output);
  ASSERT_FALSE(results["layers"].empty());
  for (const json& layer : results["layers"]) {
    const std::string id = layer["id"];
    for (const std::string& file :
         {"crop_" + id + ".tif", "crop_" + id + ".sld", "water_part_" + id + ".tif",
          "sheets/crop_" + id + ".png", "sheets/look_first_" + id + ".pdf"}) {
      EXPECT_TRUE(fs::exists(*options.output / file)) << file;
    }
    EXPECT_FALSE(layer["profiles"].empty());
    EXPECT_FALSE(layer["association"].is_null());
  }
}

TEST(Crop, RefusesAFieldWithoutALayer) {
  CropOptions options = options_for("crop_refuses");
  std::string toml = text_of(options.folder / "field.toml");
  std::string kept;
  bool in_crop = false;
  std::istringstream lines(toml);
  for (std::string line; std::getline(lines, line);) {
    if (!line.empty() && line.front() == '[') in_crop = line == "[[crop]]";
    if (!in_crop) kept += line + "\n";
  }
  ASSERT_NE(kept.size(), toml.size());
  std::ofstream(options.folder / "field.toml") << kept;
  try {
    crop_quietly(options);
    FAIL() << "nothing was refused";
  } catch (const InputError& error) {
    EXPECT_EQ(error.problems().front().code, "nothing_to_listen_to");
  }
  EXPECT_FALSE(fs::exists(*options.output));
}

TEST(Crop, LeavesNothingWhenItIsStopped) {
  const CropOptions options = options_for("crop_stopped");
  std::stop_source stop;
  stop.request_stop();
  EXPECT_THROW(crop_quietly(options, stop.get_token()), Interrupted);
  EXPECT_FALSE(fs::exists(*options.output));
}

}  // namespace
}  // namespace evendrip
