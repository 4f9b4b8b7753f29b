// SPDX-License-Identifier: Apache-2.0
// The story of a small field with a condition made by formulas.
#pragma once

#include "made_condition.hpp"
#include "small_story.hpp"

#include <algorithm>
#include <string>

namespace evendrip::test {

inline std::size_t holes_in(const Story& story, int zone) {
  const Samples& samples = story.surface.samples().samples;
  return static_cast<std::size_t>(
      std::count_if(samples.begin(), samples.end(), [zone](const Sample& sample) {
        return sample.site.zone == zone && sample.site.lateral >= 0;
      }));
}

inline Story conditioned_story(const std::string& name) {
  Story story = small_story(name);
  story.condition = made_condition(story.field, story.crops.front().layer.id, holes_in(story, 0));
  return story;
}

/// The same for tests that only read it: made once in a process, in the folder first named.
inline const Story& shared_conditioned_story(const std::string& name) {
  static const Story& made = *new Story(conditioned_story(name));
  return made;
}

}  // namespace evendrip::test
