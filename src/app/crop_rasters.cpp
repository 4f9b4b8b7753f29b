// SPDX-License-Identifier: Apache-2.0
#include "crop_rasters.hpp"

#include "evendrip/io/raster_file.hpp"

#include "rasters.hpp"

#include <functional>
#include <string>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

using Record = std::vector<std::pair<std::string, std::string>>;
using Parts = std::function<std::vector<Raster>(const Window&)>;

Record record_with(const HeardCrop& heard, const std::string& method) {
  Record record = record_of(heard);
  record.emplace_back("method", method);
  return record;
}

void write_raster(const HeardCrop& heard, const std::filesystem::path& file,
                  const std::string& method, std::vector<GeotiffBand> bands, const Parts& parts,
                  const Work& work) {
  GeotiffWriter writer(file, heard.grid, heard.field.crs,
                       GeotiffOptions{std::move(bands), record_with(heard, method), block_rows});
  for_each_block(heard.grid, work,
                 [&](const Window& window, const Work&) { writer.write(window, parts(window)); });
  writer.finish(without_progress(work));
}

void write_layer(const HeardCrop& heard, const HeardLayer& one, const std::filesystem::path& folder,
                 const Work& work) {
  std::vector<GeotiffBand> bands = {{one.layer.kind, one.layer.unit},
                                    {"relative_to_field_median", ""}};
  std::shared_ptr<const RasterReader> error;
  if (one.harvest) {
    bands.push_back({"standard_error", one.layer.unit});
    error = reader_of(one.harvest->map.standard_error);
  }
  const Parts parts = [&](const Window& window) {
    std::vector<Raster> all = {one.layer.values->read(window), one.layer.relative->read(window)};
    if (error) all.push_back(error->read(window));
    return all;
  };
  write_raster(heard, folder / ("crop_" + one.layer.id + ".tif"), one.layer.method_text,
               std::move(bands), parts, work);
  write_raster(
      heard, folder / ("water_part_" + one.layer.id + ".tif"), one.water.method_text,
      {{"water_part", ""}},
      [&](const Window& window) { return std::vector<Raster>{one.water.rest->read(window)}; },
      work);
}

void write_over_dates(const HeardCrop& heard, const CropOverDates& joined,
                      const std::filesystem::path& folder, const Work& work) {
  const auto level = reader_of(joined.stability.level);
  const auto variation = reader_of(joined.stability.variation);
  const auto low = reader_of(joined.low_dates);
  write_raster(
      heard, folder / (over_dates_name("stability", joined) + ".tif"),
      joined.stability.method_text + "; low_dates: on how many of them the value is low",
      {{"level", ""}, {"variation", ""}, {"low_dates", ""}},
      [&](const Window& window) {
        return std::vector<Raster>{level->read(window), variation->read(window), low->read(window)};
      },
      work);
}

}  // namespace

std::string over_dates_name(const std::string& what, const CropOverDates& joined) {
  return joined.kind == "yield" ? what : what + "_" + joined.id;
}

void write_heard_rasters(const HeardCrop& heard, const std::filesystem::path& folder,
                         const Work& work) {
  for (const HeardLayer& one : heard.layers) write_layer(heard, one, folder, work);
  for (const CropOverDates& joined : heard.over_dates)
    write_over_dates(heard, joined, folder, work);
}

}  // namespace evendrip
