// SPDX-License-Identifier: Apache-2.0
#include "evendrip/io/paths.hpp"

#include <sys/stat.h>

#include <algorithm>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::code_of;
using test::fresh_folder;
using test::problems_of;
using test::put;
using ::testing::HasSubstr;

TEST(FileNames, ResolveInsideTheFolderAndTakeALayerAfterABar) {
  const fs::path folder = fresh_folder();
  put(folder / "sub" / "all.gpkg", "x");
  const FileRef ref = resolve(folder, "sub/all.gpkg|laterals", "[layers] laterals");
  EXPECT_EQ(ref.path, fs::canonical(folder) / "sub" / "all.gpkg");
  EXPECT_EQ(ref.layer, "laterals");
  EXPECT_EQ(ref.as_written, "sub/all.gpkg|laterals");
}

TEST(FileNames, ThatLeaveTheFolderAreRefused) {
  const fs::path top = fresh_folder();
  const fs::path folder = top / "field";
  put(folder / "inside.csv", "x");
  put(top / "secret.csv", "x");
  put(top / "field2" / "other.csv", "x");
  fs::create_symlink(top / "secret.csv", folder / "link.csv");
  fs::create_directory_symlink(top, folder / "up");
  fs::create_directory_symlink(top / "field2", folder / "beside");
  for (const std::string name : {"../secret.csv", "sub/../../secret.csv", "sub/../inside.csv",
                                 "link.csv", "up/secret.csv", "beside/other.csv", "..", ""})
    EXPECT_EQ(code_of([&] { resolve(folder, name, "[layers] zones"); }), "path_leaves_folder")
        << name;
  EXPECT_EQ(code_of([&] { resolve(folder, (folder / "inside.csv").string(), "it"); }),
            "path_leaves_folder");
  EXPECT_EQ(code_of([&] { resolve(folder, "/vsicurl/http://localhost/a.tif", "it"); }),
            "path_leaves_folder");
  EXPECT_EQ(code_of([&] { resolve(folder, std::string("inside.csv\0x", 12), "it"); }),
            "path_leaves_folder");
}

TEST(FileNames, MayPassThroughALinkThatStaysInside) {
  const fs::path folder = fresh_folder();
  put(folder / "data" / "zones.csv", "x");
  fs::create_directory_symlink(folder / "data", folder / "current");
  EXPECT_EQ(resolve(folder, "current/zones.csv", "it").path,
            fs::canonical(folder) / "data" / "zones.csv");
}

TEST(FileNames, OfMissingFilesSayWhatNeedsThemAndWhatIsThere) {
  const fs::path folder = fresh_folder();
  put(folder / "Zones.geojson", "x");
  const Doubts problems = problems_of([&] { resolve(folder, "zones.geojson", "[layers] zones"); });
  ASSERT_EQ(problems.size(), 1U);
  EXPECT_EQ(problems[0].code, "missing_file");
  EXPECT_THAT(problems[0].text, HasSubstr("[layers] zones"));
  EXPECT_THAT(problems[0].remedy, HasSubstr("Zones.geojson"));
  EXPECT_EQ(code_of([&] { resolve(folder, "nowhere/at/all.csv", "it"); }), "missing_file");
}

TEST(FileNames, OfFoldersAndPipesAreRefused) {
  const fs::path folder = fresh_folder();
  fs::create_directory(folder / "sub");
  ASSERT_EQ(::mkfifo((folder / "pipe.csv").c_str(), 0600), 0);
  EXPECT_EQ(code_of([&] { resolve(folder, "sub", "it"); }), "not_a_file");
  EXPECT_EQ(code_of([&] { resolve(folder, "pipe.csv", "it"); }), "not_a_file");
}

TEST(Drivers, ThatReadOtherFilesOrTheNetworkAreNotAllowed) {
  for (const char* name : {"VRT", "OGR_VRT", "WMS", "WFS", "HTTP", "PostgreSQL", "SQLite", "MEM"}) {
    for (const auto* drivers : {&allowed_raster_drivers(), &allowed_vector_drivers()})
      EXPECT_EQ(std::count(drivers->begin(), drivers->end(), name), 0) << name;
  }
}

// FIPS 180-4 test values, NIST "SHA256.pdf" example computations: "abc" and the empty message;
// a million letters a (FIPS 180-2 appendix B.3), from memory.
TEST(Sha256, AgreesWithThePublishedExamples) {
  const fs::path folder = fresh_folder();
  EXPECT_EQ(sha256_of(put(folder / "abc", "abc")),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(sha256_of(put(folder / "empty", "")),
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  EXPECT_EQ(sha256_of(put(folder / "million", std::string(1'000'000, 'a'))),
            "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST(Sha256, ThrowsFileErrorForAFileThatCannotBeRead) {
  const fs::path folder = fresh_folder();
  EXPECT_EQ(code_of<FileError>([&] { sha256_of(folder / "none"); }), "not_readable");
  EXPECT_EQ(code_of<FileError>([&] { sha256_of(folder); }), "not_readable");
}

TEST(FileNames, MayBeAFolderOnlyWhereOneIsAsked) {
  const fs::path folder = fresh_folder();
  put(folder / "log" / "TASKDATA.XML", "x");
  EXPECT_EQ(code_of([&] { resolve(folder, "log", "[[crop]] file"); }), "not_a_file");
  EXPECT_EQ(resolve(folder, "log", "[[crop]] file", Named::file_or_folder).path,
            fs::canonical(folder) / "log");
  EXPECT_EQ(code_of([&] { resolve(folder, "../log", "it", Named::file_or_folder); }),
            "path_leaves_folder");
}

}  // namespace
}  // namespace evendrip
