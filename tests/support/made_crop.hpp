// SPDX-License-Identifier: Apache-2.0
// What a crop said, made up by plain formulas over a small field: every part that text, JSON,
// tables and sheets know is there, and its numbers are known.
#pragma once

#include <array>
#include <cmath>
#include <filesystem>
#include <string>
#include <utility>

#include "evendrip/report/crop_story.hpp"
#include "evendrip/surface/discharge_map.hpp"
#include "small_story.hpp"

namespace evendrip::test {

inline Raster made_relative(const Field& field, const Grid& grid) {
  Raster relative(grid, Reason::outside_zones);
  const std::vector<int> zones = zones_of_cells(field, grid, {0, 0, grid.rows, grid.columns});
  for (std::size_t i = 0; i < zones.size(); ++i) {
    if (zones[i] >= 0) relative.set(i, 0.8 + 0.01 * static_cast<double>(i % 41));
  }
  return relative;
}

inline Raster scaled(Raster raster, double factor) {
  for (std::size_t i = 0; i < raster.values.size(); ++i) {
    if (raster.has_value(i)) raster.set(i, factor * raster.values[i]);
  }
  return raster;
}

/// Ninety records along the first lateral, ten of every step.
inline MappedHarvest made_harvest(const Field& field, const Grid& grid) {
  MappedHarvest harvest;
  HarvestLog& log = harvest.log;
  CleanedLog& cleaned = harvest.cleaned;
  for (int i = 0; i < 90; ++i) {
    log.lines.push_back(static_cast<std::size_t>(i) + 2);
    log.places.push_back(place_on_lateral(field, i % 16, 0.5 + 0.6 * i));
    log.time_s.push_back(2 * i);
    log.duration_s.push_back(2);
    log.distance_m.push_back(3);
    log.swath_m.push_back(4.5);
    log.mass_flow_kg_s.push_back(6);
    log.moisture_frac.push_back(0.18);
    log.yield_t_ha.push_back(10 + 0.01 * i);
    log.machine.push_back(0);
    cleaned.yield_t_ha.push_back(i % 9 == 1 ? std::nan("") : 9 + 0.01 * i);
    cleaned.step.push_back(static_cast<SetAside>(i % 9));
    cleaned.pass.push_back(i / 30);
    cleaned.heading_deg.push_back(i / 30 % 2 == 0 ? 90 : 270);
    cleaned.cut_width_m.push_back(4.2);
  }
  log.machines = {"harvester one"};
  log.has_mass_flow = true;
  log.basis_frac = 0.14;
  log.set_aside = 3;
  log.method_text = "yield from mass flow at 14 % moisture";
  cleaned.travel_time = {
      12, true, {6, 12, 18}, {0.09, 0.03, 0.08}, "opposite passes agree best at 12 s"};
  for (int s = 1; s < 9; ++s) {
    cleaned.steps.push_back({static_cast<SetAside>(s), 10, "made up for a test", "nobody"});
  }
  cleaned.before = {{40, 5, 1.1}, {50, 15, 1.6}};
  cleaned.after = {{30, 5, 0.4}, {45, 15, 0.9}};
  cleaned.opposite_pass_difference_before = 0.061;
  cleaned.opposite_pass_difference_after = 0.012;
  cleaned.summary = "10 of 90 records are kept";
  harvest.map.yield = scaled(made_relative(field, grid), 9);
  harvest.map.standard_error = scaled(made_relative(field, grid), 0.25);
  harvest.map.variogram = {VariogramShape::spherical, 0.1, 0.8, 20, 0, 1};
  harvest.map.method_text = "block kriging of cells of 1 m";
  return harvest;
}

inline CropPatch made_patch(const Field& field, PatchShape shape, int lateral) {
  CropPatch patch;
  patch.zone = 0;
  const Line& line = field.laterals[static_cast<std::size_t>(lateral)].line;
  patch.area = strip_along(line, 0.5);
  patch.area_m2 = 60;
  patch.level = 0.8;
  patch.deficit_m2 = 12;
  patch.first_lateral = lateral;
  patch.last_lateral = lateral + 1;
  patch.laterals = 2;
  patch.from_m = 20;
  patch.to_m = 60;
  patch.to_the_end = true;
  patch.p = 0.002;
  patch.shape = shape;
  patch.shape_p = 0.01;
  patch.told = "two laterals are low from 20 m to the far end; look at the first emitter there";
  return patch;
}

inline Association made_association(std::size_t pairs, const std::string& verdict) {
  Association association;
  association.test.pairs = static_cast<int>(pairs);
  association.test.correlation = 0.55;
  association.test.effective_pairs = 14;
  association.test.p = 0.04;
  association.test.lower_90 = 0.1;
  association.test.upper_90 = 0.8;
  association.regression.slope = 0.4;
  association.regression.slope_error = 0.1;
  association.regression.converged = true;
  association.local.assign(pairs, LocalAssociation::none);
  association.local.front() = LocalAssociation::both_low;
  association.local_p.assign(pairs, 0.4);
  association.verdict = verdict;
  return association;
}

inline void add_findings(const Field& field, HeardLayer& heard) {
  heard.headland = {4.5, 0.9, "both ends yield 10 % less"};
  heard.stripes.push_back(
      {12, 0.03, 0.01, true, true, "stripes of 12 m, a stated width", {0, 1}, 0});
  heard.water.explained = {{"elevation", 0.12, 0.03}, {"broad trend", 0.21, 0}};
  heard.water.rest_sd = 0.07;
  heard.water.method_text = "least squares on trend and elevation";
  for (int z = 0; z < 2; ++z) {
    LateralProfile profile;
    profile.zone = z;
    profile.bins = {
        {5, 1.05, 1.01, 1.09, 16}, {30, 1.0, 0.97, 1.03, 16}, {55, 0.9, 0.86, 0.94, 16}};
    profile.fall = -0.15;
    profile.fall_lower_90 = -0.2;
    profile.fall_upper_90 = -0.1;
    profile.tail_level = 0.9;
    profile.verdict = "in zone Z" + std::to_string(z + 1) +
                      ": the crop falls by 15 % (10 to 20) toward the far end";
    heard.profiles.push_back(profile);
  }
  heard.segments = {{0, 0, 10, 1.02, 0}, {0, 10, 20, std::nan(""), 1}};
  CropEvidence evidence;
  evidence.id = heard.layer.id;
  evidence.data.assign(4, {place_on_lateral(field, 0, 10), 9, 0.4, 3, 4.5F, 1, 90, false});
  evidence.typical = {3, 4.5, 1, 90};
  evidence.smallest_width_m = 4.5;
  evidence.smallest_length_m = 20;
  evidence.laterals_seen = 3;
  evidence.told = "a record spans 3 laterals: single laterals are not seen";
  heard.evidence = evidence;
  heard.screening.patches = {made_patch(field, PatchShape::follows_laterals, 2),
                             made_patch(field, PatchShape::follows_zone, 5),
                             made_patch(field, PatchShape::ignores_laterals, 8),
                             made_patch(field, PatchShape::not_told, 11)};
  heard.screening.summary = "four places are lower than chance would make them";
}

/// Three dates or seasons as one: the first lateral low on two of them.
inline CropOverDates made_over_dates(const HeardCrop& heard, const std::string& kind,
                                     const std::string& season) {
  const Raster relative = made_relative(heard.field, heard.grid);
  CropOverDates joined;
  joined.id = season.empty() ? kind : kind + "_" + season;
  joined.kind = kind;
  joined.season = season;
  if (season.empty()) {
    joined.dates = {{"2023", "a"}, {"2024", "b"}, {"2025", "2025-yield"}};
  } else {
    joined.dates = {{"2025-06-01", "a"}, {"2025-06-21", "b"}, {"2025-07-31", "c"}};
  }
  joined.stability = {relative, scaled(relative, 0.1), 3, "mean of three"};
  joined.low_dates = relative;
  for (std::size_t i = 0; i < relative.values.size(); ++i) {
    if (relative.has_value(i)) joined.low_dates.set(i, static_cast<double>(i % 4));
  }
  joined.share_low_on = {0.5, 0.2, 0.2, 0.1};
  joined.steady_share = 0.6;
  joined.median_variation = 0.04;
  for (const CropStatistics& zone : heard.layers.front().zones)
    joined.zones.push_back({zone.name, zone.zone, -1, 3, 1, 0.97, 0.02, {0.99, 0.98, 0.94}});
  for (const CropStatistics& lateral : heard.layers.front().laterals)
    joined.laterals.push_back(
        {lateral.name, lateral.zone, lateral.lateral, 3, 0, 1.02, 0.01, {1.02, 1.03, 1.01}});
  joined.laterals.front().low = 2;
  joined.laterals.front().level = 0.85;
  joined.laterals.front().each = {0.8, 0.8, 0.95};
  return joined;
}

/// A yield log and a raster of canopy temperature over the small field.
inline HeardCrop made_crop(const std::filesystem::path& folder) {
  HeardCrop heard;
  heard.version = "0.0.0";
  heard.libraries = "none";
  heard.seed = 7;
  heard.field = read_field(folder);
  throw_if_problem(heard.field.doubts);
  heard.grid = analysis_grid(heard.field);
  const Raster relative = made_relative(heard.field, heard.grid);
  for (const auto& [id, kind] :
       {std::pair{"2025-yield", "yield"}, std::pair{"warm", "canopy_temperature"}}) {
    HeardLayer one;
    one.layer.id = id;
    one.layer.kind = kind;
    one.layer.values = reader_of(scaled(relative, 9));
    one.layer.relative = reader_of(relative);
    one.layer.median = 9;
    one.layer.method_text = std::string("how ") + id + " was made";
    one.water.rest = one.layer.relative;
    one.zones = crop_by_zone(heard.field, one.layer);
    one.laterals = crop_by_lateral(heard.field, one.layer, {});
    heard.layers.push_back(std::move(one));
  }
  HeardLayer& yield = heard.layers.front();
  yield.layer.date = "2025-09-30";
  yield.layer.unit = "t/ha";
  yield.harvest = made_harvest(heard.field, heard.grid);
  add_findings(heard.field, yield);
  yield.layer.doubts.push_back(
      {"mixed_units", Severity::doubt, {"log.csv", "", 5, ""}, "odd", "", "", ""});
  HeardLayer& warm = heard.layers.back();
  warm.layer.unit = "C";
  warm.index = IndexLayer{};
  warm.index->name = "biomass";
  warm.index->pixel_m = 10;
  warm.index->values = warm.layer.values;
  warm.water.method_text = "nothing could be fitted";
  warm.screening.summary = "no place is lower than chance would make it";
  heard.discharge = MeasuredDischarge{"2026", "2026-05-01", {"a", "b"}, {}, {0.5, 1.1}, {}};
  heard.discharge->places = {place_on_lateral(heard.field, 0, 10),
                             place_on_lateral(heard.field, 1, 20)};
  heard.discharge->sites = {{heard.discharge->places[0], 0, 10, 0},
                            {heard.discharge->places[1], 1, 20, 0}};
  LayerAssociation pairs;
  pairs.emitters = {0, 1};
  pairs.crop = {0.8, 1.0};
  pairs.rest = {0.9, std::nan("")};
  pairs.neighbours_within_m = 25;
  pairs.along_m = 1.5;
  pairs.with_crop = made_association(2, "crop goes with discharge, r 0.55 (0.10 to 0.80)");
  yield.association = std::move(pairs);
  heard.over_dates = {made_over_dates(heard, "yield", ""),
                      made_over_dates(heard, "biomass", "2025")};
  return heard;
}

}  // namespace evendrip::test
