// SPDX-License-Identifier: Apache-2.0
// A condition made by plain formulas over a field of two zones: in the first, told by holes and
// crop, a few laterals are weak from the middle on, one is pinched at its inlet and of one the
// verdict hangs on the crop; the second was told without holes.
#pragma once

#include "evendrip/condition/field_condition.hpp"
#include "evendrip/field/field.hpp"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>
#include <vector>

namespace evendrip::test {

inline constexpr int weak_first = 5;  ///< rows that are weak from the middle on
inline constexpr int weak_last = 8;
inline constexpr int pinched_row = 2;
inline constexpr int open_row = 12;  ///< the verdict hangs on the slope of the crop
inline constexpr int low_crop_row = 3;

inline double share_below(double mean, double sd, double limit) {
  return 0.5 * std::erfc((mean - limit) / (sd * std::sqrt(2.0)));
}

inline bool is_weak(const SegmentGrid& grid, int row, int station) {
  return row >= weak_first && row <= weak_last && station >= grid.stations() / 2;
}

inline void make_parts(ZoneState& zone) {
  const SegmentGrid& grid = zone.grid;
  ConditionEstimate& estimate = zone.condition.estimate;
  estimate.level = -0.01;
  for (int k = 0; k < grid.stations(); ++k)
    estimate.along.push_back(0.02 - 0.06 * (k + 0.5) / grid.stations());
  for (int row = 0; row < grid.rows(); ++row) {
    estimate.own.push_back(0.02 * std::sin(1.3 * row));
    estimate.group.push_back(0.01 * std::cos(0.4 * row));
  }
  for (int row = 0; row < grid.rows(); ++row) {
    for (int k = 0; k < grid.stations(); ++k) {
      estimate.local.push_back(is_weak(grid, row, k) ? -0.32 : 0);
      zone.network.change.push_back(row == pinched_row ? -0.27 : 0);
      const double moved = estimate.level + estimate.along[static_cast<std::size_t>(k)] +
                           estimate.own[static_cast<std::size_t>(row)] +
                           estimate.group[static_cast<std::size_t>(row)] + estimate.local.back();
      zone.moved_by.holes.push_back(0.5 * moved);
      zone.moved_by.crop.push_back(0.4 * moved);
      zone.moved_by_meter.push_back(0.05 * moved);
      zone.moved_by_spread.push_back(0.05 * moved);
    }
  }
}

inline void make_segments(ZoneState& zone, const Thresholds& thresholds) {
  const SegmentGrid& grid = zone.grid;
  const ConditionEstimate& estimate = zone.condition.estimate;
  constexpr double emitter_sd = 0.06;
  for (int row = 0; row < grid.rows(); ++row) {
    for (int k = 0; k < grid.stations(); ++k) {
      if (!grid.present(row, k)) continue;
      const auto segment = static_cast<std::size_t>(grid.segment(row, k));
      SegmentCondition one;
      one.row = row;
      one.station = k;
      const double r = 1 + estimate.level + estimate.along[static_cast<std::size_t>(k)] +
                       estimate.own[static_cast<std::size_t>(row)] +
                       estimate.group[static_cast<std::size_t>(row)] + estimate.local[segment];
      const double sd = 0.03 + 0.002 * std::abs(row - 8);
      one.performance = judged(r, sd);
      one.delivery = judged(r + zone.network.change[segment], sd);
      const double spread = std::hypot(sd, emitter_sd);
      one.p_clogged = share_below(one.performance.value, spread, thresholds.clogged_below);
      one.p_low = share_below(one.delivery.value, spread, thresholds.low_below);
      one.slope_holds = row != open_row;
      zone.segments.push_back(one);
    }
  }
}

inline CropVoice made_voice(const std::string& layer, bool used) {
  CropVoice voice;
  voice.layer = layer;
  voice.data = 1440;
  voice.smallest_width_m = 1.5;
  voice.smallest_length_m = 12;
  voice.used = used;
  voice.why = used ? "Laterals left out are foretold better with it."
                   : "It spans seven laterals and says nothing of single ones.";
  voice.fine_enough = used;
  if (used)
    voice.placebo = PlaceboRank{19, 0, 14.2, {}, 0.05, true, "No other layout does as well."};
  return voice;
}

inline ZoneState zone_by_holes(const Field& field, const std::string& layer, std::size_t holes) {
  ZoneState zone;
  zone.zone = 0;
  zone.judged = true;
  zone.grid = segment_grid(field, 0, 5);
  make_parts(zone);
  make_segments(zone, field.thresholds);
  zone.condition.plugged.assign(holes, 0.02);
  if (holes > 0) zone.condition.plugged.front() = 0.97;
  zone.condition.plugged_share = 0.04;
  FoundFault fault;
  fault.fault = {FaultKind::pinch, true, zone.grid.laterals[pinched_row], 0, 0.8};
  fault.log_odds = 6.3;
  fault.delivery = 0.73;
  fault.runner_up = "emitters clogged along the lateral";
  fault.told = "lateral " + field.laterals[static_cast<std::size_t>(fault.fault.line)].id +
               ": inlet narrowed, delivery beyond it 73 % of clean";
  fault.places = {{{fault.fault, {fault.fault.line}}, 0.75, {}},
                  {{fault.fault, {fault.fault.line}}, 0.25, {}}};
  fault.places.back().shared.fault.station_m = 6;
  zone.network.faults = {fault};
  zone.network.told = "One fault of a pipe explains what holes and crop show.";
  zone.voices = {made_voice(layer, true), made_voice("coarse", false)};
  zone.layer_used = layer;
  zone.verified = true;
  zone.told = "With the crop laterals left out are foretold better.";
  zone.shares = {0.05, 0.06, 0.04, 0.2, 0.05, 0.4, 0.05, 0.02, 0.13};
  const Point first = field.laterals[static_cast<std::size_t>(zone.grid.laterals[0])].line.front();
  zone.crop_places = {first, {first.x + 500, first.y}};
  zone.condition.estimate.soil = {0.07, -0.2};
  zone.condition.estimate.edge = {-0.04, 0};
  zone.condition.estimate.ground = {0.03, -0.03};
  zone.uniformity = {judged(0.78, 0.02), judged(0.84, 0.015), 0.86, 200};
  return zone;
}

/// What was no water in a layer from before irrigation, a layer that contradicts, and the rest.
inline void add_doubts(ZoneState& zone) {
  const SegmentGrid& grid = zone.grid;
  zone.layer_before = "early";
  for (int row = 0; row < grid.rows(); ++row)
    for (int k = 0; k < grid.stations(); ++k) zone.crop_before.push_back(row == 10 ? -0.2 : 0.01);
  zone.contradictions = {{"coarse", {grid.segment(9, 0), grid.segment(9, 1)}}};
  zone.bend = CropKink{0.9, 0};
  zone.doubtful = "two laterals run with the passes";
  zone.done_since = "since then the log has flush";
}

inline ZoneState zone_without_holes(const Field& field, const std::string& layer) {
  ZoneState zone;
  zone.zone = 1;
  zone.judged = false;
  zone.why_not = "no hole was dug in it";
  zone.grid = segment_grid(field, 1, 5);
  zone.layer_used = layer;
  zone.told = "Without holes nothing can be verified.";
  for (int row = 0; row < zone.grid.rows(); ++row)
    for (int k = 0; k < zone.grid.stations(); ++k)
      zone.unverified_crop.push_back(row == low_crop_row ? -0.2 : 0.01);
  zone.voices = {made_voice(layer, true)};
  return zone;
}

/// `layer`: id of the crop layer used; `holes`: dug emitters of the first zone.
inline FieldCondition made_condition(const Field& field, const std::string& layer,
                                     std::size_t holes) {
  FieldCondition condition;
  condition.zones = {zone_by_holes(field, layer, holes), zone_without_holes(field, layer)};
  return condition;
}

}  // namespace evendrip::test
