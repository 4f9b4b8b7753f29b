// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/patches.hpp"

#include <algorithm>
#include <array>
#include <cstddef>
#include <limits>
#include <set>
#include <span>

#include <fmt/format.h>

#include "evendrip/base/random.hpp"
#include "evendrip/crop/zonal.hpp"
#include "evendrip/crs/overlay.hpp"
#include "layout_scan.hpp"
#include "length_words.hpp"
#include "low_areas.hpp"
#include "machine_runs.hpp"
#include "patch_words.hpp"
#include "screened_ground.hpp"
#include "strips.hpp"
#include "zone_limits.hpp"

namespace evendrip {
namespace {

constexpr int draws = 99;
/// Room is left below one in twenty: pixels lie along laterals more often than along turned lines.
constexpr double told_p = 0.02;
constexpr double least_angle_deg = 20;       ///< a layout turned by less is much the same
constexpr double sliver_in_spacings = 0.25;  ///< half the widest gap that is closed
constexpr double outline_in_gaps = 0.05;     ///< of the rounding that closing leaves
constexpr double low_share = 0.5;   ///< of the deficit of crop_low_below: less is not low ground
constexpr double same_depth = 0.5;  ///< of low ground: a shallower trough does not explain it
constexpr double block_in_spacings = 3;
/// Certainty that a shape is one of water (common practice, no source).
constexpr double certainty_not_told = 0.5;
constexpr double certainty_ignores = 0.1;

double uniform(std::mt19937_64& stream) {
  return static_cast<double>(stream() >> 11U) * 0x1.0p-53;
}

Turn turn_of(std::uint64_t seed, std::size_t draw) {
  std::mt19937_64 stream = item_stream(seed, {1, draw});
  Turn turn;
  turn.angle_deg = least_angle_deg + (180 - 2 * least_angle_deg) * uniform(stream);
  turn.across = uniform(stream);
  turn.along = uniform(stream);
  return turn;
}

ScreenedGround ground_of(const Field& field, const RasterReader& rest, double headland_m,
                         const CropEvidence* evidence, const Work& work) {
  ScreenedGround ground = screened_ground(field, rest, headland_m, work);
  take_out_waves(evidence, ground);
  return ground;
}

double rank_among(const std::vector<double>& ascending, double score) {
  const auto beaten = ascending.end() - std::lower_bound(ascending.begin(), ascending.end(), score);
  return static_cast<double>(1 + beaten) / static_cast<double>(1 + ascending.size());
}

class Screening {
 public:
  Screening(const Field& field, const RasterReader& rest, double smallest_width_m,
            double headland_m, const CropEvidence* evidence, const Work& work)
      : field_(field),
        rest_(rest),
        work_(work),
        resolved_m_(smallest_width_m),
        low_(1 - low_share * (1 - field.thresholds.crop_low_below)),
        machines_(field, evidence),
        ground_(ground_of(field, rest, headland_m, evidence, work)),
        scan_(field, ground_, smallest_width_m),
        explained_(ground_.zone.size(), 0) {}

  CropScreening screen(double false_discovery_rate, std::uint64_t seed) {
    add_zones(seed);
    draw_placebos(seed);
    add_troughs();
    add_edge_runs();
    add_low_ground(false_discovery_rate);
    finish();
    return std::move(out_);
  }

 private:
  void add_zones(std::uint64_t seed);
  void draw_placebos(std::uint64_t seed);
  void add_troughs();
  void add_edge_runs();
  void add_low_ground(double false_discovery_rate);
  void finish();
  double rank_of(double score) const { return rank_among(placebos_, score); }
  bool overlaps(const Trough& a, const Trough& b) const;
  MultiPolygon strips_of(std::span<const int> laterals, const Trough& trough) const;
  CropPatch& add(const Trough& trough, double p);
  PatchShape shape_of(CropPatch& patch) const;
  double ground_area_m2(const MultiPolygon& area) const {
    return area_m2(area) / (field_.scale_factor * field_.scale_factor);
  }

  const Field& field_;
  const RasterReader& rest_;
  const Work& work_;
  double resolved_m_;
  double low_;
  MachineRuns machines_;
  ScreenedGround ground_;
  LayoutScan scan_;
  std::vector<std::uint8_t> explained_;
  std::vector<double> placebos_;       ///< the best of each, ascending
  std::vector<double> placebo_sides_;  ///< of single sides
  std::vector<Trough> troughs_;        ///< the best first
  std::vector<Trough> edge_runs_;
  std::vector<Trough> taken_;
  CropScreening out_;
};

void Screening::add_zones(std::uint64_t seed) {
  for (const ZoneStep& step : low_zones(field_, ground_, resolved_m_, draws, seed, work_)) {
    if (step.p > told_p || step.level > low_) continue;
    CropPatch patch;
    patch.zone = step.zone;
    patch.area = field_.zones[static_cast<std::size_t>(step.zone)].area;
    patch.level = step.level;
    patch.p = patch.shape_p = step.p;
    patch.shape = PatchShape::follows_zone;
    for (std::size_t i = 0; i < field_.laterals.size(); ++i) {
      const Lateral& lateral = field_.laterals[i];
      if (lateral.zone != step.zone) continue;
      if (patch.laterals++ == 0) patch.first_lateral = static_cast<int>(i);
      patch.last_lateral = static_cast<int>(i);
      patch.to_m = std::max(patch.to_m, lateral.length_m);
    }
    patch.to_the_end = true;
    for (std::size_t i = 0; i < explained_.size(); ++i)
      if (ground_.zone[i] == step.zone) explained_[i] = 1;
    out_.patches.push_back(std::move(patch));
  }
}

void Screening::draw_placebos(std::uint64_t seed) {
  const std::size_t zones = field_.zones.size();
  std::vector<BestScores> best(static_cast<std::size_t>(draws) * zones);
  for_each_chunk(work_, best.size(), 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i)
      best[i] = scan_.best_when(static_cast<int>(i % zones), turn_of(seed, i / zones));
  });
  for (std::size_t d = 0; d < static_cast<std::size_t>(draws) && zones > 0; ++d) {
    BestScores of_draw;
    for (std::size_t z = 0; z < zones; ++z) {
      of_draw.trough = std::max(of_draw.trough, best[d * zones + z].trough);
      of_draw.side = std::max(of_draw.side, best[d * zones + z].side);
    }
    placebos_.push_back(of_draw.trough);
    placebo_sides_.push_back(of_draw.side);
  }
  std::sort(placebos_.begin(), placebos_.end());
  std::sort(placebo_sides_.begin(), placebo_sides_.end());
  for (std::size_t z = 0; z < zones; ++z) {
    for (Trough& trough : scan_.troughs(static_cast<int>(z))) troughs_.push_back(std::move(trough));
    for (Trough& run : scan_.edge_runs(static_cast<int>(z))) edge_runs_.push_back(std::move(run));
  }
  const auto better = [](const Trough& a, const Trough& b) { return a.score > b.score; };
  std::stable_sort(troughs_.begin(), troughs_.end(), better);
  std::stable_sort(edge_runs_.begin(), edge_runs_.end(), better);
}

bool Screening::overlaps(const Trough& a, const Trough& b) const {
  if (a.zone != b.zone) return false;
  const int apart = scan_.together(a.zone);
  return a.first_row <= b.last_row + apart && b.first_row <= a.last_row + apart &&
         a.from_m < b.to_m && b.from_m < a.to_m;
}

MultiPolygon Screening::strips_of(std::span<const int> laterals, const Trough& trough) const {
  const LateralStrips strips(field_);
  MultiPolygon area;
  for (const int lateral : laterals)
    area = union_of(area, strips.between(lateral, trough.from_m, trough.to_m));
  if (laterals.size() < 2) return area;
  // Laterals do not lie quite a spacing apart, so strips leave slivers between them.
  const Zone& zone = field_.zones[static_cast<std::size_t>(trough.zone)];
  const double gap_m = sliver_in_spacings * zone.lateral.spacing_m * field_.scale_factor;
  const MultiPolygon closed = buffer_of(buffer_of(area, gap_m), -gap_m);
  return simplified(intersection_of(closed, zone.area), outline_in_gaps * gap_m);
}

CropPatch& Screening::add(const Trough& trough, double p) {
  CropPatch patch;
  patch.zone = trough.zone;
  patch.level = trough.level;
  patch.laterals = static_cast<int>(trough.laterals.size());
  patch.first_lateral = trough.laterals.front();
  patch.last_lateral = trough.laterals.back();
  patch.from_m = trough.from_m;
  patch.to_m = trough.to_m;
  patch.to_the_end = trough.to_the_end;
  patch.p = patch.shape_p = p;
  patch.runs_with_passes = machines_.alike(trough);
  patch.shape = patch.runs_with_passes ? PatchShape::not_told : PatchShape::follows_laterals;
  patch.area = strips_of(trough.laterals, trough);
  const std::array shapes{patch.area, strips_of(trough.beside, trough)};
  const auto seen = statistics_under(rest_, shapes, without_progress(work_));
  if (seen[1].mean > 0) patch.level = seen[0].mean / seen[1].mean;
  const std::set<int> inside(trough.laterals.begin(), trough.laterals.end());
  for (std::size_t i = 0; i < explained_.size(); ++i) {
    if (ground_.zone[i] != trough.zone || !inside.contains(ground_.lateral[i])) continue;
    const double station_m = double{ground_.station_m[i]};
    if (station_m >= trough.from_m && station_m <= trough.to_m) explained_[i] = 1;
  }
  taken_.push_back(trough);
  out_.patches.push_back(std::move(patch));
  return out_.patches.back();
}

void Screening::add_troughs() {
  for (const Trough& trough : troughs_) {
    const double p = rank_of(trough.score);
    if (p > told_p) break;
    if (!(trough.level <= low_)) continue;
    if (std::none_of(taken_.begin(), taken_.end(),
                     [&](const Trough& other) { return overlaps(trough, other); }))
      add(trough, p);
  }
}

/// Runs that the limit of the field leaves without their other side. Margins are low for reasons of
/// their own (shade, traffic, drift) and lie along laterals, with nothing beyond to hold them
/// against: no statistic of the crop tells them from water, so that their shape is not told.
void Screening::add_edge_runs() {
  for (const Trough& run : edge_runs_) {
    const double p = rank_among(placebo_sides_, run.score);
    if (p > told_p) break;
    if (!(run.level <= low_)) continue;
    if (std::any_of(taken_.begin(), taken_.end(),
                    [&](const Trough& other) { return overlaps(run, other); }))
      continue;
    CropPatch& patch = add(run, p);
    patch.shape = PatchShape::not_told;
    patch.at_field_limit = true;
  }
}

/// Of low ground that no trough explains: whether a fault of its depth and length would have shown.
PatchShape Screening::shape_of(CropPatch& patch) const {
  for (const Trough& trough : troughs_) {
    if (trough.zone != patch.zone || trough.from_m > patch.to_m || trough.to_m < patch.from_m ||
        1 - trough.level < same_depth * (1 - patch.level))
      continue;
    const auto [low, high] = std::minmax(patch.first_lateral, patch.last_lateral);
    if (std::none_of(trough.laterals.begin(), trough.laterals.end(),
                     [&, lo = low, hi = high](int l) { return l >= lo && l <= hi; }))
      continue;
    patch.shape_p = rank_of(trough.score);
    break;
  }
  if (patch.shape_p <= told_p || placebos_.empty() || patch.laterals > scan_.widest(patch.zone))
    return PatchShape::not_told;
  const double expected =
      scan_.expected_score(patch.zone, 1 - patch.level, patch.to_m - patch.from_m);
  return rank_of(expected) <= told_p ? PatchShape::ignores_laterals : PatchShape::not_told;
}

void Screening::add_low_ground(double false_discovery_rate) {
  double spacing_m = 0;
  for (const Zone& zone : field_.zones) spacing_m = std::max(spacing_m, zone.lateral.spacing_m);
  const double block_m = std::max(block_in_spacings * spacing_m, resolved_m_);
  for (LowArea& area : low_areas(ground_, block_m, explained_, false_discovery_rate, work_)) {
    if (area.level > low_ || ground_area_m2(area.area) < field_.analysis.smallest_area_m2) continue;
    CropPatch patch;
    patch.zone = area.zone;
    patch.area = std::move(area.area);
    patch.level = area.level;
    patch.p = area.p;
    std::set<int> laterals;
    patch.from_m = std::numeric_limits<double>::infinity();
    for (const std::size_t cell : area.cells) {
      laterals.insert(ground_.lateral[cell]);
      patch.from_m = std::min(patch.from_m, double{ground_.station_m[cell]});
      patch.to_m = std::max(patch.to_m, double{ground_.station_m[cell]});
    }
    patch.laterals = static_cast<int>(laterals.size());
    patch.first_lateral = *laterals.begin();
    patch.last_lateral = *laterals.rbegin();
    for (const int lateral : laterals)
      if (patch.to_m + area.side_m >= field_.laterals[static_cast<std::size_t>(lateral)].length_m)
        patch.to_the_end = true;
    patch.shape = shape_of(patch);
    out_.patches.push_back(std::move(patch));
  }
}

void Screening::finish() {
  const auto certainty = [](const CropPatch& patch) {
    if (patch.shape == PatchShape::not_told) return certainty_not_told;
    if (patch.shape == PatchShape::ignores_laterals) return certainty_ignores;
    return 1 - patch.shape_p;
  };
  for (CropPatch& patch : out_.patches) {
    patch.area_m2 = ground_area_m2(patch.area);
    patch.deficit_m2 = (1 - patch.level) * patch.area_m2;
    patch.told = patch_words(field_, patch);
  }
  std::stable_sort(out_.patches.begin(), out_.patches.end(),
                   [&](const CropPatch& a, const CropPatch& b) {
                     return a.deficit_m2 * certainty(a) > b.deficit_m2 * certainty(b);
                   });
  out_.summary = screening_words(field_, out_.patches);
  bool unseen = false;
  for (std::size_t z = 0; z < field_.zones.size(); ++z)
    unseen = unseen || scan_.together(static_cast<int>(z)) > 1;
  if (unseen)
    out_.doubts.push_back(
        {"crop_single_laterals_not_seen",
         Severity::note,
         {},
         fmt::format("low ground is looked for in widths of {} and more: single laterals are not "
                     "told from the layer, edges of groups are within that",
                     length_words(field_, std::max(resolved_m_, ground_.crop.grid.cell_m))),
         "",
         "",
         ""});
}

}  // namespace

CropScreening screen_crop(const Field& field, const RasterReader& rest, double smallest_width_m,
                          double headland_m, double false_discovery_rate, std::uint64_t seed,
                          const Work& work, const CropEvidence* evidence) {
  Screening screening(field, rest, smallest_width_m, headland_m, evidence, work);
  return screening.screen(false_discovery_rate, seed);
}

}  // namespace evendrip
