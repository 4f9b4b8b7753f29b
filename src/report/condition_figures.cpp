// SPDX-License-Identifier: Apache-2.0
#include "condition_figures.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

std::size_t at_index(int index) {
  return static_cast<std::size_t>(index);
}

/// Of each segment of the grid its condition, null where none is told.
std::vector<const SegmentCondition*> by_segment(const ZoneState& zone) {
  std::vector<const SegmentCondition*> out(at_index(zone.grid.segments()), nullptr);
  for (const SegmentCondition& one : zone.segments)
    out.at(at_index(zone.grid.segment(one.row, one.station))) = &one;
  return out;
}

ToldPatch told(SegmentPatch patch, const std::vector<const SegmentCondition*>& segments,
               const std::vector<int>& emitters) {
  ToldPatch out;
  double weights = 0;
  for (const int segment : patch.segments) {
    // A segment without an emitter counts a little, so that a patch of such has means.
    const double weight = std::max(emitters[at_index(segment)], 1);
    out.emitters += emitters[at_index(segment)];
    out.delivery += weight * segments[at_index(segment)]->delivery.value;
    out.performance += weight * segments[at_index(segment)]->performance.value;
    weights += weight;
  }
  out.delivery /= weights;
  out.performance /= weights;
  out.patch = std::move(patch);
  return out;
}

const CropLayer* layer_used(const Story& story, const ZoneState& zone) {
  const auto found = std::find_if(story.crops.begin(), story.crops.end(), [&](const auto& crop) {
    return crop.layer.id == zone.layer_used;
  });
  return found == story.crops.end() ? nullptr : &found->layer;
}

}  // namespace

std::vector<ConditionHole> holes_of(const Story& story, const ZoneState& zone) {
  const DischargeSamples& samples = story.surface.samples();
  std::vector<ConditionHole> holes;
  for (std::size_t i = 0; i < samples.samples.size(); ++i) {
    const Sample& sample = samples.samples[i];
    const int row = zone.grid.row_of(sample.site.lateral);
    if (row < 0) continue;
    holes.push_back(
        {samples.emitters[i], row, zone.grid.station_of(sample.site.station_m), sample.value, nan});
  }
  const std::vector<double>& plugged = zone.condition.plugged;
  for (std::size_t i = 0; i < holes.size() && plugged.size() == holes.size(); ++i)
    holes[i].plugged = plugged[i];
  return holes;
}

VerdictCounts verdicts_in(const Field& field, const ZoneState& zone) {
  const std::vector<int> emitters = emitters_of_segments(field, zone.grid);
  VerdictCounts counts;
  for (const SegmentCondition& one : zone.segments) {
    const int here = emitters[at_index(zone.grid.segment(one.row, one.station))];
    counts.low_one_by_one += one.p_low * here;
    switch (verdict_on(one, field.thresholds)) {
      case WaterVerdict::enough:
        counts.enough += here;
        break;
      case WaterVerdict::low:
        counts.low += here;
        break;
      case WaterVerdict::not_known:
        counts.not_known += here;
        break;
    }
  }
  return counts;
}

std::vector<ToldPatch> patches_of(const Field& field, const ZoneState& zone, WaterVerdict verdict) {
  const auto segments = by_segment(zone);
  const std::vector<int> emitters = emitters_of_segments(field, zone.grid);
  std::vector<ToldPatch> out;
  for (SegmentPatch& patch : patches_where(zone.grid, [&](int row, int station) {
         const SegmentCondition* one = segments[at_index(zone.grid.segment(row, station))];
         return one != nullptr && verdict_on(*one, field.thresholds) == verdict;
       }))
    out.push_back(told(std::move(patch), segments, emitters));
  std::stable_sort(out.begin(), out.end(),
                   [](const auto& a, const auto& b) { return a.emitters > b.emitters; });
  return out;
}

std::vector<CropPatchTold> low_crop_patches(const Field& field, const ZoneState& zone) {
  std::vector<CropPatchTold> out;
  const double limit = field.thresholds.crop_low_below;
  for (SegmentPatch& patch : patches_where(zone.grid, [&](int row, int station) {
         return water_shaped_crop(zone, row, station) < limit;
       })) {
    double sum = 0;
    for (const int segment : patch.segments)
      sum +=
          water_shaped_crop(zone, segment / zone.grid.stations(), segment % zone.grid.stations());
    const double mean = sum / static_cast<double>(patch.segments.size());
    out.push_back({std::move(patch), mean});
  }
  return out;
}

std::vector<SegmentPatch> contradicted_patches(const ZoneState& zone,
                                               const LayerContradiction& contradiction) {
  return patches_where(zone.grid, [&](int row, int station) {
    return std::binary_search(contradiction.segments.begin(), contradiction.segments.end(),
                              zone.grid.segment(row, station));
  });
}

std::vector<SegmentPatch> low_before_patches(const Field& field, const ZoneState& zone) {
  if (zone.crop_before.empty()) return {};
  return patches_where(zone.grid, [&](int row, int station) {
    return 1 + zone.crop_before[at_index(zone.grid.segment(row, station))] <
           field.thresholds.crop_low_below;
  });
}

std::string crop_deficit(const Story& story, const ZoneState& zone, double relative) {
  std::string share = fmt::format("{:.0f} % of the median", 100 * (1 - relative));
  const CropLayer* layer = layer_used(story, zone);
  if (layer == nullptr || layer->unit.empty() || layer->sense != CropSense::low_is_bad)
    return share;
  return fmt::format("{:.2g} {} ({})", (1 - relative) * layer->median, layer->unit, share);
}

bool has_crop_shares(const ZoneState& zone) {
  return !told_crop_shares(zone.shares).empty();
}

std::string judged_by(const ZoneState& zone) {
  if (told_without_holes(zone)) return "crop and gauges only, not verified";
  if (!zone.judged) return "not judged: " + zone.why_not;
  if (zone.layer_used.empty()) return "holes, without crop";
  return "holes and the crop layer " + zone.layer_used +
         (zone.verified ? "" : ", not verified by holes");
}

}  // namespace evendrip
