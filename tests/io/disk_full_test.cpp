// SPDX-License-Identifier: Apache-2.0
// A full disk, acted by a limit on the size of files in a child process.
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <functional>
#include <stdexcept>

#include <gdal.h>
#include <gtest/gtest.h>

#include "evendrip/io/raster_file.hpp"
#include "evendrip/io/results.hpp"
#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;
using test::code_of;
using test::fresh_folder;

/// Runs the action in a child that may write files of at most `limit_bytes`; true if it fails with
/// FileError "not_written".
bool fails_when_disk_is_full(rlim_t limit_bytes, const std::function<void()>& action) {
  const pid_t child = ::fork();
  if (child == 0) {
    std::signal(SIGXFSZ, SIG_IGN);
    const rlimit limit{limit_bytes, limit_bytes};
    ::setrlimit(RLIMIT_FSIZE, &limit);
    int result = 1;
    try {
      result = code_of<FileError>(action) == "not_written" ? 0 : 1;
    } catch (...) {
      result = 2;
    }
    ::_exit(result);
  }
  int status = -1;
  ::waitpid(child, &status, 0);
  return WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

Raster hardly_compressible(const Grid& grid) {
  Raster raster(grid);
  for (std::size_t i = 0; i < raster.values.size(); ++i)
    raster.set(i, static_cast<double>((i * 2654435761U) % 16'777'213U));
  return raster;
}

std::size_t entries_in(const fs::path& folder) {
  return static_cast<std::size_t>(
      std::distance(fs::directory_iterator(folder), fs::directory_iterator()));
}

TEST(FullDisk, StopsTextFilesAndLeavesTheEarlierOne) {
  const fs::path folder = fresh_folder();
  write_text(folder / "a.txt", "earlier");
  EXPECT_TRUE(fails_when_disk_is_full(
      1000, [&] { write_text(folder / "a.txt", std::string(100'000, 'x')); }));
  EXPECT_EQ(test::bytes_of(folder / "a.txt"), "earlier");
  EXPECT_EQ(entries_in(folder), 1U);
}

TEST(FullDisk, StopsRastersWhileValuesAreWrittenAndLeavesNothing) {
  const fs::path folder = fresh_folder();
  const Grid grid{500000, 4300000, 2, 2000, 2000};
  EXPECT_TRUE(fails_when_disk_is_full(3'000'000, [&] {
    GeotiffWriter writer(folder / "map.tif", grid, parse_crs("EPSG:32614"), {{{"v", ""}}, {}, 256});
    // A small block cache, so that blocks reach the disk before the end.
    GDALSetCacheMax64(4'000'000);
    for (const Window& window : row_blocks(grid, 256)) {
      const Raster part = hardly_compressible(sub_grid(grid, window));
      writer.write(window, {&part, 1});
    }
  }));
  EXPECT_TRUE(fs::is_empty(folder));
}

TEST(FullDisk, StopsRastersWhileTheyAreFinishedAndLeavesNothing) {
  const fs::path folder = fresh_folder();
  const Grid grid{500000, 4300000, 2, 512, 512};
  // The values, which hardly compress, fit; their overviews do not.
  EXPECT_TRUE(fails_when_disk_is_full(1'020'000, [&] {
    GeotiffWriter writer(folder / "map.tif", grid, parse_crs("EPSG:32614"), {{{"v", ""}}, {}, 256});
    const Raster part = hardly_compressible(grid);
    try {
      writer.write({0, 0, 512, 512}, {&part, 1});
    } catch (const FileError&) {
      throw std::logic_error("the values did not fit");
    }
    writer.finish({});
  }));
  EXPECT_TRUE(fs::is_empty(folder));
}

TEST(FullDisk, StopsGeoPackagesAndLeavesNothing) {
  const fs::path folder = fresh_folder();
  ResultLayer layer;
  layer.name = "places";
  layer.shape = ResultLayer::Shape::point;
  layer.fields = {{"note", LayerField::Type::text, ""}};
  for (int i = 0; i < 5000; ++i)
    layer.rows.push_back({Point{500000.0 + i, 4300000}, {std::string(100, 'x')}});
  EXPECT_TRUE(fails_when_disk_is_full(
      200'000, [&] { write_geopackage(folder / "r.gpkg", parse_crs("EPSG:32614"), {layer}, {}); }));
  EXPECT_TRUE(fs::is_empty(folder));
}

}  // namespace
}  // namespace evendrip
