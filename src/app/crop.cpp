// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/command_line.hpp"
#include "evendrip/app/commands.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/field/agronomy.hpp"
#include "evendrip/field/unsurveyed_field.hpp"
#include "evendrip/io/results.hpp"
#include "evendrip/report/crop_story.hpp"
#include "evendrip/surface/discharge_map.hpp"

#include "crop_drawings.hpp"
#include "crop_listening.hpp"
#include "crop_rasters.hpp"

#include <cstddef>
#include <functional>
#include <string>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

void require_crop(const Field& field) {
  if (!field.crops.empty()) return;
  throw InputError(Doubt{"nothing_to_listen_to",
                         Severity::problem,
                         {"field.toml", "[[crop]]", 0, ""},
                         "the field has no crop layer",
                         "",
                         "[[crop]] with id, kind (yield, biomass or canopy_temperature) and file",
                         "Add a yield log or a biomass raster, such as id = \"2025-yield\", "
                         "kind = \"yield\", file = \"crop/2025_yield.csv\""});
}

/// Discharge of the dug emitters, or why there is none.
void measure(const CropOptions& options, HeardCrop& heard, const Work& work) {
  const std::string survey = survey_with_catches(heard.field, options.survey);
  if (survey.empty()) {
    heard.why_no_discharge = "no survey has catch cans";
    return;
  }
  heard.discharge = measured_discharge(heard.field, survey, work);
  if (!heard.discharge->places.empty()) return;
  heard.discharge.reset();
  heard.why_no_discharge =
      "survey " + survey + " has no emitter whose place and discharge are known";
}

/// A stage of the job: tells its name, gives the work that shows how far it is.
using Stage = std::function<Work(const std::string& name)>;

HeardCrop read(const CropOptions& options) {
  HeardCrop heard;
  heard.version = program_version();
  heard.libraries = library_versions();
  heard.seed = options.seed;
  heard.field = read_field_without_survey(options.folder);
  throw_if_problem(heard.field.doubts);
  require_crop(heard.field);
  heard.grid = analysis_grid(heard.field);
  return heard;
}

void listen(const CropOptions& options, const Agronomy& agronomy, HeardCrop& heard,
            const Stage& stage) {
  const std::vector<double>& widths_m = agronomy.implement_widths_m;
  for (std::size_t i = 0; i < heard.field.crops.size(); ++i) {
    heard.layers.push_back(listen_to(heard.field, i, heard.grid, widths_m, options.seed,
                                     stage("Listening to " + heard.field.crops[i].id)));
  }
  heard.over_dates = over_dates_of(heard.field, heard.layers);
}

/// The crop beside the discharge of dug emitters, where there are some.
void compare(const CropOptions& options, const Agronomy& agronomy, HeardCrop& heard,
             const Stage& stage) {
  measure(options, heard, stage("Working out what should flow"));
  if (!heard.discharge) return;
  const Work work = stage("Setting the crop beside discharge");
  for (HeardLayer& layer : heard.layers) {
    layer.association =
        set_beside(heard.field, layer, *heard.discharge, agronomy.emitters_per_root_zone,
                   options.seed, without_progress(work));
  }
}

std::string told_places(const HeardCrop& heard, const std::filesystem::path& target) {
  return crop_text(heard) + "\nMaps: " + (target / "sheets").string() +
         "\nTables: " + (target / "results.gpkg").string() + "\n";
}

}  // namespace

CommandResult crop(const CropOptions& options, std::stop_token stop, Console& console) {
  Work work;
  work.threads = options.threads;
  work.stop = std::move(stop);
  const Stage shown = [&](const std::string& stage) {
    console.stage(stage);
    return console.with_progress(work);
  };

  console.stage("Reading the field");
  HeardCrop heard = read(options);
  const std::filesystem::path target =
      options.output ? *options.output : options.folder / "results" / "crop";
  ResultFolder folder(target);
  const Agronomy agronomy = read_watering(options.folder).agronomy;
  listen(options, agronomy, heard, shown);
  compare(options, agronomy, heard, shown);

  write_heard_rasters(heard, folder.path(), shown("Writing the maps"));
  const Doubts drawing_doubts = draw_heard(heard, folder.path(), shown("Drawing the sheets"));
  console.stage("Writing the tables");
  write_geopackage(folder.path() / "results.gpkg", heard.field.crs, crop_result_layers(heard),
                   record_of(heard));
  const std::string json = crop_json(heard);
  write_text(folder.path() / "evendrip-results.json", json);
  folder.commit();

  console.finish();
  console.tell(doubts_of(heard));
  console.tell(drawing_doubts);
  return {options.form == OutputForm::json ? json : told_places(heard, target), ExitCode::done};
}

}  // namespace evendrip
