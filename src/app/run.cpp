// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/command_line.hpp"
#include "evendrip/app/commands.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/field/agronomy.hpp"
#include "evendrip/hydraulics/expected.hpp"
#include "evendrip/io/raster_file.hpp"
#include "evendrip/io/results.hpp"
#include "evendrip/report/summary.hpp"
#include "evendrip/report/tables.hpp"
#include "evendrip/surface/expected_map.hpp"
#include "evendrip/surface/zone_influence.hpp"

#include "condition_drawings.hpp"
#include "condition_rasters.hpp"
#include "crop_listening.hpp"
#include "drawings.hpp"
#include "judged_water.hpp"
#include "rasters.hpp"
#include "witnesses.hpp"

#include <algorithm>
#include <functional>
#include <memory>
#include <utility>

namespace evendrip {
namespace {

struct Heard {
  std::vector<CropStory> crops;        ///< layers on the grid, with their statistics
  std::vector<CropWitness> witnesses;  ///< those of which it is known what they see
};
Heard listen_to_crops(const Field& field, const Grid& grid,
                      const std::vector<double>& implement_widths_m, const Work& work) {
  Heard heard;
  for (const CropSource& source : field.crops) {
    CropReading reading = read_crop(field, source, grid, work);
    auto witness = witness_of(field, source, reading, implement_widths_m, without_progress(work));
    if (witness) heard.witnesses.push_back(*std::move(witness));
    CropStory crop;
    crop.layer = std::move(reading.layer);
    crop.zones = crop_by_zone(field, crop.layer);
    crop.laterals = crop_by_lateral(field, crop.layer, work);
    heard.crops.push_back(std::move(crop));
  }
  return heard;
}

IrrigationTimes times_of(const Field& field, const Watering& watering) {
  return {watering.irrigation.began, lies_south(field)};
}

/// The state of the emitters of every zone.
FieldCondition judge(const RunOptions& options, const Story& story, const Watering& watering,
                     const std::vector<CropWitness>& witnesses, const Work& work) {
  ConditionOptions asked;
  asked.seed = options.seed;
  asked.emitters_per_plant = std::max(1, watering.agronomy.emitters_per_root_zone);
  asked.irrigation = times_of(story.field, watering);
  return judge_condition(
      story.field, story.survey, story.expectation,
      discharge_samples(story.field, story.survey, reference_of(story.expectation)), witnesses,
      asked, work);
}

/// Whether irrigation of any zone can show in a layer.
bool is_irrigated(const Field& field, const CropLayer& layer, const IrrigationTimes& times) {
  for (int zone = 0; zone < static_cast<int>(field.zones.size()); ++zone)
    if (why_not_irrigated(field, zone, layer.id, layer.date, times).empty()) return true;
  return false;
}

/// The crop layer that findings use: the latest in which irrigation can show; of several of one
/// date the first in the file.
const CropLayer* latest_crop(const Field& field, const std::vector<CropStory>& crops,
                             const IrrigationTimes& times) {
  const CropLayer* latest = nullptr;
  for (const CropStory& crop : crops) {
    if (!is_irrigated(field, crop.layer, times)) continue;
    if (latest == nullptr || latest->date < crop.layer.date) latest = &crop.layer;
  }
  return latest;
}

Findings find(const Story& story, const std::filesystem::path& folder, const CropLayer* crop,
              const Work& work) {
  const auto opened = [&folder](const char* name) -> std::shared_ptr<const RasterReader> {
    return std::filesystem::exists(folder / name) ? open_geotiff(folder / name) : nullptr;
  };
  const JudgedWater water = judged_water(opened("delivery.tif"), opened("relative_discharge.tif"),
                                         opened("discharge.tif"));
  return find_low_places(story.field, *water.relative, *water.discharge_lph,
                         crop == nullptr ? nullptr : crop->relative.get(), work);
}

constexpr double segment_m = 10;     // what one hole speaks for; common practice, no source
constexpr int draws_of_areas = 400;  // limits of areas good to about 1 % of the area

/// A stage of the job: tells its name, gives the work that shows how far it is.
using Stage = std::function<Work(const char* name)>;

/// The numbers of the job: what should flow, how even what flows is, and what lies between the
/// holes.
Story evaluated(const RunOptions& options, Field field, Survey survey, const Stage& stage) {
  Expectation expectation = expect(field, survey, hydraulic_options(field, survey.id),
                                   stage("Working out what should flow"));
  Uniformity uniformity = evaluate_uniformity(field, survey);
  DischargeMap surface(field, survey, analysis_grid(field), stage("Fitting the surface"),
                       reference_of(expectation), options.seed);
  Story story{program_version(),
              library_versions(),
              options.seed,
              std::move(field),
              std::move(survey),
              std::move(expectation),
              {},
              {},
              {},
              std::move(uniformity),
              std::move(surface),
              {},
              "",
              {},
              {},
              {},
              {},
              {}};
  story.meter =
      compare_meter(story.field, story.survey, story.expectation, story.hydraulics_doubts);
  story.design = check_design(story.field, story.survey, story.expectation,
                              stage("Checking design and flushing"), story.hydraulics_doubts);
  story.segments = segments_of(story.field, story.surface, segment_m, stage("Mapping segments"));
  story.areas = areas_below(story.field, story.surface, draws_of_areas, options.seed,
                            stage("Drawing surfaces for areas"));
  story.influence = zone_influence(story.field, story.surface, stage("Weighing each measurement"));
  return story;
}

std::filesystem::path target_of(const RunOptions& options, const Survey& survey) {
  return options.output ? *options.output : options.folder / "results" / survey.id;
}

std::string told_places(const Story& story, const std::filesystem::path& target) {
  return summary_text(story) + "\nMaps: " + (target / "sheets").string() +
         "\nTables: " + (target / "results.gpkg").string() +
         "\nPlaces to visit: " + (target / "visits.gpx").string() + "\n";
}

}  // namespace

CommandResult run(const RunOptions& options, std::stop_token stop, Console& console) {
  Work work;
  work.threads = options.threads;
  work.stop = std::move(stop);
  const Stage shown = [&](const char* stage) {
    console.stage(stage);
    return console.with_progress(work);
  };

  console.stage("Reading the field");
  Field field = read_field(options.folder);
  throw_if_problem(field.doubts);
  console.stage("Placing the measurements");
  Survey survey = read_survey(field, options.survey);
  throw_if_problem(survey.doubts);

  const std::filesystem::path target = target_of(options, survey);
  ResultFolder folder(target);
  Story story = evaluated(options, std::move(field), std::move(survey), shown);

  write_surface_rasters(story, folder.path(), shown("Mapping discharge"));
  const Watering watering = read_watering(options.folder);
  Heard heard =
      listen_to_crops(story.field, story.surface.grid(), watering.agronomy.implement_widths_m,
                      shown("Listening to the crop"));
  story.crops = std::move(heard.crops);
  write_crop_rasters(story, folder.path(), shown("Mapping the crop"));
  story.condition = judge(options, story, watering, heard.witnesses, shown("Judging the emitters"));
  write_condition_rasters(story, folder.path(), shown("Mapping the emitters' condition"));
  const CropLayer* crop = latest_crop(story.field, story.crops, times_of(story.field, watering));
  if (crop != nullptr) story.crop_of_findings = crop->id;
  story.findings = find(story, folder.path(), crop, shown("Finding low places"));
  story.visits = plan_visits(story.field, story.findings);

  const Doubts drawing_doubts = draw_everything(story, folder.path(), shown("Drawing the maps"));
  const Doubts condition_doubts =
      draw_condition(story, folder.path(), shown("Drawing the emitters' condition"));
  console.stage("Writing the tables");
  write_geopackage(folder.path() / "results.gpkg", story.field.crs, result_layers(story),
                   record_of(story));
  write_gpx(folder.path() / "visits.gpx", waypoints(story.field, story.findings, story.visits),
            story.field.name + ", places to visit");
  const std::string json = summary_json(story);
  write_text(folder.path() / "evendrip-results.json", json);
  folder.commit();

  console.finish();
  console.tell(doubts_of(story));
  console.tell(drawing_doubts);
  console.tell(condition_doubts);
  return {options.form == OutputForm::json ? json : told_places(story, target), ExitCode::done};
}

}  // namespace evendrip
