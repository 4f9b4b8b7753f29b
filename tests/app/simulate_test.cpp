// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/commands.hpp"

#include "own_folder.hpp"

#include <gtest/gtest.h>

#include <fstream>

namespace evendrip {
namespace {

namespace fs = std::filesystem;

TEST(Simulate, MakesAFieldFromAPlanAndRefusesToOverwriteIt) {
  const fs::path base = test::fresh_folder();
  std::ofstream(base / "plan.toml") << "name = \"Tiny\"\nlaterals_per_zone = 8\n"
                                       "lateral_length = \"40 m\"\nlaterals_dug = 4\n";
  const SimulateOptions options{base / "field", base / "plan.toml", 3};
  EXPECT_EQ(simulate(options).exit_code, ExitCode::done);
  EXPECT_TRUE(fs::exists(base / "field" / "field.toml"));
  EXPECT_THROW(simulate(options), FileError);
}

}  // namespace
}  // namespace evendrip
