// SPDX-License-Identifier: Apache-2.0
#include "../../src/io/file_errors.hpp"

#include <gtest/gtest.h>

namespace evendrip {
namespace {

const std::string farm = EVENDRIP_TEST_OUTPUT;

TEST(Messages, NameAFileAsItWasWritten) {
  EXPECT_EQ(as_user_knows(farm + "/maps/crop.tif, band 1: read error", farm + "/maps/crop.tif",
                          "maps/crop.tif"),
            "maps/crop.tif, band 1: read error");
  EXPECT_EQ(
      as_user_knows("`" + farm + "/all.gpkg' is cut", farm + "/all.gpkg", "all.gpkg|laterals"),
      "`all.gpkg' is cut");
}

TEST(Messages, NameTheFilesBesideItAndOfItsFolderInTheSameWay) {
  const std::filesystem::path shapes = farm + "/maps/zones.shp";
  EXPECT_EQ(as_user_knows("no " + farm + "/maps/zones.dbf", shapes, "maps/zones.shp"),
            "no maps/zones.dbf");
  EXPECT_EQ(as_user_knows("no " + farm + "/other/zones.dbf", shapes, "maps/zones.shp"),
            "no other/zones.dbf");
  EXPECT_EQ(as_user_knows(farm + "/x.tif and " + farm + "/x.tif.ovr", farm + "/x.tif", "x.tif"),
            "x.tif and x.tif.ovr");
}

TEST(Messages, KeepWhatIsNotOfTheFolder) {
  const std::string elsewhere = "1/2 of " + farm + "/elsewhere/x.tif";
  EXPECT_EQ(as_user_knows(elsewhere, farm + "/field/x.tif", "x.tif"), elsewhere);
  EXPECT_EQ(as_user_knows("1/2 of x.tif", "x.tif", "x.tif"), "1/2 of x.tif");
  EXPECT_EQ(as_user_knows(farm + "/b", farm + "/target.tif", "maps/link.tif"), "maps/b");
}

TEST(NotWritten, TellsTheCauseWithoutTheFolder) {
  const std::string folder = farm + "/out/.new/";
  const FileError error =
      not_written(folder + "discharge.tif", folder + ".discharge.tif.values: no space left");
  ASSERT_EQ(error.problems().size(), 1U);
  EXPECT_EQ(error.problems()[0].place.file, "discharge.tif");
  EXPECT_EQ(error.problems()[0].text,
            "the file cannot be written: .discharge.tif.values: no space left");
}

TEST(XmlEscaped, LeavesNothingThatXmlWouldReadAsMarkup) {
  EXPECT_EQ(xml_escaped("a<b> & \"c\"\x01\n"), "a&lt;b&gt; &amp; &quot;c&quot;\n");
}

}  // namespace
}  // namespace evendrip
