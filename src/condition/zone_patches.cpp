// SPDX-License-Identifier: Apache-2.0
// Sharp patches in the model of a zone: what holes and crop see of them.
#include "evendrip/condition/zone_model.hpp"

#include "zone_state.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

namespace evendrip {

std::vector<double> share_of_segments(const SegmentGrid& grid, const SharpPatch& patch) {
  std::vector<double> share(at(grid.segments()), 0);
  for (int station = 0; station < grid.stations(); ++station) {
    const double from_m = grid.stations_m[at(station)] - 0.5 * grid.step_m;
    const double in_m = std::min(patch.to_m, from_m + grid.step_m) - std::max(patch.from_m, from_m);
    for (int row = patch.first_row; row < patch.end_row; ++row)
      share[at(grid.segment(row, station))] = std::clamp(in_m / grid.step_m, 0.0, 1.0);
  }
  return share;
}

double ZoneModel::State::share_at(const HoleDatum& hole, const SharpPatch& sharp,
                                  std::span<const double> share_of_segment) const {
  if (!std::isfinite(hole.station_m))
    return share_of_segment[at(grid.segment(hole.row, hole.station))];
  return sharp.holds(hole.row, hole.station_m) ? 1 : 0;
}

double ZoneModel::State::share_of_crop(int row, std::span<const double> weights,
                                       const SharpPatch& sharp,
                                       std::span<const double> share_of_segment) const {
  const double station_m = crop_stations_m[at(row)];
  const double half_m = 0.5 * crop_lengths_m[at(row)];
  const double share_along = std::clamp(
      (std::min(sharp.to_m, station_m + half_m) - std::max(sharp.from_m, station_m - half_m)) /
          (2 * half_m),
      0.0, 1.0);
  double share = 0;
  for (std::size_t i = crop_segments.begins[at(row)]; i < crop_segments.begins[at(row) + 1]; ++i) {
    const int segment = crop_segments.columns_of[i];
    const int lateral = segment / grid.stations();
    if (lateral < sharp.first_row || lateral >= sharp.end_row) continue;
    share += weights[i] * (std::isfinite(station_m) ? share_along : share_of_segment[at(segment)]);
  }
  return share;
}

void ZoneModel::State::add_to_crop(std::size_t which, int first, std::span<const double> weights,
                                   std::vector<SparseEntry>& entries) const {
  for (int row = 0; row < crop_segments.rows; ++row)
    if (const double share = share_of_crop(row, weights, patches[which], patch_shares[which]);
        share != 0)
      entries.push_back({row, first + static_cast<int>(which), share});
}

void ZoneModel::State::set_patches(std::vector<SharpPatch> there) {
  patches = std::move(there);
  patch_shares.clear();
  for (const SharpPatch& one : patches) patch_shares.push_back(share_of_segments(grid, one));
  solved.reset();
  factor.reset();
  set_holes();
  see_soil();
  see_water();
  sum.emplace(matrices);
}

void ZoneModel::State::see_soil() {
  std::vector<SparseEntry> entries;
  for (std::size_t k = 0; k < patches.size(); ++k)
    if (patches[k].of_soil) add_to_crop(k, places.soil_patches, crop_weights, entries);
  const SparseMatrix sharp = sparse_matrix(crop_segments.rows, places.all, entries);
  rest_rows = sum_of(even_rest, sharp);
  soil_rows = sum_of(even_soil, sharp);
  matrices[rest_rest] = weighted_square(rest_rows, std::vector<double>(crop_count, 1));
}

void ZoneModel::set_patches(std::vector<SharpPatch> patches) {
  State& s = *state_;
  if (patches == s.patches) return;
  require(s.places.patches >= 0, "a zone without crop has no sharp patches");
  require(patches.size() <= most_patches, "there are too many sharp patches");
  for (const SharpPatch& patch : patches)
    require(patch.first_row >= 0 && patch.first_row < patch.end_row &&
                patch.end_row <= s.grid.rows() && patch.from_m < patch.to_m,
            "a sharp patch is empty or lies beyond the laterals");
  for (ZoneModel& few : s.coarser) few.set_patches(patches);
  s.set_patches(std::move(patches));
}

const std::vector<SharpPatch>& ZoneModel::patches() const {
  return state_->patches;
}

std::vector<ResponseTest> ZoneModel::tested_patches(const ConditionParameters& parameters,
                                                    std::span<const SharpPatch> patches) const {
  State& s = *state_;
  const auto seen_of = [&](std::size_t k) {
    const SharpPatch& patch = patches[k];
    const std::vector<double> shares = share_of_segments(s.grid, patch);
    State::SeenChange seen;
    for (const HoleDatum& hole : s.holes) seen.at_holes.push_back(s.share_at(hole, patch, shares));
    for (int row = 0; row < s.crop_segments.rows; ++row)
      seen.by_crop.push_back(s.share_of_crop(row, s.crop_segments.values, patch, shares));
    return seen;
  };
  return s.tested(parameters, patches.size(), seen_of, {});
}

}  // namespace evendrip
