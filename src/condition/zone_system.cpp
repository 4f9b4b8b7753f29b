// SPDX-License-Identifier: Apache-2.0
#include "zone_system.hpp"

#include "likely_places.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "evendrip/condition/parameter_design.hpp"
#include "evendrip/uniformity/uniformity.hpp"

namespace evendrip {
namespace {

constexpr double told_move = 0.001;  ///< of the mean, from which it is worth a word

EmitterSegments emitters_of(const Field& field, const SegmentGrid& grid) {
  const EmitterSpec& spec = field.zones[static_cast<std::size_t>(grid.zone)].emitter;
  EmitterSegments all;
  for (int row = 0; row < grid.rows(); ++row) {
    const int lateral = grid.laterals[static_cast<std::size_t>(row)];
    std::vector<int> segments;
    for (int e = 1; e <= field.laterals[static_cast<std::size_t>(lateral)].emitters; ++e)
      segments.push_back(grid.segment(row, grid.station_of(emitter_station_m(spec, e))));
    all.push_back(std::move(segments));
  }
  return all;
}

/// Mean over all emitters of each draw, plugged ones with half of what they can give at most.
Judged mean_delivery(const std::vector<std::vector<double>>& draws, const EmitterSegments& emitters,
                     const EmitterSpread& spread, std::uint64_t seed) {
  std::vector<double> means;
  for (std::size_t draw = 0; draw < draws.size(); ++draw) {
    double sum = 0;
    double count = 0;
    for (const std::vector<int>& line : emitters)
      for (const int segment : line) {
        sum += std::max(0.0, draws[draw][static_cast<std::size_t>(segment)]);
        count += 1;
      }
    const double sound = count > 0 ? sum / count : 0;
    const double share = drawn_share(spread, seed, draw);
    means.push_back((1 - share) * sound + share * spread.clogging.plugged_below / 2);
  }
  return judged_by(std::move(means));
}

std::vector<int> emitters_by_segment(const EmitterSegments& emitters, int segments) {
  std::vector<int> counts(static_cast<std::size_t>(segments), 0);
  for (const std::vector<int>& line : emitters)
    for (const int segment : line) ++counts[static_cast<std::size_t>(segment)];
  return counts;
}

/// What speaks of the zone's flow, where delivery is over a clean system's.
std::optional<MeterDatum> meter_of(const ZoneQuestion& q) {
  if (q.reference != ReferenceKind::clean_system) return std::nullopt;
  return speaking_meter(q.field, q.survey, q.expected, q.shared_meter);
}

/// What the zone's own meter says beside the estimate before it was heard.
void tell_meter(const ZoneQuestion& q, ZoneState& state) {
  if (q.reference != ReferenceKind::clean_system) return;
  const auto meter = meter_datum(q.field, q.survey, q.expected);
  if (!meter) return;
  state.told = meter_against(*meter, state.mean_unmetered.value, state.mean_unmetered.sd);
  if (state.meter && std::abs(state.meter->moved) >= told_move)
    state.told += fmt::format("; heard as one datum of many, it moves the zone's mean by {:+.1f} %",
                              100 * state.meter->moved);
}

/// What measuring alone adds, the spread of emitters as made left out of a hole's noise.
std::vector<SpreadDatum> spread_data(const ZoneQuestion& q, const ZoneState& state,
                                     const std::vector<HoleDatum>& holes) {
  const double made = q.field.zones[static_cast<std::size_t>(state.zone)].emitter.manufacturing_cv;
  std::vector<SpreadDatum> data;
  for (std::size_t i = 0; i < holes.size(); ++i)
    data.push_back({state.grid.segment(holes[i].row, holes[i].station), holes[i].value,
                    std::max(0.0, holes[i].noise_variance - made * made),
                    1 - state.condition.plugged[i]});
  return data;
}

EmitterSpread spread_of(const ZoneQuestion& q, const ZoneState& state,
                        const std::vector<HoleDatum>& holes) {
  const ZoneCondition& zone = state.condition;
  EmitterSpread spread;
  spread.sd = emitter_sd(q, state.zone, zone);
  spread.seen = static_cast<double>(holes.size()) + emitters_seen_before;
  spread.clogging = zone.clogging;
  for (int i = 0; i < state.grid.segments(); ++i)
    spread.passed.push_back(passed_at(state, static_cast<std::size_t>(i)));
  return spread;
}

}  // namespace

void listen_to_meter(const ZoneQuestion& q, const ZoneModel& model, ZoneState& state) {
  const auto meter = meter_of(q);
  if (!meter) return;
  const auto emitters =
      emitters_by_segment(emitters_of(q.field, state.grid), state.grid.segments());
  state.meter =
      hear_meter(*meter, model, emitters, q.field.thresholds.clogged_below, state.condition);
}

void draw_system(const ZoneQuestion& q, const ZoneModel& model, const std::vector<HoleDatum>& holes,
                 ZoneState& state) {
  const ZoneCondition& zone = state.condition;
  const EmitterSegments emitters = emitters_of(q.field, state.grid);
  EmitterSpread spread = spread_of(q, state, holes);
  auto draws =
      mixed_draws(model, zone.fit.design, zone.fit.design_weights, q.options.draws, q.options.seed);
  spread.factors = drawn_factors(draws, spread_data(q, state, holes), spread, q.options.seed);
  draw_places(state.network, q.options.seed, draws);
  const auto with_plugged = [&](std::vector<std::vector<double>> sound) {
    draw_plugged(zone.places, q.options.seed, sound);
    return sound;
  };
  const auto mean_of = [&](const std::vector<std::vector<double>>& delivered) {
    return mean_delivery(delivered, emitters, spread, q.options.seed);
  };
  state.mean_unmetered = mean_of(with_plugged(draws));
  if (state.meter)
    move_draws(*state.meter, emitters_by_segment(emitters, state.grid.segments()), draws);
  draws = with_plugged(std::move(draws));
  state.mean_delivery = mean_of(draws);
  state.uniformity =
      model_uniformity(draws, emitters, spread, q.options.emitters_per_plant, q.options.seed);
  if (holes.size() >= 4) {
    std::vector<double> caught;
    caught.reserve(holes.size());
    for (const HoleDatum& hole : holes) caught.push_back(std::max(0.0, hole.value));
    state.uniformity.sample = low_quarter_uniformity(caught);
  }
  if (!draws.empty()) tell_meter(q, state);
}

}  // namespace evendrip
