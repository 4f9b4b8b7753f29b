// SPDX-License-Identifier: Apache-2.0
#include "condition_drawings.hpp"

#include "evendrip/io/raster_file.hpp"
#include "evendrip/maps/condition_sheets.hpp"
#include "evendrip/maps/uncertainty_sheets.hpp"
#include "evendrip/report/condition_method.hpp"
#include "evendrip/report/condition_places.hpp"

#include "condition_rasters.hpp"
#include "drawn_sheets.hpp"

#include <algorithm>
#include <string>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

Raster overview_of(const std::filesystem::path& geotiff, int band = 1) {
  return overview(*open_geotiff(geotiff, band), longest_side_cells);
}

std::vector<FaultMark> marks_of(const Story& story) {
  std::vector<FaultMark> marks;
  const std::vector<ZoneState>& zones = story.condition.zones;
  for (std::size_t z = 0; z < zones.size(); ++z) {
    const std::vector<FoundFault>& faults = zones[z].network.faults;
    for (std::size_t i = 0; i < faults.size(); ++i)
      marks.push_back({fault_place(story.field, faults[i].fault), fault_name(story.condition, z, i),
                       faults[i].fault.kind, faults[i].told});
  }
  return marks;
}

std::vector<const ZoneState*> zones_with_shares(const Story& story) {
  std::vector<const ZoneState*> zones;
  for (const ZoneState& zone : story.condition.zones)
    if (!told_crop_shares(zone.shares).empty()) zones.push_back(&zone);
  return zones;
}

/// A part of the condition as a file and as a panel.
struct PartOfCondition {
  const char* file;
  const char* name;
  double CropShares::*share;  ///< null: it is not told apart in the crop
  bool of_crop = false;
};

std::vector<PartOfCondition> parts_told(const Story& story) {
  std::vector<PartOfCondition> parts{
      {"condition_station", "Along the laterals alike", &CropShares::water_station},
      {"condition_lateral", "Single laterals", &CropShares::water_lateral},
      {"condition_group", "Groups of laterals", &CropShares::water_group},
      {"condition_local", "A few, part way", &CropShares::water_local},
      {"condition_network", "Faults found in the pipes", &CropShares::network}};
  if (any_company(story)) parts.push_back({"condition_company", "Plugged in company", nullptr});
  const CropCells crop(story);
  if (crop.any())
    parts.push_back({"condition_soil", "Soil and stand (crop)", &CropShares::soil, true});
  if (crop.any_edge())
    parts.push_back({"condition_edge", "Lateral ends (crop)", &CropShares::edge, true});
  if (crop.any_ground())
    parts.push_back({"condition_ground", "Elevation, soil map (crop)", &CropShares::ground, true});
  return parts;
}

/// For the notes, where several zones have them.
std::vector<std::string> share_notes(const Story& story) {
  constexpr std::size_t most = 8;
  const auto zones = zones_with_shares(story);
  std::vector<std::string> notes;
  if (zones.size() < 2) return notes;
  for (std::size_t i = 0; i < std::min(most, zones.size()); ++i)
    notes.push_back("The crop's variance in " +
                    story.field.zones[static_cast<std::size_t>(zones[i]->grid.zone)].id + ": " +
                    told_crop_shares(zones[i]->shares) + ".");
  if (zones.size() > most) notes.emplace_back("That of further zones is in the tables.");
  return notes;
}

SheetContext context_of(const Story& story) {
  SheetContext context{condition_method(story), {}, Paper::a4, {}};
  context.references.reserve(story.field.zones.size());
  for (std::size_t z = 0; z < story.field.zones.size(); ++z)
    context.references.push_back(reference_in(story, static_cast<int>(z)));
  return context;
}

bool any_judged(const Story& story) {
  return std::any_of(story.condition.zones.begin(), story.condition.zones.end(),
                     [](const ZoneState& zone) { return !zone.segments.empty(); });
}

std::vector<NamedSheet> judged_sheets(const Story& story, const std::filesystem::path& folder,
                                      const SheetContext& context, const MapResources& resources) {
  const Field& field = story.field;
  const Survey& survey = story.survey;
  const auto read = [&](const std::string& name, int band = 1) {
    return overview_of(folder / (name + ".tif"), band);
  };
  const Raster low = read("probability_delivery_low");
  const Raster clogged = read("probability_performance_clogged");
  std::vector<NamedSheet> sheets;
  sheets.push_back({"delivery", delivery_sheet(field, survey, read("delivery"), low,
                                               read("delivery_limits"), read("delivery_limits", 2),
                                               marks_of(story), context, resources)});
  sheets.push_back({"delivery_error", delivery_error_sheet(field, survey, read("delivery_error"),
                                                           context, resources)});
  sheets.push_back(
      {"performance",
       performance_sheet(field, survey, read("performance"), clogged, read("performance_limits"),
                         read("performance_limits", 2), context, resources)});
  sheets.push_back({"probability_delivery_low",
                    emitter_probability_sheet(field, survey, low, "delivery",
                                              field.thresholds.low_below, context, resources)});
  sheets.push_back({"probability_performance_clogged",
                    emitter_probability_sheet(field, survey, clogged, "performance",
                                              field.thresholds.clogged_below, context, resources)});
  return sheets;
}

Sheet parts_of(const Story& story, const std::filesystem::path& folder, SheetContext context,
               const MapResources& resources) {
  context.further = share_notes(story);
  // Shares stand in the titles where one zone alone has them.
  const auto zones = zones_with_shares(story);
  std::vector<PartMap> maps;
  for (const PartOfCondition& part : parts_told(story))
    maps.push_back(
        {part.name, overview_of(folder / (std::string(part.file) + ".tif")),
         zones.size() == 1 && part.share != nullptr ? zones.front()->shares.*part.share : -1,
         part.of_crop});
  return parts_sheet(story.field, story.survey, maps, context, resources);
}

/// The styles that a GIS loads beside the files and layers of the same name.
void copy_condition_styles(const Story& story, const std::filesystem::path& folder,
                           const MapResources& resources) {
  const auto copy = [&](const std::string& from, const std::string& to) {
    write_style(read_style(resources.styles / (from + ".sld")), folder / (to + ".sld"));
  };
  for (const char* name : {"delivery", "delivery_limits", "performance", "performance_limits"})
    copy("relative_discharge", name);
  for (const char* name : {"delivery_error", "performance_error"})
    write_style(relative_discharge_error_style(overview_of(folder / (std::string(name) + ".tif")),
                                               resources),
                folder / (std::string(name) + ".sld"));
  for (const char* name : {"probability_delivery_low", "probability_performance_clogged"})
    copy("probability_low", name);
  for (const PartOfCondition& part : parts_told(story)) copy("condition_part", part.file);
  copy("network_faults", "network_faults");
  if (any_told_without_holes(story)) copy("crop_index", "water_shaped_crop");
}

}  // namespace

Doubts draw_condition(const Story& story, const std::filesystem::path& folder, const Work& work) {
  Doubts doubts;
  if (story.condition.zones.empty()) return doubts;
  const MapResources resources = find_map_resources();
  std::filesystem::create_directories(folder / "sheets");
  std::filesystem::create_directories(folder / "frames");
  const SheetContext context = context_of(story);
  std::vector<NamedSheet> sheets;
  if (any_judged(story)) sheets = judged_sheets(story, folder, context, resources);
  if (any_told_without_holes(story))
    sheets.push_back(
        {"water_shaped_crop", water_shaped_crop_sheet(story.field, story.survey,
                                                      overview_of(folder / "water_shaped_crop.tif"),
                                                      marks_of(story), context, resources)});
  for (const NamedSheet& sheet : sheets) {
    if (work.stop.stop_requested()) throw Interrupted();
    draw_sheet_and_frame(sheet, resources, folder, doubts);
  }
  if (any_judged(story))
    draw_sheet({"condition_parts", parts_of(story, folder, context, resources)}, resources,
               folder / "sheets", doubts);
  copy_condition_styles(story, folder, resources);
  return doubts;
}

}  // namespace evendrip
