// SPDX-License-Identifier: Apache-2.0
// A small made-up field on disk, and the story of a run over it, for tests of report and app.
#pragma once

#include "evendrip/report/story.hpp"
#include "evendrip/simulate/simulate.hpp"
#include "evendrip/surface/expected_map.hpp"
#include "own_folder.hpp"

#include <filesystem>
#include <fstream>
#include <stdexcept>
#include <string>
#include <utility>

namespace evendrip::test {

/// Makes the folder anew, in that of the running test.
inline std::filesystem::path small_field(const std::string& name) {
  const auto folder = own_folder() / name;
  std::filesystem::remove_all(folder);
  SimulationPlan plan;
  plan.name = "Small Field";
  plan.lonlat_centre = {-98.5, 39.5};
  plan.zones = 2;
  plan.laterals_per_zone = 16;
  plan.lateral_length_m = 60;
  plan.laterals_dug = 6;
  plan.emitters_per_lateral = 4;
  plan.seed = 5;
  simulate_field(plan, folder);
  return folder;
}

/// The same without its manifolds, so that no zone can be computed.
inline std::filesystem::path small_field_without_manifolds(const std::string& name) {
  const auto folder = small_field(name);
  std::ifstream in(folder / "field.toml");
  std::string kept;
  bool found = false;
  for (std::string line; std::getline(in, line);) {
    const bool names_them = line.rfind("manifolds", 0) == 0;
    found = found || names_them;
    if (!names_them) kept += line + "\n";
  }
  if (!found) throw std::logic_error("the field has no manifolds to leave out");
  std::ofstream(folder / "field.toml") << kept;
  return folder;
}

/// The chain of `run` in memory, without files.
inline Story story_of(const std::filesystem::path& folder) {
  Field field = read_field(folder);
  throw_if_problem(field.doubts);
  Survey survey = read_survey(field, "");
  throw_if_problem(survey.doubts);
  Uniformity uniformity = evaluate_uniformity(field, survey);
  const Grid grid = analysis_grid(field);
  Expectation expectation = expect(field, survey, hydraulic_options(field, survey.id), {});
  DischargeMap surface(field, survey, grid, {}, reference_of(expectation));
  Story story{"0.0.0",
              "libraries",
              1,
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
  for (const CropSource& source : story.field.crops) {
    CropStory crop;
    crop.layer = open_crop(story.field, source, grid, {});
    crop.zones = crop_by_zone(story.field, crop.layer);
    crop.laterals = crop_by_lateral(story.field, crop.layer, {});
    story.crops.push_back(std::move(crop));
  }
  const Window all{0, 0, grid.rows, grid.columns};
  const ExpectedPart expected = expected_over(
      story.field, grid, all,
      [&story](Point place, int zone) { return story.expectation.at(place, zone); }, {});
  DischargeMap::Part part = story.surface.over(all, {}, &expected.discharge_lph);
  story.meter =
      compare_meter(story.field, story.survey, story.expectation, story.hydraulics_doubts);
  story.findings = find_low_places(story.field, *reader_of(std::move(part.relative)),
                                   *reader_of(std::move(part.discharge_lph)), nullptr, {});
  story.visits = plan_visits(story.field, story.findings);
  return story;
}

inline Story small_story(const std::string& name) {
  return story_of(small_field(name));
}

/// The same for tests that only read it: made once in a process, in the folder first named. Never
/// destroyed, as libraries that it uses may end earlier.
inline const Story& shared_story(const std::string& name) {
  static const Story& made = *new Story(small_story(name));
  return made;
}

/// Likewise.
inline const Story& shared_story_without_manifolds(const std::string& name) {
  static const Story& made = *new Story(story_of(small_field_without_manifolds(name)));
  return made;
}

}  // namespace evendrip::test
