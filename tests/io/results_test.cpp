// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/results.hpp"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "evendrip/io/vector.hpp"
#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::bytes_of;
using test::code_of;
using test::fresh_folder;
using test::put;
using ::testing::HasSubstr;
using ::testing::Not;

std::vector<Waypoint> two_places() {
  return {{{-97.1234567, 38.7654321}, "W01", "dig <here> & look", "dig"},
          {{-97.2, 38.5},
           "W02",
           "se\xC3\xB1"
           "al",
           "gauge"}};
}

TEST(Gpx, ReadsBackWhatWasWritten) {
  const fs::path file = fresh_folder() / "visits.gpx";
  write_gpx(file, two_places(), "walk");
  const std::vector<Waypoint> read = read_gpx(file, "visits.gpx");
  ASSERT_EQ(read.size(), 2U);
  for (std::size_t i = 0; i < 2; ++i) {
    EXPECT_NEAR(read[i].lonlat.x, two_places()[i].lonlat.x, 1e-9);
    EXPECT_NEAR(read[i].lonlat.y, two_places()[i].lonlat.y, 1e-9);
    EXPECT_EQ(read[i].name, two_places()[i].name);
    EXPECT_EQ(read[i].description, two_places()[i].description);
    EXPECT_EQ(read[i].kind, two_places()[i].kind);
  }
}

// Order of elements: GPX 1.1 schema, https://www.topografix.com/GPX/1/1/gpx.xsd (gpxType: wpt
// before rte; wptType: name, desc, type), from memory.
TEST(Gpx, KeepsTheOrderOfElementsOfTheSchema) {
  const fs::path file = fresh_folder() / "visits.gpx";
  write_gpx(file, two_places(), "walk");
  const std::string text = bytes_of(file);
  EXPECT_THAT(text, HasSubstr("<gpx version=\"1.1\""));
  EXPECT_LT(text.rfind("</wpt>"), text.find("<rte>"));
  EXPECT_LT(text.find("<name>"), text.find("<desc>"));
  EXPECT_LT(text.find("<desc>"), text.find("<type>"));
  EXPECT_THAT(text, HasSubstr("dig &lt;here&gt; &amp; look"));
  write_gpx(file, two_places(), std::nullopt);
  EXPECT_THAT(bytes_of(file), Not(HasSubstr("<rte>")));
}

TEST(Gpx, WithoutWaypointsOrOffTheEarthIsRefused) {
  const fs::path folder = fresh_folder();
  write_gpx(folder / "none.gpx", {}, std::nullopt);
  EXPECT_EQ(code_of([&] { read_gpx(folder / "none.gpx", "none.gpx"); }), "no_features");
  put(folder / "text.gpx", "no xml");
  EXPECT_EQ(code_of([&] { read_gpx(folder / "text.gpx", "text.gpx"); }), "unreadable_file");
  write_gpx(folder / "far.gpx", {{{500, 95}, "W01", "", ""}}, std::nullopt);
  EXPECT_NE(code_of([&] { read_gpx(folder / "far.gpx", "far.gpx"); }), "");
}

TEST(TextFile, IsWrittenWholeOrNotAtAll) {
  const fs::path folder = fresh_folder();
  write_text(folder / "a.txt", "one");
  write_text(folder / "a.txt", "two");
  EXPECT_EQ(bytes_of(folder / "a.txt"), "two");
  EXPECT_EQ(code_of<FileError>([&] { write_text(folder / "none" / "a.txt", "x"); }), "not_written");
  fs::create_directory(folder / "taken");
  EXPECT_EQ(code_of<FileError>([&] { write_text(folder / "taken", "x"); }), "not_written");
  EXPECT_EQ(std::distance(fs::directory_iterator(folder), fs::directory_iterator()), 2);
}

}  // namespace
}  // namespace evendrip
