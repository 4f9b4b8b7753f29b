// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/simulate.hpp"

#include "evendrip/io/raster_file.hpp"
#include "evendrip/io/results.hpp"
#include "evendrip/simulate/crop_signal.hpp"
#include "evendrip/simulate/digging.hpp"
#include "evendrip/simulate/field_folder.hpp"
#include "evendrip/simulate/truth.hpp"

#include <fmt/format.h>

#include <array>
#include <system_error>

namespace evendrip {
namespace {

void make_folder(const std::filesystem::path& folder) {
  std::error_code error;
  if (std::filesystem::exists(folder, error) && (!std::filesystem::is_directory(folder, error) ||
                                                 !std::filesystem::is_empty(folder, error))) {
    throw FileError("folder_not_empty", folder.string(), "This folder exists and is not empty",
                    "Name a new folder: a made-up field never overwrites anything");
  }
  std::filesystem::create_directories(folder, error);
  if (error) {
    throw FileError("folder_not_made", folder.string(),
                    "The folder could not be made: " + error.message());
  }
}

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
  write_text(folder / "pressures.csv", pressure_table(field, simulated_ports(field)));
  write_text(folder / "meter.csv", meter_table(field));
}

}  // namespace

void simulate_field(const SimulationPlan& plan, const std::filesystem::path& folder) {
  const SimulatedField field = simulated_truth(plan);
  make_folder(folder);
  const std::filesystem::path survey = folder / "survey" / plan.survey_id;
  for (const auto& below : {survey, folder / "crop", folder / "truth"}) make_below(below);
  write_text(folder / "README.txt", readme_text(field));
  write_text(folder / "plan.toml", plan_as_toml(plan));
  write_text(folder / "field.toml", field_toml(field));
  write_layers(field, folder);
  write_raster(folder / "elevation.tif", field, elevation_raster(field),
               GeotiffBand{"height of the ground", "m"});
  write_survey(field, survey);
  write_crop(field, folder);
  write_text(folder / "truth" / "emitters.csv", truth_table(field));
}

}  // namespace evendrip
