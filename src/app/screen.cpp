// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/command_line.hpp"
#include "evendrip/app/commands.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/field/agronomy.hpp"
#include "evendrip/findings/zone_changes.hpp"
#include "evendrip/io/results.hpp"
#include "evendrip/report/screening_text.hpp"
#include "evendrip/surface/discharge_map.hpp"

#include "crop_listening.hpp"

#include <cstddef>
#include <cstdint>
#include <functional>
#include <string>
#include <utility>

namespace evendrip {
namespace {

constexpr std::uint64_t crop_seed = 1;  // as `crop` uses where none is given

void append(Doubts& all, const Doubts& more) {
  all.insert(all.end(), more.begin(), more.end());
}

std::filesystem::path record_file(const std::filesystem::path& folder) {
  return folder / commissioning_file;
}

/// A record is made once, when the system is known to be good; it is never overwritten.
void require_no_record(const std::filesystem::path& folder) {
  const auto there = std::filesystem::symlink_status(record_file(folder));
  if (!std::filesystem::exists(there)) return;
  throw FileError("commissioning_exists", record_file(folder).string(),
                  "there is a commissioning record already, which is not overwritten",
                  "Move it away first, if the system was renewed since");
}

void require_readings(const Survey& survey) {
  if (!survey.pressures.empty() || !survey.meter.empty()) return;
  throw InputError(Doubt{"nothing_to_screen",
                         Severity::problem,
                         {"field.toml", "[[survey]]", 0, "pressures"},
                         "the survey has no reading of a gauge or a meter",
                         survey.id,
                         "pressures or meter with at least one row",
                         "Add a table of pressures or of meter readings, or name another survey"});
}

/// The commissioning record, which has to be readable where there is one, and is an input then.
std::optional<Commissioning> read_record(Field& field, Doubts& doubts) {
  Doubts told;
  auto record = read_commissioning(field, told);
  throw_if_problem(told);
  append(doubts, told);
  if (record) field.inputs.push_back({commissioning_file, sha256_of(record_file(field.folder))});
  return record;
}

/// A record of a faulty system would hide the fault for ever after.
void warn_of_faults(const ScreeningStory& story, Doubts& doubts) {
  for (const ScreenedZone& zone : story.screening.zones) {
    if (zone.not_told || zone.beliefs.front().state == ScreenedState::sound) continue;
    doubts.push_back({"commissioned_with_fault",
                      Severity::doubt,
                      {commissioning_file, "", 0, ""},
                      "a zone that does not look sound was recorded as good",
                      story.field.zones[static_cast<std::size_t>(zone.zone)].id,
                      "a system that is known to be good",
                      "Mend the fault, move the record away and commission again"});
  }
}

/// Where the crop layers say to look first, if the field has any.
void look_at_crops(const ScreenOptions& options, ScreeningStory& story,
                   const std::function<Work(const std::string&)>& stage) {
  if (story.field.crops.empty()) return;
  const Grid grid = analysis_grid(story.field);
  const Agronomy agronomy = read_watering(options.folder).agronomy;
  for (std::size_t i = 0; i < story.field.crops.size(); ++i) {
    story.crops.push_back(screen_layer(story.field, i, grid, agronomy.implement_widths_m, crop_seed,
                                       stage("Listening to " + story.field.crops[i].id)));
    append(story.doubts, doubts_of(story.crops.back()));
  }
}

}  // namespace

CommandResult screen(const ScreenOptions& options, std::stop_token stop, Console& console) {
  Work work;
  work.threads = options.threads;
  work.stop = std::move(stop);
  const auto shown = [&](const std::string& stage) {
    console.stage(stage);
    return console.with_progress(work);
  };

  if (options.commission) require_no_record(options.folder);
  ScreeningStory story;
  story.version = program_version();
  story.libraries = library_versions();
  console.stage("Reading the field");
  story.field = read_field(options.folder);
  throw_if_problem(story.field.doubts);
  append(story.doubts, story.field.doubts);
  story.survey = read_survey(story.field, options.survey);
  throw_if_problem(story.survey.doubts);
  append(story.doubts, story.survey.doubts);
  require_readings(story.survey);
  story.commissioning = read_record(story.field, story.doubts);

  story.expectation =
      expect(story.field, story.survey, hydraulic_options(story.field, story.survey.id),
             shown("Solving the zones"));
  append(story.doubts, story.expectation.doubts);
  Doubts of_meter;  // where the model fails, readings are compared with the rating below
  const auto meter = compare_meter(story.field, story.survey, story.expectation, of_meter);
  story.screening =
      screen_zones(story.field, story.survey, story.expectation, meter, story.commissioning);
  append(story.doubts, story.screening.doubts);
  story.design = check_design(story.field, story.survey, story.expectation,
                              shown("Checking the design"), story.doubts);
  look_at_crops(options, story, shown);
  if (options.commission) {
    story.written = record_of(story.field, story.survey);
    warn_of_faults(story, story.doubts);
    write_text(record_file(options.folder), commissioning_table(story.field, *story.written));
  }

  console.finish();
  console.tell(story.doubts);
  return {options.form == OutputForm::json ? screening_json(story) : screening_text(story),
          ExitCode::done};
}

}  // namespace evendrip
