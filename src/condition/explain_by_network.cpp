// SPDX-License-Identifier: Apache-2.0
#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "evendrip/condition/network_faults.hpp"
#include "fault_search.hpp"
#include "fault_words.hpp"
#include "likely_places.hpp"
#include "lumped_network.hpp"

namespace evendrip {
namespace {

constexpr std::size_t most_faults = 12;
constexpr double starves = -0.02;   ///< segments that lose more are touched by a fault
constexpr double close_behind = 5;  ///< a runner-up that gains so much less is told
constexpr double gauges_speak = 1;  ///< a gain from which the gauges bear a fault out

/// Mean of the segments that an effect touches, over what they had before.
double delivery_left(const FaultEffect& before, const FaultEffect& after) {
  double sum = 0;
  double least = 1;
  int touched = 0;
  for (std::size_t i = 0; i < after.change.size(); ++i) {
    if (!(1 + before.change[i] > 0)) continue;
    const double left = (1 + after.change[i]) / (1 + before.change[i]);
    least = std::min(least, left);
    if (left - 1 > starves) continue;
    sum += left;
    ++touched;
  }
  return touched > 0 ? sum / touched : least;
}

SharedFault shared_of(const FoundFault& found) {
  return {found.fault, found.laterals};
}

class Explanation {
 public:
  Explanation(const Field& field, const ZoneNetwork& network, FaultSearch& search,
              FaultEvidence& evidence)
      : field_(field), network_(network), search_(search), evidence_(evidence) {}

  NetworkExplanation take() {
    while (out_.faults.size() < most_faults && add_one()) take_in_earlier();
    for (const double gain : gauge_gains_) out_.gauge_gain += gain;
    place_faults();
    out_.told = told();
    return std::move(out_);
  }

 private:
  bool add_one() {
    const std::vector<TriedFault> places = search_.best_places(evidence_);
    if (places.empty()) return false;
    const TriedFault& best = places.front();
    if (!(search_.log_odds(best) > 0)) {
      nearly_ = fmt::format("{} comes nearest, {:.1f} short of what {} candidates ask",
                            fault_words(field_, network_, best.shared), -search_.log_odds(best),
                            search_.candidates());
      return false;
    }
    const FaultEffect before = evidence_.known();
    search_.accept(best.shared, evidence_);
    add(best, before, runner_up(places));
    return true;
  }

  /// Faults of neighbours that are one; the search has its faults in the same order.
  void take_in_earlier() {
    while (true) {
      const auto taken = search_.take_in(evidence_);
      if (!taken) return;
      const auto earlier = static_cast<std::ptrdiff_t>(taken->earlier);
      out_.faults.pop_back();
      gauge_gains_.pop_back();
      out_.faults.erase(out_.faults.begin() + earlier);
      gauge_gains_.erase(gauge_gains_.begin() + earlier);
      add(taken->one, taken->before, "");
    }
  }

  /// Where each may lie, and what is delivered over all of that.
  void place_faults() {
    const std::vector<double> known = evidence_.known().change;
    for (std::size_t i = 0; i < out_.faults.size(); ++i) {
      FoundFault& found = out_.faults[i];
      found.places = likely_places(search_, i, evidence_);
      if (is_place_of(found, found.runner_up)) found.runner_up.clear();
      found.told = words_of(found, gauge_gains_[i]);
    }
    deliver_over_places(known, out_);
  }

  bool is_place_of(const FoundFault& found, const std::string& words) const {
    return std::any_of(found.places.begin(), found.places.end(), [&](const LikelyPlace& place) {
      return fault_words(field_, network_, place.shared) == words;
    });
  }

  /// A fault that is among what is known now.
  void add(const TriedFault& accepted, const FaultEffect& before, std::string runner_up) {
    FoundFault found;
    found.fault = accepted.shared.fault;
    found.laterals = accepted.shared.laterals;
    if (!found.laterals.empty()) found.fault.line = found.laterals[found.laterals.size() / 2];
    found.log_odds = search_.log_odds(accepted);
    found.delivery = delivery_left(before, evidence_.known());
    found.runner_up = std::move(runner_up);
    gauge_gains_.push_back(accepted.gain.gauges);
    out_.faults.push_back(std::move(found));
  }

  /// The next place that is another one in words, if it gains nearly as much.
  std::string runner_up(const std::vector<TriedFault>& places) const {
    const TriedFault& best = places.front();
    const std::string first = fault_words(field_, network_, best.shared);
    for (const TriedFault& other : places) {
      std::string words = fault_words(field_, network_, other.shared);
      if (words != first && search_.log_odds(best) - search_.log_odds(other) < close_behind)
        return words;
    }
    return "";
  }

  std::string words_of(const FoundFault& found, double gauge_gain) const {
    std::string text = fault_words(field_, network_, shared_of(found), found.delivery) +
                       reach_words(field_, network_, found.places);
    if (!found.runner_up.empty()) text += fmt::format("; nearly as likely: {}", found.runner_up);
    if (gauge_gain < gauges_speak && found.fault.kind != FaultKind::cut)
      text += "; clogging of all emitters beyond it would look alike: a gauge at the far end tells";
    return text;
  }

  std::string told() const {
    if (out_.faults.empty()) {
      return nearly_.empty()
                 ? fmt::format("no fault of the pipes is in the data ({} candidates tried)",
                               search_.candidates())
                 : "no fault of the pipes is sure: " + nearly_;
    }
    std::string text =
        fmt::format("{} of the pipes in the data: ",
                    out_.faults.size() == 1 ? std::string("one fault")
                                            : fmt::format("{} faults", out_.faults.size()));
    for (std::size_t i = 0; i < out_.faults.size(); ++i)
      text += (i > 0 ? "; " : "") +
              fault_words(field_, network_, shared_of(out_.faults[i]), out_.faults[i].delivery);
    return text;
  }

  const Field& field_;
  const ZoneNetwork& network_;
  FaultSearch& search_;
  FaultEvidence& evidence_;
  NetworkExplanation out_;
  std::vector<double> gauge_gains_;  ///< of each fault
  std::string nearly_;
};

}  // namespace

NetworkExplanation explain_by_network(const Field& field, const Survey& survey,
                                      const ExpectedZone& expected, ZoneModel& model,
                                      const ConditionParameters& parameters,
                                      std::span<const double> hole_weights, const Work& work,
                                      const std::optional<MeterDatum>& shared_meter) {
  const SegmentGrid& grid = model.grid();
  model.set_known_change({});
  const int seen = model.laterals_seen();
  std::vector<SharedFault> candidates = shared_candidates(field, grid, expected, seen);
  if (candidates.empty() || !expected.network) {
    NetworkExplanation nothing;
    nothing.change.assign(static_cast<std::size_t>(grid.segments()), 0.0);
    nothing.told = "faults of the pipes are not searched for: " +
                   (expected.why_not.empty() ? std::string("no lateral is joined to its supply")
                                             : expected.why_not);
    return nothing;
  }
  // Widths of laterals and what holes tell of their places were made without any fault.
  model.set_lateral_widths({});
  model.set_hole_sites({});
  const ZoneNetwork& network = *expected.network;
  std::vector<GaugeReading> readings = gauge_readings(field, survey, expected);
  std::vector<GaugedPlace> places;
  places.reserve(readings.size());
  for (const GaugeReading& reading : readings) places.push_back(reading.place);
  const FaultyZone lumped(grid, lumped_network(grid, network), places);
  const FaultyZone exact(grid, network, places);
  const GaugeEvidence gauges(field.zones[static_cast<std::size_t>(expected.zone)], expected,
                             std::move(readings), exact.clean().gauged_kpa, grid, lumped.network());
  const auto meter = speaking_meter(field, survey, expected, shared_meter);
  FaultEvidence evidence(model, parameters, hole_weights, field.thresholds.clogged_below, gauges,
                         meter, exact.clean());
  FaultSearch search(lumped, exact, grid, std::move(candidates), seen, work);
  NetworkExplanation explanation = Explanation(field, network, search, evidence).take();
  if (!explanation.faults.empty()) model.set_known_change(explanation.change);
  return explanation;
}

}  // namespace evendrip
