// SPDX-License-Identifier: Apache-2.0
// The story of a screening over a small made-up field, for tests of its text and JSON.
#pragma once

#include "evendrip/findings/zone_changes.hpp"
#include "evendrip/report/screening_text.hpp"
#include "small_story.hpp"

#include <filesystem>
#include <string>

namespace evendrip::test {

/// The chain of `screen` in memory, without a record.
inline ScreeningStory small_screening(const std::string& name) {
  ScreeningStory story;
  story.version = "0.0.0";
  story.libraries = "libraries";
  const auto folder = small_field(name);
  std::filesystem::remove(folder / commissioning_file);
  story.field = read_field(folder);
  throw_if_problem(story.field.doubts);
  story.survey = read_survey(story.field, "");
  story.expectation = expect(story.field, story.survey, {}, {});
  const auto meter = compare_meter(story.field, story.survey, story.expectation, story.doubts);
  story.screening = screen_zones(story.field, story.survey, story.expectation, meter, std::nullopt);
  story.design = check_design(story.field, story.survey, story.expectation, {}, story.doubts);
  return story;
}

}  // namespace evendrip::test
