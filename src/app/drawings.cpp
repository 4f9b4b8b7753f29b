// SPDX-License-Identifier: Apache-2.0
#include "drawings.hpp"

#include "evendrip/io/raster_file.hpp"
#include "evendrip/maps/discharge_sheets.hpp"
#include "evendrip/maps/plots.hpp"
#include "evendrip/maps/pressure_sheet.hpp"
#include "evendrip/maps/uncertainty_sheets.hpp"
#include "evendrip/report/condition_method.hpp"
#include "evendrip/surface/fitted_variogram.hpp"

#include "drawn_sheets.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace evendrip {
namespace {

Raster overview_of(const std::filesystem::path& geotiff) {
  return overview(*open_geotiff(geotiff), longest_side_cells);
}

std::string crop_title(const CropLayer& crop) {
  const std::string kind = crop.kind == "canopy_temperature" ? "canopy temperature" : crop.kind;
  return kind + (crop.date.empty() ? "" : ", " + crop.date);
}

/// How well the expected discharge is known; empty where none is.
std::string expected_note(const Story& story) {
  double least = 1;
  double most = 0;
  double tolerance = 0;
  for (const ExpectedZone& zone : story.expectation.zones) {
    if (!zone.computed) continue;
    least = std::min(least, zone.relative_sd);
    most = std::max(most, zone.relative_sd);
    tolerance = std::max(tolerance, zone.rated_tolerance_frac);
  }
  if (!any_zone_computed(story)) return "";
  const std::string low = fmt::format("{:.1f}", 100 * least);
  const std::string high = fmt::format("{:.1f}", 100 * most);
  return fmt::format(
      "What a clean system would give has a standard error of {} %, and a rated tolerance of "
      "{:.0f} "
      "% besides that a whole zone has in common: a zone low by less is not told from its rating.",
      low == high ? low : low + " to " + high, 100 * tolerance);
}

/// What a reader of a sheet must know besides the method.
std::vector<std::string> worth_telling(const Story& story) {
  std::vector<std::string> notes;
  if (const std::string note = expected_note(story); !note.empty()) notes.push_back(note);
  const auto ambiguous =
      std::count_if(story.survey.emitters.begin(), story.survey.emitters.end(),
                    [](const MeasuredEmitter& e) { return e.placement == Placement::ambiguous; });
  if (ambiguous > 0)
    notes.push_back(fmt::format(
        "Emitters that could not be told to one lateral: {}. Circles show where they may lie; they "
        "stay out of the surface.",
        ambiguous));
  return notes;
}

/// How the water was judged in which low places were sought.
std::string judged_method(const Story& story) {
  const std::vector<ZoneState>& zones = story.condition.zones;
  const auto judged =
      std::count_if(zones.begin(), zones.end(), [](const ZoneState& zone) { return zone.judged; });
  if (judged == 0) return story.surface.method_text();
  const bool all = judged == static_cast<std::ptrdiff_t>(zones.size());
  return condition_method(story) + (all ? "" : " Elsewhere: " + story.surface.method_text());
}

/// The sheet and the style of pressure.tif, if there is one.
std::optional<NamedSheet> pressure_of(const Story& story, const std::filesystem::path& folder,
                                      const MapResources& resources) {
  if (!any_zone_computed(story)) return std::nullopt;
  const Raster pressure = overview_of(folder / "pressure.tif");
  const SheetContext context{story.expectation.method_text() + ".", {}, Paper::a4, {}};
  write_style(pressure_style(pressure, resources), folder / "pressure.sld");
  return NamedSheet{"pressure", pressure_sheet(story.field, story.survey, pressure,
                                               story.expectation.zones, context, resources)};
}

std::vector<NamedSheet> sheets_of(const Story& story, const std::filesystem::path& folder,
                                  const MapResources& resources) {
  SheetContext context{story.surface.method_text(), worth_telling(story), Paper::a4, {}};
  for (const ZoneSurface& zone : story.surface.zones())
    context.references.push_back(zone.reference);
  const Raster discharge = overview_of(folder / "discharge.tif");
  const Raster relative = overview_of(folder / "relative_discharge.tif");
  const Raster error = overview_of(folder / "relative_discharge_error.tif");
  const auto probability = [&](const char* name, double threshold) {
    return NamedSheet{name, probability_sheet(story.field, story.survey,
                                              overview_of(folder / (std::string(name) + ".tif")),
                                              threshold, context, resources)};
  };
  std::vector<NamedSheet> sheets;
  sheets.push_back({"discharge", discharge_sheet(story.field, story.survey, discharge,
                                                 story.findings, context, resources)});
  sheets.push_back(
      {"relative_discharge", relative_discharge_sheet(story.field, story.survey, relative,
                                                      story.findings, context, resources)});
  sheets.push_back({"relative_discharge_error",
                    relative_discharge_error_sheet(story.field, story.survey, error, story.findings,
                                                   context, resources)});
  sheets.push_back(probability("probability_below_clogged", story.field.thresholds.clogged_below));
  sheets.push_back(probability("probability_below_low", story.field.thresholds.low_below));
  if (auto sheet = pressure_of(story, folder, resources)) sheets.push_back(std::move(*sheet));
  Raster findings_backdrop;
  for (const CropStory& crop : story.crops) {
    Raster seen = overview(*crop.layer.relative, longest_side_cells);
    sheets.push_back({"crop_" + crop.layer.id,
                      crop_sheet(story.field, story.survey, seen, crop_title(crop.layer), discharge,
                                 context, resources)});
    if (crop.layer.id == story.crop_of_findings) findings_backdrop = std::move(seen);
  }
  context.method = judged_method(story);
  sheets.push_back(
      {"findings", findings_sheet(story.field, story.survey, story.findings,
                                  story.crop_of_findings.empty() ? nullptr : &findings_backdrop,
                                  context, resources)});
  write_style(discharge_style(discharge, resources), folder / "discharge.sld");
  write_style(relative_discharge_error_style(error, resources),
              folder / "relative_discharge_error.sld");
  write_style(discharge_style(overview_of(folder / "depth_applied.tif"), resources),
              folder / "depth_applied.sld");
  return sheets;
}

/// Moment variograms along and across the laterals beside the fitted model; nothing if there is
/// none.
void draw_variogram(const Story& story, const MapResources& resources,
                    const std::filesystem::path& folder) {
  const std::optional<FittedVariogram> fitted = fitted_variogram(story.field, story.surface);
  if (!fitted) return;
  Plot plot;
  plot.title =
      "Unlikeness of emitters over distance, less the trend, without emitters unlike all others";
  plot.x = {"Distance, m", 0, std::nullopt};
  plot.y = {"Semivariance of relative discharge", 0, std::nullopt};
  const auto add = [&plot](std::size_t look, const char* name,
                           const std::vector<VariogramLag>& lags,
                           const std::vector<double>& model) {
    PlotSeries marks = plot_look(look);
    PlotSeries curve = marks;
    marks.line = PlotLine::none;
    marks.name = std::string(name) + ", measured";
    curve.name = std::string(name) + ", model";
    curve.mark = PlotMark::none;
    for (std::size_t i = 0; i < lags.size(); ++i) {
      marks.points.push_back({lags[i].mean_distance_m, lags[i].semivariance});
      curve.points.push_back({lags[i].mean_distance_m, model[i]});
    }
    plot.series.push_back(std::move(marks));
    plot.series.push_back(std::move(curve));
  };
  add(0, "along the laterals", fitted->moment.along, fitted->model_along);
  add(1, "across them", fitted->moment.across, fitted->model_across);
  constexpr double width_pt = 420;
  constexpr double height_pt = 300;
  draw_plot_png(plot, resources, folder / "sheets" / "variogram.png", width_pt, height_pt);
}

/// The styles that a GIS loads beside the files of the same name.
void copy_styles(const Story& story, const std::filesystem::path& folder,
                 const MapResources& resources) {
  const auto copy = [&](const std::string& from, const std::string& to) {
    write_style(read_style(resources.styles / (from + ".sld")), folder / (to + ".sld"));
  };
  for (const char* name : {"relative_discharge", "findings", "emitters", "laterals", "zones"}) {
    copy(name, name);
  }
  copy("relative_discharge", "relative_discharge_limits");
  copy("probability_low", "probability_below_clogged");
  copy("probability_low", "probability_below_low");
  if (!story.field.ports.empty()) copy("ports", "ports");
  for (const CropStory& crop : story.crops) copy("crop", "crop_" + crop.layer.id);
}

}  // namespace

Doubts draw_everything(const Story& story, const std::filesystem::path& folder, const Work& work) {
  Doubts doubts;
  const MapResources resources = find_map_resources();
  std::filesystem::create_directories(folder / "sheets");
  std::filesystem::create_directories(folder / "frames");
  const std::vector<NamedSheet> sheets = sheets_of(story, folder, resources);
  copy_styles(story, folder, resources);
  draw_variogram(story, resources, folder);
  for (std::size_t i = 0; i < sheets.size(); ++i) {
    if (work.stop.stop_requested()) throw Interrupted();
    draw_sheet_and_frame(sheets[i], resources, folder, doubts);
    if (work.progress)
      work.progress(static_cast<double>(i + 1) / static_cast<double>(sheets.size()));
  }
  return doubts;
}

}  // namespace evendrip
