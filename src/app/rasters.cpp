// SPDX-License-Identifier: Apache-2.0
#include "rasters.hpp"

#include "evendrip/io/raster_file.hpp"
#include "evendrip/report/tables.hpp"
#include "evendrip/surface/expected_map.hpp"

#include <fmt/format.h>

#include <array>
#include <optional>
#include <utility>

namespace evendrip {
namespace {

GeotiffWriter writer_for(const Story& story, const std::filesystem::path& file,
                         std::vector<GeotiffBand> bands) {
  return {file, story.surface.grid(), story.field.crs,
          GeotiffOptions{std::move(bands), record_of(story), block_rows}};
}

/// Its method is hydraulics, not the surface.
GeotiffWriter pressure_writer(const Story& story, const std::filesystem::path& file) {
  auto record = record_of(story);
  for (auto& [key, value] : record)
    if (key == "method") value = story.expectation.method_text();
  return {file, story.surface.grid(), story.field.crs,
          GeotiffOptions{{{"clean_pressure", "kPa"}}, std::move(record), block_rows}};
}

}  // namespace

void for_each_block(const Grid& grid, const Work& work,
                    const std::function<void(const Window&, const Work&)>& body) {
  const std::vector<Window> blocks = row_blocks(grid, block_rows);
  const Work inner = without_progress(work);
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    if (work.stop.stop_requested()) throw Interrupted();
    body(blocks[i], inner);
    if (work.progress) {
      work.progress(static_cast<double>(i + 1) / static_cast<double>(blocks.size()));
    }
  }
}

void write_surface_rasters(const Story& story, const std::filesystem::path& folder,
                           const Work& work) {
  const auto writer = [&](const char* name, std::vector<GeotiffBand> bands) {
    return writer_for(story, folder / name, std::move(bands));
  };
  const auto below = [](double limit) { return fmt::format("probability_below_{:g}", limit); };
  const Thresholds& thresholds = story.field.thresholds;
  std::array writers{
      writer("discharge.tif", {{"discharge", "L/h"}}),
      writer("relative_discharge.tif", {{"relative_discharge", ""}}),
      writer("relative_discharge_error.tif", {{"standard_error", ""}}),
      writer("relative_discharge_limits.tif", {{"lower_90", ""}, {"upper_90", ""}}),
      writer("probability_below_clogged.tif", {{below(thresholds.clogged_below), ""}}),
      writer("probability_below_low.tif", {{below(thresholds.low_below), ""}}),
      writer("depth_applied.tif", {{"depth_applied", "mm/h"}})};
  std::optional<GeotiffWriter> pressure;
  if (any_zone_computed(story)) pressure.emplace(pressure_writer(story, folder / "pressure.tif"));
  const ExpectedAt expected_at = [&story](Point place, int zone) {
    return story.expectation.at(place, zone);
  };
  for_each_block(story.surface.grid(), work, [&](const Window& window, const Work& inner) {
    const ExpectedPart expected =
        expected_over(story.field, story.surface.grid(), window, expected_at, inner);
    DischargeMap::Part part = story.surface.over(window, inner, &expected.discharge_lph);
    const std::array limits{std::move(part.lower), std::move(part.upper)};
    const std::array<std::span<const Raster>, 7> parts{
        std::span(&part.discharge_lph, 1),  std::span(&part.relative, 1),
        std::span(&part.standard_error, 1), limits,
        std::span(&part.below_clogged, 1),  std::span(&part.below_low, 1),
        std::span(&part.depth_mm_h, 1)};
    for (std::size_t i = 0; i < writers.size(); ++i) writers[i].write(window, parts[i]);
    if (pressure) pressure->write(window, std::span(&expected.pressure_kpa, 1));
  });
  for (GeotiffWriter& one : writers) one.finish(without_progress(work));
  if (pressure) pressure->finish(without_progress(work));
}

void write_crop_rasters(const Story& story, const std::filesystem::path& folder, const Work& work) {
  for (const CropStory& crop : story.crops) {
    GeotiffWriter writer =
        writer_for(story, folder / ("crop_" + crop.layer.id + ".tif"),
                   {{crop.layer.kind, crop.layer.unit}, {"relative_to_field_median", ""}});
    for_each_block(story.surface.grid(), work, [&](const Window& window, const Work&) {
      std::array<Raster, 2> parts;
      parts[0] = crop.layer.values->read(window);
      parts[1] = crop_index(parts[0], crop.layer.median, crop.layer.sense);
      writer.write(window, parts);
    });
    writer.finish(without_progress(work));
  }
}

}  // namespace evendrip
