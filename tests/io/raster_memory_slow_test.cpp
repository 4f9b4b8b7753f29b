// SPDX-License-Identifier: Apache-2.0
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include <gtest/gtest.h>

#include "evendrip/io/raster_file.hpp"
#include "test_files.hpp"

namespace evendrip {
namespace {

namespace fs = std::filesystem;

/// Peak memory of a child that writes a raster of `side` x `side` cells and reads it back by row
/// blocks; negative if it fails.
double peak_mb(const fs::path& file, int side) {
  const pid_t child = ::fork();
  if (child == 0) {
    const Grid grid{500000, 4300000, 0.1, side, side};
    const GeotiffOptions options{{{"discharge", "L/h"}}, {}, 256};
    double sum = 0;
    {
      GeotiffWriter writer(file, grid, parse_crs("EPSG:32614"), options);
      for (const Window& window : row_blocks(grid, options.row_block)) {
        Raster part(sub_grid(grid, window));
        for (std::size_t i = 0; i < part.values.size(); ++i)
          part.set(i, static_cast<double>((i / 64) % 251) + window.row);
        writer.write(window, {&part, 1});
      }
      Work work;
      work.threads = 2;
      writer.finish(work);
    }
    const auto reader = open_geotiff(file);
    for (const Window& window : row_blocks(grid, options.row_block))
      sum += reader->read(window).values.front();
    ::_exit(sum > 0 ? 0 : 1);
  }
  int status = -1;
  rusage usage{};
  ::wait4(child, &status, 0, &usage);
  const bool good = WIFEXITED(status) && WEXITSTATUS(status) == 0;
  return good ? static_cast<double>(usage.ru_maxrss) / 1024 : -1;
}

TEST(GeotiffWriter, NeedsLessThanAGigabyteForFourHundredMillionCells) {
  const fs::path file = test::fresh_folder() / "large.tif";
  const double peak = peak_mb(file, 20'000);
  RecordProperty("peak_mb", static_cast<int>(peak));
  EXPECT_GT(peak, 0);
  EXPECT_LT(peak, 1000);
  fs::remove(file);
}

}  // namespace
}  // namespace evendrip
