// SPDX-License-Identifier: Apache-2.0
// A million records of an invented log, read within the memory and processor time that leave room
// for cleaning and gridding them.
#include "evendrip/crop/harvest_log.hpp"

#include "invented_field.hpp"

#include <fmt/format.h>
#include <gtest/gtest.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

namespace evendrip {
namespace {

constexpr std::size_t records = 1'000'000;

CropSource large_log() {
  CropSource source = invented::crop_file("large_log.csv", "yield", "");
  std::ofstream file(source.file.path, std::ios::binary);
  file << "lat,lon,time_s,mass_flow_kg_s,duration_s,distance_m,swath_m,moisture_pct,machine,"
          "elevation_m\n";
  for (std::size_t i = 0; i < records; ++i) {
    const auto pass = static_cast<double>(i / 500);
    const auto along = static_cast<double>(i % 500);
    file << fmt::format("{:.7f},{:.7f},{},{:.3f},1,{:.3f},6,{:.1f},A,{:.2f}\n",
                        39.7485 + along * 1.8e-5, -99 + pass * 2e-6, i + 20 * (i / 500),
                        6.4 + 0.5 * std::sin(1.7 * along), 2 + 0.05 * std::sin(along),
                        15 + 2 * std::sin(pass / 50), 512.3);
  }
  return source;
}

TEST(HarvestLogOfAMillion, IsReadInLessThan600MegabytesAndTenSecondsOfProcessorTime) {
  const CropSource source = large_log();
  const pid_t child = ::fork();
  if (child == 0) {
    const HarvestLog log = read_harvest_log(invented::small_field(), source);
    ::_exit(log.size() == records && log.doubts.empty() ? 0 : 1);
  }
  int status = -1;
  rusage usage{};
  ::wait4(child, &status, 0, &usage);
  std::filesystem::remove(source.file.path);
  EXPECT_TRUE(WIFEXITED(status) && WEXITSTATUS(status) == 0);
  const double peak_mb = static_cast<double>(usage.ru_maxrss) / 1024;
  RecordProperty("peak_mb", static_cast<int>(peak_mb));
  RecordProperty("processor_s", static_cast<int>(usage.ru_utime.tv_sec));
  EXPECT_LT(peak_mb, 600);
  EXPECT_LT(usage.ru_utime.tv_sec, 10);
}

}  // namespace
}  // namespace evendrip
