// SPDX-License-Identifier: Apache-2.0
#include "crop_drawings.hpp"

#include "evendrip/maps/crop_sheets.hpp"

#include "crop_rasters.hpp"
#include "drawn_sheets.hpp"

#include <fmt/format.h>

#include <string>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

struct NamedPlot {
  std::string name;
  Plot plot;
};

struct Pictures {
  std::vector<NamedSheet> sheets;
  std::vector<NamedPlot> plots;
};

/// A layer's name on its sheets: without the date, which stands on every sheet.
std::string short_title(const HeardLayer& one) {
  const std::string title = title_of(one);
  return one.layer.date.empty() ? title : title.substr(0, title.size() - one.layer.date.size() - 4);
}

CropSheetContext context_of(const HeardLayer& one) {
  CropSheetContext context{short_title(one), one.layer.date, one.layer.method_text, {}, Paper::a4};
  if (one.evidence && !one.evidence->told.empty()) context.notes.push_back(one.evidence->told);
  return context;
}

/// What each step set aside, one note each.
std::vector<std::string> step_notes(const CleanedLog& cleaned) {
  std::vector<std::string> notes;
  for (const CleaningStep& step : cleaned.steps) {
    if (step.records > 0) notes.push_back(to_text(step.step) + ": " + step.told);
  }
  return notes;
}

void add_harvest(const HeardCrop& heard, const HeardLayer& one, const MapResources& resources,
                 Pictures& pictures) {
  if (!one.harvest) return;
  const std::string& id = one.layer.id;
  CropSheetContext context = context_of(one);
  context.notes = step_notes(one.harvest->cleaned);
  context.method = one.harvest->log.method_text;
  pictures.sheets.push_back(
      {"records_" + id,
       cleaning_sheet(heard.field, one.harvest->log, one.harvest->cleaned, context, resources)});
  context.notes.clear();
  context.method = one.harvest->map.method_text;
  const Raster error = overview(*reader_of(one.harvest->map.standard_error), longest_side_cells);
  pictures.sheets.push_back(
      {"standard_error_" + id, yield_error_sheet(heard.field, error, context, resources)});
  pictures.plots.push_back(
      {"travel_time_" + id, travel_time_plot(one.harvest->cleaned.travel_time)});
  pictures.plots.push_back(
      {"variogram_" + id, yield_variogram_plot(one.harvest->cleaned, heard.field.report_units)});
}

void add_association(const HeardCrop& heard, const HeardLayer& one, const Raster& relative,
                     const MapResources& resources, Pictures& pictures) {
  if (!one.association || !heard.discharge) return;
  const LayerAssociation& pairs = *one.association;
  const MeasuredDischarge& discharge = *heard.discharge;
  CropAtEmitters emitters;
  for (const std::size_t emitter : pairs.emitters) {
    emitters.places.push_back(discharge.places[emitter]);
    emitters.discharge.push_back(discharge.relative[emitter]);
  }
  emitters.crop = pairs.crop;
  emitters.local = pairs.with_crop.local;
  emitters.verdict = pairs.with_crop.verdict;
  CropSheetContext context = context_of(one);
  context.notes.push_back(fmt::format("Emitters of survey {}{}.", discharge.survey,
                                      discharge.date.empty() ? "" : " of " + discharge.date));
  pictures.sheets.push_back(
      {"association_" + one.layer.id,
       association_sheet(heard.field, relative, emitters, context, resources)});
  pictures.plots.push_back(
      {"scatter_" + one.layer.id, association_plot(emitters, short_title(one))});
}

void add_layer(const HeardCrop& heard, const HeardLayer& one, const MapResources& resources,
               Pictures& pictures) {
  const std::string& id = one.layer.id;
  const Raster relative = overview(*one.layer.relative, longest_side_cells);
  const Raster rest = overview(*one.water.rest, longest_side_cells);
  CropSheetContext context = context_of(one);
  pictures.sheets.push_back(
      {"crop_" + id, crop_index_sheet(heard.field, relative, context, resources)});
  context.method = one.water.method_text;
  pictures.sheets.push_back(
      {"water_part_" + id, water_part_sheet(heard.field, rest, context, resources)});
  pictures.sheets.push_back(
      {"look_first_" + id,
       look_first_sheet(heard.field, relative, one.screening, context, resources)});
  add_harvest(heard, one, resources, pictures);
  add_association(heard, one, relative, resources, pictures);
  for (const LateralProfile& profile : one.profiles) {
    if (profile.zone < 0) continue;
    const std::string& zone = heard.field.zones[static_cast<std::size_t>(profile.zone)].id;
    pictures.plots.push_back({fmt::format("profile_{}_{}", id, zone),
                              profile_plot(heard.field, profile, short_title(one))});
  }
}

void add_over_dates(const HeardCrop& heard, const MapResources& resources, Pictures& pictures) {
  const auto shown = [](const Raster& raster) {
    return overview(*reader_of(raster), longest_side_cells);
  };
  for (const CropOverDates& joined : heard.over_dates) {
    const StabilityMap& stability = joined.stability;
    const CropSheetContext context{title_of(joined), "", stability.method_text, {}, Paper::a4};
    pictures.sheets.push_back(
        {over_dates_name("stability_level", joined),
         stability_level_sheet(heard.field, joined, shown(stability.level), context, resources)});
    pictures.sheets.push_back(
        {over_dates_name("stability_variation", joined),
         stability_variation_sheet(heard.field, joined, shown(stability.variation), context,
                                   resources)});
    const CropSheetContext counted{title_of(joined),
                                   "",
                                   "counted in each cell, where at least two have a value",
                                   {},
                                   Paper::a4};
    pictures.sheets.push_back(
        {over_dates_name("low_dates", joined),
         low_dates_sheet(heard.field, joined, shown(joined.low_dates), counted, resources)});
    pictures.plots.push_back({over_dates_name("zones_over_dates", joined),
                              zones_over_dates_plot(joined, title_of(joined))});
  }
}

/// The styles that a GIS loads beside the files and layers of the same name.
void copy_styles(const HeardCrop& heard, const std::filesystem::path& folder,
                 const MapResources& resources) {
  const auto copy = [&](const std::string& from, const std::string& to) {
    write_style(read_style(resources.styles / (from + ".sld")), folder / (to + ".sld"));
  };
  for (const HeardLayer& one : heard.layers) {
    copy("crop_index", "water_part_" + one.layer.id);
    write_style(crop_value_style(one.layer.median, one.layer.sense, resources),
                folder / ("crop_" + one.layer.id + ".sld"));
  }
  copy("crop_patches", "patches");
  copy("yield_records", "yield_records");
  copy("local_association", "association");
  for (const CropOverDates& joined : heard.over_dates)
    copy("crop_index", over_dates_name("stability", joined));
}

}  // namespace

Doubts draw_heard(const HeardCrop& heard, const std::filesystem::path& folder, const Work& work) {
  constexpr double width_pt = 420;
  constexpr double height_pt = 300;
  Doubts doubts;
  const MapResources resources = find_map_resources();
  std::filesystem::create_directories(folder / "sheets");
  Pictures pictures;
  for (const HeardLayer& one : heard.layers) add_layer(heard, one, resources, pictures);
  add_over_dates(heard, resources, pictures);
  copy_styles(heard, folder, resources);
  for (const NamedPlot& named : pictures.plots) {
    draw_plot_png(named.plot, resources, folder / "sheets" / (named.name + ".png"), width_pt,
                  height_pt);
  }
  draw_sheets(pictures.sheets, resources, folder / "sheets", work, doubts);
  return doubts;
}

}  // namespace evendrip
