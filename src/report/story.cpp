// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/story.hpp"

#include <map>
#include <string>
#include <tuple>

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

Doubts summarised(const Doubts& doubts, std::size_t most) {
  struct Kind {
    std::size_t count = 0;
    std::size_t last_told = 0;  ///< index in `told`
  };
  std::map<std::tuple<Severity, std::string, std::string>, Kind> kinds;
  Doubts told;
  for (const Doubt& doubt : doubts) {
    Kind& kind = kinds[{doubt.severity, doubt.code, doubt.place.file}];
    if (++kind.count > most) continue;
    kind.last_told = told.size();
    told.push_back(doubt);
  }
  for (const auto& [name, kind] : kinds) {
    if (kind.count <= most) continue;
    told[kind.last_told].text += fmt::format(" (and {} more like it)", kind.count - most);
  }
  return told;
}

}  // namespace evendrip
