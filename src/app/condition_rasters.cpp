// SPDX-License-Identifier: Apache-2.0
#include "condition_rasters.hpp"

#include "evendrip/io/raster_file.hpp"
#include "evendrip/report/condition_method.hpp"
#include "evendrip/report/tables.hpp"

#include "rasters.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <utility>

namespace evendrip {
namespace {

void set_judged(const Judged& judged, std::size_t cell, bool certain,
                const std::array<Raster*, 4>& rasters) {
  const std::array values{judged.value, judged.sd, judged.lower_90, judged.upper_90};
  for (std::size_t k = 0; k < rasters.size(); ++k) {
    if (!std::isfinite(values[k])) {
      rasters[k]->clear(cell, Reason::too_few);
      continue;
    }
    rasters[k]->set(cell, values[k]);
    const bool is_error = k == 1;
    if (!certain && !is_error) rasters[k]->reasons[cell] = Reason::too_uncertain;
  }
}

void set_probability(double p, std::size_t cell, bool certain, Raster& raster) {
  raster.set(cell, p);
  if (!certain) raster.reasons[cell] = Reason::too_uncertain;
}

void set_segment(const SegmentCondition& segment, const Thresholds& thresholds, bool holes,
                 std::size_t cell, ConditionPart& part) {
  const auto certain = [&](const Judged& judged) {
    return holes && segment.verdict_holds() &&
           !too_uncertain({judged.lower_90, judged.upper_90}, thresholds);
  };
  const bool delivery = certain(segment.delivery);
  const bool performance = certain(segment.performance);
  set_judged(segment.delivery, cell, delivery,
             {&part.delivery, &part.delivery_sd, &part.delivery_lower, &part.delivery_upper});
  set_judged(
      segment.performance, cell, performance,
      {&part.performance, &part.performance_sd, &part.performance_lower, &part.performance_upper});
  // Without holes nothing is said of single emitters.
  if (!holes) return;
  set_probability(segment.p_low, cell, delivery, part.p_low);
  set_probability(segment.p_clogged, cell, performance, part.p_clogged);
}

std::vector<Raster*> all_of(ConditionPart& part) {
  return {&part.delivery,
          &part.delivery_sd,
          &part.delivery_lower,
          &part.delivery_upper,
          &part.p_low,
          &part.performance,
          &part.performance_sd,
          &part.performance_lower,
          &part.performance_upper,
          &part.p_clogged,
          &part.station,
          &part.lateral,
          &part.group,
          &part.local,
          &part.company,
          &part.network,
          &part.crop,
          &part.soil,
          &part.edge,
          &part.ground};
}

void set_parts(const WaterParts& parts, std::size_t cell, ConditionPart& part) {
  part.station.set(cell, parts.station);
  part.lateral.set(cell, parts.lateral);
  part.group.set(cell, parts.group);
  part.local.set(cell, parts.local);
  part.company.set(cell, parts.company);
  part.network.set(cell, parts.network);
}

struct File {
  GeotiffWriter writer;
  std::vector<const Raster ConditionPart::*> bands;
};

/// Its method is the condition's, not the surface's.
class Files {
 public:
  Files(const Story& story, const std::filesystem::path& folder)
      : story_(story), folder_(folder), record_(record_of(story)) {
    for (auto& [key, value] : record_)
      if (key == "method") value = condition_method(story);
  }
  void add(const std::string& name, std::vector<GeotiffBand> bands,
           std::vector<const Raster ConditionPart::*> parts) {
    files_.push_back(
        {GeotiffWriter(folder_ / (name + ".tif"), story_.surface.grid(), story_.field.crs,
                       GeotiffOptions{std::move(bands), record_, block_rows}),
         std::move(parts)});
  }
  void write(const Window& window, const ConditionPart& part) {
    for (File& file : files_) {
      std::vector<Raster> bands;
      bands.reserve(file.bands.size());
      for (const Raster ConditionPart::*band : file.bands) bands.push_back(part.*band);
      file.writer.write(window, bands);
    }
  }
  void finish(const Work& work) {
    for (File& file : files_) file.writer.finish(work);
  }

 private:
  const Story& story_;
  const std::filesystem::path& folder_;
  std::vector<std::pair<std::string, std::string>> record_;
  std::vector<File> files_;
};

void add_files(const Story& story, Files& files) {
  using Part = ConditionPart;
  const Thresholds& thresholds = story.field.thresholds;
  const auto below = [](double limit) { return fmt::format("probability_below_{:g}", limit); };
  files.add("delivery", {{"delivery", ""}}, {&Part::delivery});
  files.add("delivery_error", {{"standard_error", ""}}, {&Part::delivery_sd});
  files.add("delivery_limits", {{"lower_90", ""}, {"upper_90", ""}},
            {&Part::delivery_lower, &Part::delivery_upper});
  files.add("probability_delivery_low", {{below(thresholds.low_below), ""}}, {&Part::p_low});
  files.add("performance", {{"performance", ""}}, {&Part::performance});
  files.add("performance_error", {{"standard_error", ""}}, {&Part::performance_sd});
  files.add("performance_limits", {{"lower_90", ""}, {"upper_90", ""}},
            {&Part::performance_lower, &Part::performance_upper});
  files.add("probability_performance_clogged", {{below(thresholds.clogged_below), ""}},
            {&Part::p_clogged});
  files.add("condition_station", {{"part_along_laterals_alike", ""}}, {&Part::station});
  files.add("condition_lateral", {{"part_of_single_laterals", ""}}, {&Part::lateral});
  files.add("condition_group", {{"part_of_groups_of_laterals", ""}}, {&Part::group});
  files.add("condition_local", {{"part_of_a_few_laterals", ""}}, {&Part::local});
  files.add("condition_network", {{"change_by_network_faults", ""}}, {&Part::network});
  if (any_company(story))
    files.add("condition_company", {{"part_of_emitters_plugged_in_company", ""}}, {&Part::company});
  const CropCells crop(story);
  if (crop.any())
    files.add("condition_soil", {{"soil_and_stand_over_crop_median", ""}}, {&Part::soil});
  if (crop.any_edge())
    files.add("condition_edge", {{"ends_of_laterals_over_crop_median", ""}}, {&Part::edge});
  if (crop.any_ground())
    files.add("condition_ground", {{"elevation_and_soil_map_over_crop_median", ""}},
              {&Part::ground});
  if (any_told_without_holes(story))
    files.add("water_shaped_crop", {{"relative_crop_by_water", ""}}, {&Part::crop});
}

}  // namespace

bool any_company(const Story& story) {
  return std::any_of(story.condition.zones.begin(), story.condition.zones.end(),
                     [](const ZoneState& zone) { return !zone.condition.places.beyond.empty(); });
}

bool any_told_without_holes(const Story& story) {
  return std::any_of(story.condition.zones.begin(), story.condition.zones.end(),
                     told_without_holes);
}

CropCells::CropCells(const Story& story) {
  const auto any_in = [](const std::vector<double>& part) {
    return std::any_of(part.begin(), part.end(), [](double value) { return value != 0; });
  };
  for (std::size_t z = 0; z < story.condition.zones.size(); ++z) {
    const ZoneState& zone = story.condition.zones[z];
    const ConditionEstimate& estimate = zone.condition.estimate;
    const std::size_t data = zone.crop_places.size();
    zones_.emplace_back();
    if (data == 0 || estimate.soil.size() != data || estimate.edge.size() != data ||
        estimate.ground.size() != data)
      continue;
    const double ground_m2 = area_m2(story.field.zones[z].area) / static_cast<double>(data);
    zones_.back().emplace(
        ZoneCrop{PointIndex(zone.crop_places), &estimate, 1.5 * std::sqrt(ground_m2)});
    any_edge_ = any_edge_ || any_in(estimate.edge);
    any_ground_ = any_ground_ || any_in(estimate.ground);
  }
}

std::optional<CropCells::Parts> CropCells::at(Point place, int zone) const {
  const auto z = static_cast<std::size_t>(zone);
  if (zone < 0 || z >= zones_.size()) return std::nullopt;
  const std::optional<ZoneCrop>& crop = zones_[z];
  if (!crop) return std::nullopt;
  std::vector<NearPoint> found;
  crop->places.nearest(place, 1, crop->reach_m, found);
  if (found.empty()) return std::nullopt;
  const auto datum = static_cast<std::size_t>(found.front().point);
  const ConditionEstimate& estimate = *crop->estimate;
  return Parts{estimate.soil[datum], estimate.edge[datum], estimate.ground[datum]};
}

bool CropCells::any() const {
  return std::any_of(zones_.begin(), zones_.end(),
                     [](const auto& zone) { return zone.has_value(); });
}

ConditionCells::ConditionCells(const Story& story)
    : story_(&story),
      sites_(story.field, story.surface.grid()),
      places_(story.field, story.condition),
      crop_(story) {}

ConditionPart ConditionCells::over(const Window& window) const {
  const Raster blank(sub_grid(story_->surface.grid(), window), Reason::outside_zones);
  ConditionPart part;
  for (Raster* raster : all_of(part)) *raster = blank;
  const std::vector<Site> sites = sites_.over(window);
  for (std::size_t i = 0; i < sites.size(); ++i) {
    if (sites[i].zone < 0) continue;
    for (Raster* raster : all_of(part)) raster->clear(i, Reason::too_few);
    const auto seen = crop_.at(sites[i].place, sites[i].zone);
    for (Raster* raster : {&part.soil, &part.edge, &part.ground})
      raster->clear(i, Reason::no_source);
    if (seen) {
      part.soil.set(i, seen->soil);
      part.edge.set(i, seen->edge);
      part.ground.set(i, seen->ground);
    }
    const auto found = places_.at(sites[i].lateral, sites[i].station_m);
    if (!found) continue;
    const ZoneState& zone = *found->zone;
    if (!told_without_holes(zone)) part.crop.clear(i, Reason::not_computed);
    if (const double crop = water_shaped_crop(zone, found->row, found->station);
        std::isfinite(crop))
      part.crop.set(i, crop);
    if (found->segment == nullptr) continue;
    set_segment(*found->segment, story_->field.thresholds, !told_without_holes(zone), i, part);
    set_parts(parts_at(zone, found->row, found->station), i, part);
  }
  return part;
}

void write_condition_rasters(const Story& story, const std::filesystem::path& folder,
                             const Work& work) {
  if (story.condition.zones.empty()) return;
  const ConditionCells cells(story);
  Files files(story, folder);
  add_files(story, files);
  for_each_block(story.surface.grid(), work, [&](const Window& window, const Work&) {
    files.write(window, cells.over(window));
  });
  files.finish(without_progress(work));
}

}  // namespace evendrip
