// SPDX-License-Identifier: Apache-2.0
#include "evendrip/app/commands.hpp"
#include "evendrip/crop/crop.hpp"
#include "evendrip/field/commissioning.hpp"
#include "evendrip/field/field.hpp"
#include "evendrip/io/raster_file.hpp"
#include "evendrip/report/summary.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "evendrip/survey/survey.hpp"

#include <utility>

namespace evendrip {
namespace {

void append(Doubts& all, const Doubts& more) {
  all.insert(all.end(), more.begin(), more.end());
}

/// Runs a reader; what it throws about the input joins the list.
template <class Reader>
void gathered(Doubts& all, const Reader& reader) {
  try {
    append(all, reader());
  } catch (const InputError& error) {
    append(all, error.problems());
  }
}

/// Everything that needs zones and laterals: surveys, crop layers, elevation.
void check_measurements(const Field& field, const Work& work, Doubts& all) {
  for (const SurveySource& source : field.surveys) {
    gathered(all, [&] { return read_survey(field, source.id).doubts; });
  }
  read_commissioning(field, all);
  const Grid grid = analysis_grid(field);
  for (const CropSource& source : field.crops) {
    gathered(all, [&] { return open_crop(field, source, grid, work).doubts; });
  }
  if (field.elevation) {
    gathered(all, [&] {
      open_raster_on_grid(*field.elevation, 1, grid, field.crs);
      return Doubts{};
    });
  }
}

}  // namespace

CommandResult check(const CheckOptions& options, std::stop_token stop, Console& console) {
  Work work;
  work.stop = std::move(stop);
  Doubts all;
  console.stage("Reading the field");
  const Field field = read_field(options.folder);
  append(all, field.doubts);
  if (!field.zones.empty() && !field.laterals.empty()) {
    console.stage("Reading surveys and crop layers");
    check_measurements(field, work, all);
  }
  console.finish();
  return {options.form == OutputForm::json ? doubts_json(all) : doubts_text(all),
          has_problem(all) ? ExitCode::input : ExitCode::done};
}

}  // namespace evendrip
