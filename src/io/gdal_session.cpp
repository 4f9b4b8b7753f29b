// SPDX-License-Identifier: Apache-2.0
#include "gdal_session.hpp"

#include <algorithm>
#include <mutex>

#include <cpl_conv.h>
#include <cpl_error.h>
#include <cpl_string.h>
#include <fmt/format.h>

#include "evendrip/base/error.hpp"
#include "file_errors.hpp"
#include "text_file.hpp"

namespace evendrip {
namespace {

std::vector<const char*> c_list(const std::vector<std::string>& texts) {
  std::vector<const char*> list;
  list.reserve(texts.size() + 1);
  for (const std::string& text : texts) list.push_back(text.c_str());
  list.push_back(nullptr);
  return list;
}

}  // namespace

void start_gdal() {
  static std::once_flag once;
  std::call_once(once, [] {
    constexpr GIntBig cache_bytes = GIntBig{256} * 1024 * 1024;
    GDALAllRegister();
    GDALSetCacheMax64(cache_bytes);
  });
}

GdalMessages::GdalMessages() {
  start_gdal();
  CPLErrorReset();
  CPLPushErrorHandlerEx(&GdalMessages::take, this);
}

GdalMessages::~GdalMessages() {
  CPLPopErrorHandler();
  CPLErrorReset();
}

void GdalMessages::take(CPLErr severity, int, const char* text) {
  auto* self = static_cast<GdalMessages*>(CPLGetErrorHandlerUserData());
  if (self == nullptr || severity == CE_Debug || severity == CE_None) return;
  std::string& kept = severity == CE_Warning ? self->warning_ : self->failure_;
  if (severity != CE_Warning) self->failed_ = true;
  if (kept.empty()) kept = text;
}

std::string GdalMessages::text() const {
  if (!failure_.empty()) return failure_;
  return warning_.empty() ? "unknown cause" : warning_;
}

void GdalMessages::forget() {
  failed_ = false;
  failure_.clear();
  warning_.clear();
  CPLErrorReset();
}

ThreadOption::ThreadOption(std::string name, const std::string& value) : name_(std::move(name)) {
  if (const char* before = CPLGetThreadLocalConfigOption(name_.c_str(), nullptr)) {
    before_ = before;
    had_value_ = true;
  }
  CPLSetThreadLocalConfigOption(name_.c_str(), value.c_str());
}

ThreadOption::~ThreadOption() {
  CPLSetThreadLocalConfigOption(name_.c_str(), had_value_ ? before_.c_str() : nullptr);
}

DatasetHandle open_allowed(const FileRef& file, unsigned flags,
                           const std::vector<std::string>& allowed, const std::string& kind,
                           const std::vector<std::string>& open_options) {
  GdalMessages messages;
  const std::vector<const char*> drivers = c_list(allowed);
  const std::vector<const char*> options = c_list(open_options);
  DatasetHandle dataset(static_cast<GDALDataset*>(GDALOpenEx(
      file.path.c_str(), flags | GDAL_OF_READONLY, drivers.data(), options.data(), nullptr)));
  if (dataset) return dataset;
  const std::string cause =
      messages.any() ? ": " + as_user_knows(messages.text(), file.path, file.as_written) : "";
  auto* other =
      static_cast<GDALDriver*>(GDALIdentifyDriverEx(file.path.c_str(), flags, nullptr, nullptr));
  const bool refused = other != nullptr && std::find(allowed.begin(), allowed.end(),
                                                     other->GetDescription()) == allowed.end();
  throw InputError(
      Doubt{refused ? "driver_not_allowed" : "unreadable_file",
            Severity::problem,
            {file.as_written, "", 0, ""},
            refused ? "files of this kind are not opened, because they may name other files"
                    : fmt::format("the file cannot be read as {}{}", kind, cause),
            refused ? other->GetMetadataItem(GDAL_DMD_LONGNAME) : "",
            kind + " of one of the formats " + listed(allowed),
            refused ? "Convert the file to one of them" : "Export the file again"});
}

Crs crs_of(const OGRSpatialReference* reference) {
  if (reference == nullptr || reference->IsEmpty() || reference->IsLocal() != 0) return {};
  const char* const options[] = {"FORMAT=WKT2_2019", nullptr};
  char* wkt = nullptr;
  const OGRErr failed = reference->exportToWkt(&wkt, options);
  const std::string text = wkt != nullptr ? wkt : "";
  CPLFree(wkt);
  if (failed != OGRERR_NONE || text.empty()) return {};
  try {
    return parse_crs(text);
  } catch (const InputError&) {
    return {};
  }
}

OGRSpatialReference reference_of(const Crs& crs) {
  OGRSpatialReference reference;
  if (crs.known()) reference.importFromWkt(crs.wkt.c_str());
  reference.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  return reference;
}

}  // namespace evendrip
