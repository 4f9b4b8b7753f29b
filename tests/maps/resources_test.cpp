// SPDX-License-Identifier: Apache-2.0
#include <gtest/gtest.h>

#include "evendrip/maps/sheet.hpp"

namespace evendrip {
namespace {

TEST(MapResources, LieBesideTheBuildAsInAnInstallation) {
  const MapResources found = find_map_resources();
  EXPECT_TRUE(std::filesystem::is_regular_file(found.font));
  EXPECT_TRUE(std::filesystem::is_regular_file(found.font.parent_path() / "DejaVuSans-Bold.ttf"));
  EXPECT_TRUE(std::filesystem::is_regular_file(found.font.parent_path() / "LICENCE-DejaVu"));
  EXPECT_TRUE(std::filesystem::is_regular_file(found.styles / "discharge.sld"));
}

}  // namespace
}  // namespace evendrip
