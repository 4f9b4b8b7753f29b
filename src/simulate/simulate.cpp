// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/simulate.hpp"

#include "evendrip/io/raster_file.hpp"
#include "evendrip/io/results.hpp"
#include "evendrip/simulate/crop_signal.hpp"
#include "evendrip/simulate/digging.hpp"
#include "evendrip/simulate/field_folder.hpp"
#include "evendrip/simulate/instruments.hpp"
#include "evendrip/simulate/system.hpp"
#include "evendrip/simulate/truth.hpp"

#include <fmt/format.h>

#include <array>
#include <system_error>

namespace evendrip {
namespace {

void refuse_what_is_there(const std::filesystem::path& folder) {
  std::error_code error;
  if (!std::filesystem::exists(folder, error)) return;
  if (std::filesystem::is_directory(folder, error) && std::filesystem::is_empty(folder, error)) {
    return;
  }
  throw FileError("folder_not_empty", folder.string(), "This folder exists and is not empty",
                  "Name a new folder: a made-up field never overwrites anything");
}

/// A hidden sibling that becomes the folder when all is written; removed if that never happens.
class FolderInTheMaking {
 public:
  explicit FolderInTheMaking(const std::filesystem::path& target)
      : target_(std::filesystem::absolute(target / "").parent_path()),
        working_(target_.parent_path() / ("." + target_.filename().string() + ".unfinished")) {
    std::error_code error;
    std::filesystem::remove_all(working_, error);
  }
  ~FolderInTheMaking() {
    std::error_code error;
    std::filesystem::remove_all(working_, error);
  }
  FolderInTheMaking(const FolderInTheMaking&) = delete;
  FolderInTheMaking& operator=(const FolderInTheMaking&) = delete;
  const std::filesystem::path& path() const { return working_; }
  void finish() {
    std::error_code error;
    std::filesystem::rename(working_, target_, error);
    if (error) throw FileError("folder_not_made", target_.string(), error.message());
  }

 private:
  std::filesystem::path target_;
  std::filesystem::path working_;
};

void make_below(const std::filesystem::path& folder) {
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error) throw FileError("folder_not_made", folder.string(), error.message());
}

void write_raster(const std::filesystem::path& file, const SimulatedField& field,
                  const Raster& raster, const GeotiffBand& band) {
  GeotiffOptions options;
  options.bands = {band};
  options.metadata = {{"method", "made up by evendrip simulate; not measured"},
                      {"seed", fmt::format("{}", field.plan.seed)}};
  GeotiffWriter writer(file, raster.grid, field.frame.crs, options);
  const Window whole{0, 0, raster.grid.rows, raster.grid.columns};
  writer.write(whole, std::array{raster});
  writer.finish(Work{});
}

void write_crop(const SimulatedField& field, const std::filesystem::path& folder) {
  const SimulationPlan& plan = field.plan;
  if (plan.biomass_pixel_m > 0) {
    const bool biomass = plan.canopy == "biomass";
    write_raster(
        folder / canopy_file(plan), field, canopy_raster(field),
        biomass ? GeotiffBand{"vegetation index", ""} : GeotiffBand{"canopy temperature", "degC"});
  }
  if (plan.yield_swath_m > 0) write_text(folder / yield_file(plan), yield_table(field));
}

std::string truth_table(const SimulatedField& field) {
  std::string table =
      "lateral,emitter,station_m,pressure_kpa,performance_frac,delivery_frac,discharge_lph\n";
  for (const SimulatedLateral& lateral : field.laterals) {
    for (std::size_t i = 0; i < lateral.emitters.size(); ++i) {
      const SimulatedEmitter& emitter = lateral.emitters[i];
      table += fmt::format("{},{},{:.2f},{:.1f},{:.3f},{:.3f},{:.3f}\n", lateral.id, i + 1,
                           emitter.station_m, emitter.pressure_kpa, emitter.performance,
                           emitter.delivery, emitter.discharge_lph);
    }
  }
  return table;
}

void write_survey(const SimulatedField& field, const std::filesystem::path& folder) {
  write_text(folder / "catch_cans.csv", catch_can_table(field, caught_emitters(field)));
  write_text(folder / "pressures.csv", pressure_table(field));
  write_text(folder / "meter.csv", meter_table(field));
}

}  // namespace

void simulate_field(const SimulationPlan& plan, const std::filesystem::path& folder) {
  refuse_what_is_there(folder);
  const SimulatedField field = simulated_truth(plan);
  FolderInTheMaking making(folder);
  const std::filesystem::path& path = making.path();
  const std::filesystem::path survey = path / "survey" / plan.survey_id;
  for (const auto& below : {survey, path / "crop", path / "truth"}) make_below(below);
  write_text(path / "README.txt", readme_text(field));
  write_text(path / "plan.toml", plan_as_toml(plan));
  write_text(path / "field.toml", field_toml(field));
  write_layers(field, path);
  write_raster(path / "elevation.tif", field, elevation_raster(field),
               GeotiffBand{"height of the ground", "m"});
  write_survey(field, survey);
  write_crop(field, path);
  if (!plan.commissioning_date.empty()) {
    write_text(path / commissioning_file,
               commissioning_table(system_field(field), commissioning_record(field)));
  }
  write_text(path / "truth" / "emitters.csv", truth_table(field));
  making.finish();
}

}  // namespace evendrip
