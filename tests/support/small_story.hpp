// SPDX-License-Identifier: Apache-2.0
// A small made-up field on disk, and the story of a run over it, for tests of report and app.
#pragma once

#include "evendrip/report/story.hpp"
#include "evendrip/simulate/simulate.hpp"

#include <filesystem>
#include <string>
#include <utility>

namespace evendrip::test {

/// Makes the folder anew.
inline std::filesystem::path small_field(const std::string& name) {
  const auto folder = std::filesystem::path(EVENDRIP_TEST_OUTPUT) / name;
  std::filesystem::remove_all(folder);
  std::filesystem::create_directories(folder.parent_path());
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

/// The chain of `run` in memory, without files.
inline Story small_story(const std::string& name) {
  Field field = read_field(small_field(name));
  throw_if_problem(field.doubts);
  Survey survey = read_survey(field, "");
  throw_if_problem(survey.doubts);
  Uniformity uniformity = evaluate_uniformity(field, survey);
  const Grid grid = analysis_grid(field);
  DischargeMap surface(field, survey, grid, {});
  Story story{"0.0.0",
              "libraries",
              1,
              std::move(field),
              std::move(survey),
              std::move(uniformity),
              std::move(surface),
              {},
              "",
              {},
              {}};
  for (const CropSource& source : story.field.crops) {
    CropStory crop;
    crop.layer = open_crop(story.field, source, grid, {});
    crop.zones = crop_by_zone(story.field, crop.layer);
    crop.laterals = crop_by_lateral(story.field, crop.layer, {});
    story.crops.push_back(std::move(crop));
  }
  DischargeMap::Part part = story.surface.over({0, 0, grid.rows, grid.columns}, {});
  story.findings = find_low_places(story.field, *reader_of(std::move(part.relative)),
                                   *reader_of(std::move(part.discharge_lph)), nullptr, {});
  story.visits = plan_visits(story.field, story.findings);
  return story;
}

}  // namespace evendrip::test
