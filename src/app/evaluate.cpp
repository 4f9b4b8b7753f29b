// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/command_line.hpp"
#include "evendrip/app/commands.hpp"
#include "evendrip/crs/crs.hpp"
#include "evendrip/report/evaluation.hpp"

#include <system_error>
#include <utility>

namespace evendrip {
namespace {

void require_catches(const Survey& survey) {
  if (!survey.records.empty()) return;
  throw InputError(Doubt{"nothing_to_evaluate",
                         Severity::problem,
                         {"field.toml", "[[survey]]", 0, "catch_cans"},
                         "the survey has no catch of an emitter",
                         survey.id,
                         "catch_cans with at least one row",
                         "Name a survey with catch cans; evendrip screen needs none"});
}

[[noreturn]] void page_failed(const std::filesystem::path& file, const std::string& why) {
  throw FileError("not_written", file.string(), "the sheet cannot be written: " + why,
                  "Check the folder, the free space and whether you may write there");
}

/// Drawn beside its place, then moved there: the sheet appears whole or not at all.
void write_sheet(const Evaluation& evaluation, const std::filesystem::path& file) {
  std::error_code unknown;
  const auto there = std::filesystem::status(file, unknown);
  if (std::filesystem::exists(there) && !std::filesystem::is_regular_file(there)) {
    page_failed(file, "what stands there is no file");
  }
  const MapResources resources = find_map_resources();
  const EvaluationSheet sheet = evaluation_page(evaluation, resources);
  std::filesystem::path part = file;
  part.replace_filename("." + file.filename().string() + ".part");
  std::error_code failed;
  try {
    draw_evaluation_pdf(sheet, resources, part);
  } catch (const FileError&) {
    std::filesystem::remove(part, failed);
    page_failed(file, "writing failed");
  }
  std::filesystem::rename(part, file, failed);
  if (!failed) return;
  const std::string why = failed.message();
  std::filesystem::remove(part, failed);
  page_failed(file, why);
}

EvaluationOptions with_selection(const EvaluateOptions& options, const Field& field) {
  EvaluationOptions all = options.evaluation;
  if (!options.zones.empty() || !options.laterals.empty() || options.stations) {
    all.selection = selected(field, options.zones, options.laterals, options.stations);
  }
  return all;
}

}  // namespace

CommandResult evaluate(const EvaluateOptions& options, std::stop_token stop, Console& console) {
  Work work;
  work.threads = options.threads;
  work.stop = std::move(stop);
  console.stage("Reading the field");
  Field field = read_field(options.folder);
  throw_if_problem(field.doubts);
  const Watering watering = read_watering(options.folder);
  console.stage("Placing the measurements");
  Survey survey = read_survey(field, options.survey);
  throw_if_problem(survey.doubts);
  require_catches(survey);
  const EvaluationOptions evaluation_options = with_selection(options, field);
  console.stage("Working out what should flow");
  Expectation expectation =
      expect(field, survey, hydraulic_options(field, survey.id), console.with_progress(work));
  console.stage("Evaluating");
  Evaluation evaluation = evaluated(std::move(field), watering, std::move(survey),
                                    std::move(expectation), evaluation_options);
  evaluation.version = program_version();
  evaluation.libraries = library_versions();
  if (work.stop.stop_requested()) throw Interrupted();
  if (options.output) write_sheet(evaluation, *options.output);

  console.finish();
  console.tell(evaluation.doubts);
  return {
      options.form == OutputForm::json ? evaluation_json(evaluation) : evaluation_text(evaluation),
      ExitCode::done};
}

}  // namespace evendrip
