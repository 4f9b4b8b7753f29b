// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/crop_story.hpp"

#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

void append(Doubts& all, const Doubts& more) {
  all.insert(all.end(), more.begin(), more.end());
}

std::string name_of(const std::string& kind) {
  if (kind == "yield") return "Yield";
  return kind == "canopy_temperature" ? "Canopy temperature" : "Biomass";
}

}  // namespace

Doubts doubts_of(const HeardLayer& layer) {
  Doubts all = layer.layer.doubts;
  append(all, layer.water.doubts);
  if (layer.evidence) append(all, layer.evidence->doubts);
  append(all, layer.screening.doubts);
  if (!layer.association) return all;
  for (Doubt doubt : layer.association->with_crop.doubts) {
    doubt.place.layer = layer.layer.id;
    all.push_back(std::move(doubt));
  }
  return all;
}

Doubts doubts_of(const HeardCrop& heard) {
  Doubts all = heard.field.doubts;
  for (const HeardLayer& layer : heard.layers) append(all, doubts_of(layer));
  return all;
}

std::string title_of(const CropOverDates& joined) {
  const std::string kind = name_of(joined.kind);
  const std::size_t count = joined.dates.size();
  if (joined.season.empty()) return fmt::format("{} over {} seasons", kind, count);
  return fmt::format("{} over {} dates of {}", kind, count, joined.season);
}

std::string title_of(const HeardLayer& heard) {
  const CropLayer& layer = heard.layer;
  std::string kind = name_of(layer.kind);
  if (heard.index && !heard.index->name.empty() && heard.index->name != "biomass") {
    kind = heard.index->name;
    if (kind[0] >= 'a' && kind[0] <= 'z') kind[0] = static_cast<char>(kind[0] - 'a' + 'A');
  }
  return fmt::format("{}, {}{}", kind, layer.id, layer.date.empty() ? "" : " of " + layer.date);
}

std::vector<std::pair<std::string, std::string>> record_of(const HeardCrop& heard) {
  std::vector<std::pair<std::string, std::string>> record = {
      {"program", "evendrip " + heard.version},
      {"libraries", heard.libraries},
      {"field", heard.field.name}};
  for (const HeardLayer& layer : heard.layers) {
    record.emplace_back("method " + layer.layer.id, layer.layer.method_text);
    record.emplace_back("water part " + layer.layer.id, layer.water.method_text);
  }
  for (const CropOverDates& joined : heard.over_dates)
    record.emplace_back("method over dates " + joined.id, joined.stability.method_text);
  if (heard.discharge) record.emplace_back("survey", heard.discharge->survey);
  record.emplace_back("seed", fmt::format("{}", heard.seed));
  const Crs& crs = heard.field.crs;
  record.emplace_back("crs", crs.code.empty() ? crs.name : crs.code);
  for (const InputFile& input : heard.field.inputs) {
    record.emplace_back("sha256 " + input.as_written, input.sha256);
  }
  return record;
}

}  // namespace evendrip
