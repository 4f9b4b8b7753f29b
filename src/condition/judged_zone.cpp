// SPDX-License-Identifier: Apache-2.0
#include "judged_zone.hpp"

#include "bent_choice.hpp"
#include "evidence_ages.hpp"
#include "zone_doubts.hpp"
#include "zone_system.hpp"
#include "zone_voices.hpp"

#include "evendrip/condition/zone_data.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace evendrip {
namespace {

constexpr double most_segments = 4000;
constexpr double least_change = -0.8;  ///< where a network passes less, performance is not known

double step_of(const Field& field, int zone, double wished_m) {
  double longest_m = 0;
  int laterals = 0;
  for (const Lateral& lateral : field.laterals) {
    if (lateral.zone != zone) continue;
    ++laterals;
    longest_m = std::max(longest_m, lateral.length_m);
  }
  return std::max(wished_m, laterals * longest_m / most_segments);
}

bool has_laterals(const Field& field, int zone) {
  return std::any_of(field.laterals.begin(), field.laterals.end(), [&](const Lateral& lateral) {
    return lateral.zone == zone && lateral.line.size() > 1 && lateral.length_m > 0;
  });
}

/// Chance that an emitter delivers less than what counts as low, where the pipes pass that much.
double chance_low(const ZoneQuestion& q, int zone, const ZoneCondition& condition,
                  const Judged& delivery, double passed) {
  const double emitter = emitter_sd(q, zone, condition) * passed;
  return chance_below(condition.clogging, {delivery.value, passed}, delivery.sd * delivery.sd,
                      emitter * emitter, q.field.thresholds.low_below);
}

/// Delivery is as little known as where faults of the pipes lie.
void add_places(const NetworkExplanation& network, ConditionEstimate& estimate) {
  for (std::size_t i = 0; i < network.change_variance.size(); ++i)
    estimate.r_variance[i] += network.change_variance[i];
}

/// What is said of a segment by an estimate.
Judged delivery_of(const ZoneCondition& condition, const ConditionEstimate& estimate,
                   std::size_t segment) {
  const KnownShare known = place_delivery(condition, estimate, segment);
  return judged(known.mean, std::sqrt(known.variance));
}

SegmentCondition condition_of(const ZoneQuestion& q, const ZoneState& state, int row, int station) {
  const auto i = static_cast<std::size_t>(state.grid.segment(row, station));
  const ZoneCondition& zone = state.condition;
  const double change = state.network.change.empty() ? 0 : state.network.change[i];
  SegmentCondition out;
  out.row = row;
  out.station = station;
  out.delivery = delivery_of(zone, zone.estimate, i);
  const double passed = 1 + change;
  if (change > least_change) {
    const double by_places =
        state.network.change_variance.empty() ? 0 : state.network.change_variance[i];
    const double sd = std::sqrt(std::max(0.0, out.delivery.sd * out.delivery.sd - by_places));
    out.performance = judged(out.delivery.value / passed, sd / passed);
  } else {
    const double nan = std::numeric_limits<double>::quiet_NaN();
    out.performance = {nan, nan, nan, nan};
  }
  const double emitter = emitter_sd(q, state.zone, zone);
  out.p_low = chance_low(q, state.zone, zone, out.delivery, passed);
  out.p_clogged = chance_below(zone.clogging, {out.performance.value, 1},
                               out.performance.sd * out.performance.sd, emitter * emitter,
                               q.field.thresholds.clogged_below);
  return out;
}

void fill_segments(const ZoneQuestion& q, ZoneState& state) {
  for (int row = 0; row < state.grid.rows(); ++row)
    for (int station = 0; station < state.grid.stations(); ++station)
      if (state.grid.present(row, station))
        state.segments.push_back(condition_of(q, state, row, station));
}

/// Verdicts that flip where the crop answers half or twice as much are not known.
void try_slopes(const ZoneQuestion& q, const ZoneModel& model, ZoneState& state) {
  const ConditionParameters& fitted = state.condition.fit.parameters;
  for (const double factor : {0.5, 2.0}) {
    ConditionParameters p = fitted;
    p.response *= factor;
    auto other = model.estimate(p);
    if (!other) continue;
    add_places(state.network, *other);
    if (state.meter) move_estimate(*state.meter, *other);
    for (SegmentCondition& segment : state.segments) {
      const auto i = static_cast<std::size_t>(state.grid.segment(segment.row, segment.station));
      const double p_low = chance_low(q, state.zone, state.condition,
                                      delivery_of(state.condition, *other, i), passed_at(state, i));
      if ((p_low > 0.5) != (segment.p_low > 0.5)) segment.slope_holds = false;
    }
  }
}

double variance_of(const std::vector<double>& values) {
  double mean = 0;
  for (const double v : values) mean += v / static_cast<double>(values.size());
  double sum = 0;
  for (const double v : values) sum += (v - mean) * (v - mean);
  return values.empty() ? 0 : sum / static_cast<double>(values.size());
}

CropShares shares_of(const ZoneState& state, const std::vector<CropDatum>& crop) {
  const ConditionEstimate& estimate = state.condition.estimate;
  const int stations = state.grid.stations();
  // Mean over each footprint of a part that `part` tells by segment.
  const auto seen = [&](const auto& part) {
    std::vector<double> values;
    values.reserve(crop.size());
    for (const CropDatum& datum : crop) {
      double sum = 0;
      for (std::size_t k = 0; k < datum.segments.size(); ++k)
        sum += datum.weights[k] * part(datum.segments[k]);
      values.push_back(state.condition.fit.parameters.response * sum);
    }
    return variance_of(values);
  };
  const auto at = [](const std::vector<double>& values, int i) {
    return values[static_cast<std::size_t>(i)];
  };
  CropShares shares;
  shares.water_station = seen([&](int s) { return at(estimate.along, s % stations); });
  shares.water_lateral = seen([&](int s) { return at(estimate.own, s / stations); });
  shares.water_group = seen([&](int s) { return at(estimate.group, s / stations); });
  shares.water_local = seen([&](int s) { return at(estimate.local, s); });
  if (!state.network.change.empty())
    shares.network = seen([&](int s) { return at(state.network.change, s); });
  shares.soil = variance_of(estimate.soil);
  shares.edge = variance_of(estimate.edge);
  shares.ground = variance_of(estimate.ground);
  const double error = state.condition.fit.parameters.crop_error;
  shares.error = error * error;
  const double all = shares.water_station + shares.water_lateral + shares.water_group +
                     shares.water_local + shares.network + shares.soil + shares.edge +
                     shares.ground + shares.error;
  for (double* share :
       {&shares.water_station, &shares.water_lateral, &shares.water_group, &shares.water_local,
        &shares.network, &shares.soil, &shares.edge, &shares.ground, &shares.error})
    *share = all > 0 ? *share / all : 0;
  return shares;
}

/// Faults of the network while the data pay for them; the rest is fitted again about them.
void explain(const ZoneQuestion& q, ZoneModel& model, ZoneState& state, const Work& work) {
  if (!q.expected.computed || q.reference != ReferenceKind::clean_system) {
    state.network.told =
        "the network was not asked: " +
        (q.expected.why_not.empty() ? "delivery is not known" : q.expected.why_not);
    return;
  }
  ZoneModel asked(model);
  // What pipes may have done is not to be taken for a patch before they are asked.
  std::optional<ZoneCondition> without;
  if (!state.condition.patches.empty())
    without = zone_condition(asked, q.field.thresholds.clogged_below,
                             state.condition.fit.parameters, work, PatchSearch::none);
  const ZoneCondition& before = without ? *without : state.condition;
  state.network = explain_by_network(q.field, q.survey, q.expected, asked, before.fit.parameters,
                                     hole_weights(before.plugged), work, q.shared_meter);
  if (state.network.faults.empty()) return;
  model.set_known_change(asked.known_change());
  auto again =
      zone_condition(model, q.field.thresholds.clogged_below, state.condition.fit.parameters);
  if (again) state.condition = *std::move(again);
  add_places(state.network, state.condition.estimate);
}

/// What moved each segment, at the best parameters; the rest is what mixing over others adds.
void trace_sources(const ZoneModel& model, ZoneState& state) {
  const ZoneCondition& zone = state.condition;
  auto sources = model.sources(zone.fit.parameters);
  if (!sources) return;
  const std::vector<double>& change = model.known_change();
  if (state.meter)
    for (const double per_unit : state.meter->pull.moved.r)
      state.moved_by_meter.push_back(state.meter->moved * per_unit);
  for (std::size_t i = 0; i < zone.estimate.r.size(); ++i)
    state.moved_by_spread.push_back(zone.estimate.r[i] - 1 - (change.empty() ? 0 : change[i]) -
                                    sources->holes[i] - sources->crop[i] -
                                    (state.meter ? state.moved_by_meter[i] : 0));
  // Holes alone tell where emitters are plugged.
  for (std::size_t i = 0; i < zone.estimate.r.size(); ++i)
    sources->holes[i] += lost_in_company(zone, i);
  state.moved_by = *std::move(sources);
}

/// A response of the crop that bends, if the data ask for one.
void bend(const ZoneQuestion& q, const Heard& layer, ZoneModel& model, ZoneState& state,
          const Work& work) {
  const auto choice = choose_bend(model, q.field.thresholds.clogged_below, state.condition, work);
  if (!choice) return;
  state.bend = choice->kink;
  state.voices[layer.layer].why += fmt::format(
      "; its response bends: beyond {:.0f} % of a clean system's delivery more water makes no more "
      "crop (log posterior higher by {:.1f}, log score of a hole by {:.2f})",
      100 * choice->kink.need, choice->gain, choice->score_gain);
}

}  // namespace

double emitter_sd(const ZoneQuestion& q, int zone, const ZoneCondition& condition) {
  return std::hypot(condition.fit.parameters.emitter,
                    q.field.zones[static_cast<std::size_t>(zone)].emitter.manufacturing_cv);
}

double passed_at(const ZoneState& state, std::size_t segment) {
  return state.network.change.empty() ? 1 : std::max(0.0, 1 + state.network.change[segment]);
}

double chance_low(const ZoneQuestion& q, int zone, const ZoneCondition& condition,
                  std::size_t segment) {
  return chance_low(q, zone, condition, delivery_of(condition, condition.estimate, segment), 1);
}

ZoneState zone_state(const ZoneQuestion& q, int zone, const Work& work) {
  ZoneState state;
  state.zone = zone;
  state.reference = q.reference;
  if (!has_laterals(q.field, zone)) {
    state.why_not = "the zone has no laterals";
    return state;
  }
  state.grid = segment_grid(q.field, zone, step_of(q.field, zone, q.options.segment_m));
  state.done_since = done_since(q.field, q.survey, zone);
  const std::vector<HoleDatum> holes = hole_data(state.grid, q.samples);
  const std::vector<Heard> heard = heard_in(q, holes, state, work);
  if (holes.empty()) {
    hear_unverified(q, heard, state, work);
    state.why_not = q.why_no_holes + ": crop and gauges only, not verified";
    return state;
  }
  const Heard* layer = chosen_layer(q, holes, heard, state, work);
  const std::vector<CropDatum> none;
  const std::vector<CropDatum>& crop = layer == nullptr ? none : layer->data;
  ZoneModel model(state.grid, holes, crop,
                  layer == nullptr ? ranges_of(state.grid, 1) : layer->ranges(state.grid));
  if (layer == nullptr) {
    auto alone = zone_condition(model, q.field.thresholds.clogged_below, {}, work);
    if (!alone) {
      state.why_not = "no parameters fit its holes";
      return state;
    }
    state.condition = *std::move(alone);
  } else {
    state.layer_used = state.voices[layer->layer].layer;
    set_as_judged(model, state.condition);
    bend(q, *layer, model, state, work);
  }
  explain(q, model, state, work);
  listen_to_meter(q, model, state);
  state.judged = true;
  fill_segments(q, state);
  if (layer != nullptr) {
    try_slopes(q, model, state);
    doubt_passes(q, layer->evidence(q), holes, state);
    doubt_contradicted(state);
    state.shares = shares_of(state, crop);
    for (const CropDatum& datum : crop) state.crop_places.push_back(datum.place);
  }
  trace_sources(model, state);
  draw_system(q, model, holes, state);
  return state;
}

}  // namespace evendrip
