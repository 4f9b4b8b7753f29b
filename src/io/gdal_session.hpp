// SPDX-License-Identifier: Apache-2.0
// What every use of GDAL in this room needs: drivers registered, the block cache bounded, messages
// caught instead of printed, datasets owned.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include <gdal_priv.h>

#include "evendrip/crs/crs.hpp"
#include "evendrip/io/paths.hpp"

namespace evendrip {

/// Registers the drivers once and bounds the block cache to 256 MB.
void start_gdal();

/// While it lives, GDAL's messages of this thread are kept here and nothing is printed.
class GdalMessages {
 public:
  GdalMessages();
  ~GdalMessages();
  GdalMessages(const GdalMessages&) = delete;
  GdalMessages& operator=(const GdalMessages&) = delete;
  /// True once anything worse than a warning was said.
  bool failed() const { return failed_; }
  /// True once anything was said, be it a warning.
  bool any() const { return !failure_.empty() || !warning_.empty(); }
  /// The first failure, else the first warning, else "unknown cause".
  std::string text() const;
  void forget();

 private:
  static void take(CPLErr severity, int number, const char* text);
  bool failed_ = false;
  std::string failure_;
  std::string warning_;
};

struct CloseDataset {
  void operator()(GDALDataset* dataset) const { GDALClose(dataset); }
};
using DatasetHandle = std::unique_ptr<GDALDataset, CloseDataset>;

/// Sets a configuration option for this thread while it lives.
class ThreadOption {
 public:
  ThreadOption(std::string name, const std::string& value);
  ~ThreadOption();
  ThreadOption(const ThreadOption&) = delete;
  ThreadOption& operator=(const ThreadOption&) = delete;

 private:
  std::string name_;
  std::string before_;
  bool had_value_ = false;
};

/// Opens a file read-only with the drivers of `allowed` alone. Throws InputError
/// "driver_not_allowed" or "unreadable_file"; `kind` says what was expected ("a map layer").
DatasetHandle open_allowed(const FileRef& file, unsigned flags,
                           const std::vector<std::string>& allowed, const std::string& kind,
                           const std::vector<std::string>& open_options = {});

/// Ours from GDAL's; unknown if there is none or it names no place on earth.
Crs crs_of(const OGRSpatialReference* reference);
/// GDAL's from ours, x/y order.
OGRSpatialReference reference_of(const Crs& crs);

}  // namespace evendrip
