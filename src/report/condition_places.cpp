// SPDX-License-Identifier: Apache-2.0
#include "evendrip/report/condition_places.hpp"

#include "evendrip/surface/discharge_map.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/format.h>

namespace evendrip {
namespace {

std::size_t at_index(int index) {
  return static_cast<std::size_t>(index);
}

/// 0 where an estimate has no such part.
double part_of_estimate(const std::vector<double>& parts, int index) {
  return at_index(index) < parts.size() ? parts[at_index(index)] : 0;
}

/// All segments of the patch that holds a segment; each is taken once.
SegmentPatch patch_from(const SegmentGrid& grid, int first, std::vector<char>& open) {
  SegmentPatch patch;
  std::vector<int> next{first};
  open[at_index(first)] = 0;
  const auto take = [&](int row, int station) {
    if (row < 0 || station < 0 || row >= grid.rows() || station >= grid.stations()) return;
    const int segment = grid.segment(row, station);
    if (open[at_index(segment)] == 0) return;
    open[at_index(segment)] = 0;
    next.push_back(segment);
  };
  while (!next.empty()) {
    const int segment = next.back();
    next.pop_back();
    patch.segments.push_back(segment);
    const int row = segment / grid.stations();
    const int station = segment % grid.stations();
    take(row - 1, station);
    take(row + 1, station);
    take(row, station - 1);
    take(row, station + 1);
  }
  std::sort(patch.segments.begin(), patch.segments.end());
  return patch;
}

void measure(const SegmentGrid& grid, SegmentPatch& patch) {
  patch.first_row = patch.segments.front() / grid.stations();
  patch.last_row = patch.segments.back() / grid.stations();
  patch.from_m = std::numeric_limits<double>::infinity();
  for (const int segment : patch.segments) {
    const int row = segment / grid.stations();
    const int station = segment % grid.stations();
    patch.from_m = std::min(patch.from_m, station * grid.step_m);
    patch.to_m =
        std::max(patch.to_m, std::min((station + 1) * grid.step_m, grid.lengths_m[at_index(row)]));
  }
}

}  // namespace

bool told_without_holes(const ZoneState& zone) {
  return !zone.unverified_crop.empty();
}

double water_shaped_crop(const ZoneState& zone, int row, int station) {
  const auto segment = at_index(zone.grid.segment(row, station));
  return segment < zone.unverified_crop.size() ? 1 + zone.unverified_crop[segment]
                                               : std::numeric_limits<double>::quiet_NaN();
}

std::string to_text(WaterVerdict verdict) {
  switch (verdict) {
    case WaterVerdict::enough:
      return "enough";
    case WaterVerdict::low:
      return "low";
    case WaterVerdict::not_known:
      break;
  }
  return "not known";
}

WaterVerdict verdict_on(const SegmentCondition& segment, const Thresholds& thresholds) {
  if (!segment.verdict_holds() ||
      too_uncertain({segment.delivery.lower_90, segment.delivery.upper_90}, thresholds))
    return WaterVerdict::not_known;
  return segment.p_low > 0.5 ? WaterVerdict::low : WaterVerdict::enough;
}

WaterParts parts_at(const ZoneState& zone, int row, int station) {
  const ConditionEstimate& estimate = zone.condition.estimate;
  const int segment = zone.grid.segment(row, station);
  return {estimate.level,
          part_of_estimate(estimate.along, station),
          part_of_estimate(estimate.own, row),
          part_of_estimate(estimate.group, row),
          part_of_estimate(estimate.local, segment),
          lost_in_company(zone.condition, at_index(segment)),
          part_of_estimate(zone.network.change, segment),
          part_of_estimate(zone.moved_by.holes, segment),
          part_of_estimate(zone.moved_by.crop, segment),
          part_of_estimate(zone.moved_by_meter, segment),
          part_of_estimate(zone.moved_by_spread, segment)};
}

ConditionPlaces::ConditionPlaces(const Field& field, const FieldCondition& condition)
    : condition_(&condition),
      zone_of_lateral_(field.laterals.size(), -1),
      row_of_lateral_(field.laterals.size(), -1) {
  for (std::size_t z = 0; z < condition.zones.size(); ++z) {
    const ZoneState& zone = condition.zones[z];
    for (int row = 0; row < zone.grid.rows(); ++row) {
      const auto lateral = at_index(zone.grid.laterals[at_index(row)]);
      zone_of_lateral_.at(lateral) = static_cast<int>(z);
      row_of_lateral_.at(lateral) = row;
    }
    std::vector<int> positions(at_index(zone.grid.segments()), -1);
    for (std::size_t k = 0; k < zone.segments.size(); ++k) {
      const SegmentCondition& one = zone.segments[k];
      positions.at(at_index(zone.grid.segment(one.row, one.station))) = static_cast<int>(k);
    }
    positions_.push_back(std::move(positions));
  }
}

std::optional<ConditionPlaces::Found> ConditionPlaces::at(int lateral, double station_m) const {
  if (lateral < 0 || at_index(lateral) >= zone_of_lateral_.size()) return std::nullopt;
  const int z = zone_of_lateral_[at_index(lateral)];
  if (z < 0) return std::nullopt;
  const ZoneState& zone = condition_->zones[at_index(z)];
  Found found{&zone, row_of_lateral_[at_index(lateral)], zone.grid.station_of(station_m), nullptr};
  // The last segment of a short lateral reaches to its end.
  while (found.station > 0 && !zone.grid.present(found.row, found.station)) --found.station;
  const int position =
      positions_[at_index(z)][at_index(zone.grid.segment(found.row, found.station))];
  if (position >= 0) found.segment = &zone.segments[at_index(position)];
  return found;
}

std::vector<SegmentPatch> patches_where(const SegmentGrid& grid,
                                        const std::function<bool(int, int)>& within) {
  std::vector<char> open(at_index(grid.segments()), 0);
  for (int row = 0; row < grid.rows(); ++row)
    for (int station = 0; station < grid.stations(); ++station)
      if (grid.present(row, station) && within(row, station))
        open[at_index(grid.segment(row, station))] = 1;
  std::vector<SegmentPatch> patches;
  for (int segment = 0; segment < grid.segments(); ++segment) {
    if (open[at_index(segment)] == 0) continue;
    patches.push_back(patch_from(grid, segment, open));
    measure(grid, patches.back());
  }
  std::stable_sort(patches.begin(), patches.end(), [](const auto& a, const auto& b) {
    return a.segments.size() > b.segments.size();
  });
  return patches;
}

std::vector<ToldSharpPatch> sharp_patches(const ZoneState& zone) {
  std::vector<ToldSharpPatch> out;
  for (const SharpPatch& sharp : zone.condition.patches) {
    const std::vector<double> shares = share_of_segments(zone.grid, sharp);
    const auto on_ground = patches_where(zone.grid, [&](int row, int station) {
      return shares[at_index(zone.grid.segment(row, station))] > 0;
    });
    if (on_ground.empty()) continue;
    SegmentPatch patch = on_ground.front();
    patch.from_m = std::max(patch.from_m, sharp.from_m);
    patch.to_m = std::min(patch.to_m, sharp.to_m);
    out.push_back({std::move(patch), sharp.of_soil});
  }
  return out;
}

std::string told_place(const Field& field, const SegmentGrid& grid, const SegmentPatch& patch) {
  const auto id = [&](int row) {
    return field.laterals[at_index(grid.laterals[at_index(row)])].id;
  };
  const std::string_view unit = report_unit(Dimension::length, field.report_units);
  const auto shown = [&](double station_m) {
    return std::lround(from_canonical(station_m, unit, Dimension::length));
  };
  const std::string lines =
      patch.first_row == patch.last_row
          ? "lateral " + id(patch.first_row)
          : fmt::format("laterals {} to {}", id(patch.first_row), id(patch.last_row));
  return fmt::format("{}, {} to {} {}", lines, shown(patch.from_m), shown(patch.to_m), unit);
}

std::vector<int> emitters_of_segments(const Field& field, const SegmentGrid& grid) {
  std::vector<int> counts(at_index(grid.segments()), 0);
  for (int row = 0; row < grid.rows(); ++row) {
    const Lateral& lateral = field.laterals[at_index(grid.laterals[at_index(row)])];
    const EmitterSpec& spec = field.zones[at_index(lateral.zone)].emitter;
    for (int e = 1; e <= lateral.emitters; ++e) {
      int station = grid.station_of(emitter_station_m(spec, e));
      while (station > 0 && !grid.present(row, station)) --station;
      ++counts[at_index(grid.segment(row, station))];
    }
  }
  return counts;
}

}  // namespace evendrip
