// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/story.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace evendrip {
namespace {

void append(Doubts& all, const Doubts& more) {
  all.insert(all.end(), more.begin(), more.end());
}

}  // namespace

Doubts doubts_of(const Story& story) {
  Doubts all = story.field.doubts;
  append(all, story.survey.doubts);
  append(all, story.uniformity.doubts);
  append(all, story.surface.doubts());
  for (const CropStory& crop : story.crops) append(all, crop.layer.doubts);
  append(all, story.findings.doubts);
  return all;
}

Doubts summarised(const Doubts& doubts) {
  Doubts told;
  std::vector<std::size_t> counts;
  for (const Doubt& doubt : doubts) {
    const auto same = [&doubt](const Doubt& other) {
      return other.code == doubt.code && other.place.file == doubt.place.file &&
             other.severity == doubt.severity;
    };
    const auto known = std::find_if(told.begin(), told.end(), same);
    if (known == told.end()) {
      told.push_back(doubt);
      counts.push_back(1);
    } else {
      ++counts[static_cast<std::size_t>(known - told.begin())];
    }
  }
  for (std::size_t i = 0; i < told.size(); ++i) {
    if (counts[i] > 1) told[i].text += fmt::format(" (and {} more like it)", counts[i] - 1);
  }
  return told;
}

}  // namespace evendrip
