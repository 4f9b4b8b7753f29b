// SPDX-License-Identifier: Apache-2.0
#include "fault_search.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <utility>

namespace evendrip {
namespace {

constexpr std::size_t chunk = 8;
constexpr double beyond_search = 3;  ///< that a fault has to gain beyond the number of candidates
constexpr double near_threshold = 5;
constexpr std::size_t most_places = 6;
constexpr std::size_t looked_at = 60;  ///< candidates judged at all variants of the parameters
constexpr double least_open = 0.0005;
constexpr int severities = 14;
constexpr double largest_cut = 1.5;
constexpr double ladder = 1.7;      ///< from one severity to the next
constexpr double apart_frac = 0.2;  ///< of a line: places farther apart are two
constexpr int reach_steps = 3;
constexpr double step_frac = 0.0625;
constexpr double reach_frac = reach_steps * step_frac;

double length_of(const ZoneNetwork& network, const Fault& fault) {
  double length = 0;
  for (const NetworkLateral& lateral : network.laterals)
    if (fault.on_lateral && lateral.lateral == fault.line) length = lateral.stations_m.back();
  for (const NetworkSection& section : network.sections)
    if (!fault.on_lateral && section.manifold == fault.line)
      length = std::max(length, section.to_m);
  return length;
}

bool is_cut(const Fault& fault) {
  return fault.kind == FaultKind::cut;
}

/// Where the one is, the other is no news.
bool same_place(const ZoneNetwork& network, const Fault& a, const Fault& b) {
  return a.on_lateral == b.on_lateral && a.line == b.line && is_cut(a) == is_cut(b) &&
         std::abs(a.station_m - b.station_m) < apart_frac * length_of(network, a);
}

/// Variants with narrower parts of r and the slope as fitted.
std::vector<std::size_t> narrower(const FaultEvidence& evidence) {
  std::vector<std::size_t> variants;
  for (std::size_t i = 1; i < evidence.variants().size(); ++i)
    if (evidence.variants()[i].response == evidence.variants()[0].response) variants.push_back(i);
  return variants;
}

std::vector<std::size_t> all_variants(const FaultEvidence& evidence) {
  std::vector<std::size_t> variants(evidence.variants().size());
  std::iota(variants.begin(), variants.end(), std::size_t{0});
  return variants;
}

/// Share of the bore left open.
Fault narrowed(Fault place, double open) {
  place.kind = FaultKind::pinch;
  place.severity = 1 - open;
  return place;
}

std::vector<Fault> severities_of(const Fault& place) {
  std::vector<Fault> tried;
  for (int i = 0; i < severities; ++i) {
    Fault fault = place;
    if (is_cut(place)) {
      fault.severity = largest_cut / std::pow(ladder, i);
    } else {
      fault = narrowed(place, least_open * std::pow(ladder, i));
      if (fault.severity <= 0) break;
    }
    tried.push_back(fault);
  }
  if (!is_cut(place))
    tried.push_back({FaultKind::shut, place.on_lateral, place.line, place.station_m, 0});
  return tried;
}

/// The same place a little less and a little more severe; a shut pipe stays shut.
std::vector<Fault> severities_near(const Fault& fault, double factor) {
  if (fault.kind == FaultKind::shut) return {fault};
  std::vector<Fault> tried = {fault};
  for (const double by : {1 / factor, factor}) {
    Fault other = fault;
    other.severity = is_cut(fault) ? fault.severity * by : 1 - (1 - fault.severity) * by;
    if (other.severity > 0 && (is_cut(fault) || other.severity < 1)) tried.push_back(other);
  }
  return tried;
}

/// An effect of a fault alone on top of what is known: in proportion to the water that is left.
FaultEffect on_top(const FaultEffect& alone, const FaultEffect& clean, const FaultEffect& known) {
  FaultEffect effect = known;
  for (std::size_t i = 0; i < effect.change.size(); ++i)
    effect.change[i] += alone.change[i] * (1 + known.change[i]);
  for (std::size_t i = 0; i < effect.gauged_kpa.size(); ++i)
    effect.gauged_kpa[i] += alone.gauged_kpa[i] - clean.gauged_kpa[i];
  effect.inflow += alone.inflow - 1;
  return effect;
}

/// An effect in the lumped zone as it would be in the exact one.
FaultEffect as_exact(FaultEffect lumped, const FaultEffect& lumped_known,
                     const FaultEffect& known) {
  for (std::size_t i = 0; i < lumped.change.size(); ++i)
    lumped.change[i] += known.change[i] - lumped_known.change[i];
  for (std::size_t i = 0; i < lumped.gauged_kpa.size(); ++i)
    lumped.gauged_kpa[i] += known.gauged_kpa[i] - lumped_known.gauged_kpa[i];
  lumped.inflow += known.inflow - lumped_known.inflow;
  return lumped;
}

}  // namespace

FaultSearch::FaultSearch(const FaultyZone& lumped, const FaultyZone& exact,
                         std::vector<Fault> candidates, const Work& work)
    : lumped_(lumped),
      exact_(exact),
      candidates_(std::move(candidates)),
      work_(without_progress(work)),
      found_lumped_(lumped.clean()) {
  alone_.assign(candidates_.size(), lumped.clean());
  for_each_chunk(work_, candidates_.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i)
      if (auto effect = lumped_.with(std::span(&candidates_[i], 1))) alone_[i] = *std::move(effect);
  });
}

double FaultSearch::threshold() const {
  return std::log(std::max<double>(1, static_cast<double>(candidates_.size()))) + beyond_search;
}

std::vector<FaultEffect> FaultSearch::solved(const std::vector<Fault>& tried,
                                             const FaultEvidence& evidence) const {
  std::vector<FaultEffect> effects(tried.size(), evidence.known());
  for_each_chunk(work_, tried.size(), 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) {
      std::vector<Fault> together = found_;
      together.push_back(tried[i]);
      if (auto effect = lumped_.with(together))
        effects[i] = as_exact(*std::move(effect), found_lumped_, evidence.known());
    }
  });
  return effects;
}

/// Candidates that may be believed at some amount, one for each place, best first: the most likely
/// at the parameters that hold are judged at the others too.
std::vector<std::size_t> FaultSearch::promising(const FaultEvidence& evidence) const {
  std::vector<FaultEffect> effects;
  effects.reserve(alone_.size());
  for (const FaultEffect& alone : alone_)
    effects.push_back(on_top(alone, lumped_.clean(), evidence.known()));
  std::vector<FaultGain> gains =
      evidence.gains(effects, FaultAmount::best, std::array{std::size_t{0}});
  std::vector<std::size_t> order(candidates_.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  const auto sort = [&] {
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return gains[a].total() > gains[b].total();
    });
  };
  sort();
  order.resize(std::min(order.size(), looked_at));
  std::vector<FaultEffect> again;
  again.reserve(order.size());
  for (const std::size_t i : order) again.push_back(std::move(effects[i]));
  const auto others = evidence.gains(again, FaultAmount::best, narrower(evidence));
  for (std::size_t k = 0; k < order.size(); ++k)
    if (others[k].total() > gains[order[k]].total()) gains[order[k]] = others[k];
  sort();
  std::vector<std::size_t> kept;
  for (const std::size_t i : order) {
    if (gains[i].total() < threshold() - near_threshold || kept.size() >= most_places) break;
    const bool told = std::any_of(kept.begin(), kept.end(), [&](std::size_t other) {
      return same_place(lumped_.network(), candidates_[i], candidates_[other]);
    });
    if (!told) kept.push_back(i);
  }
  return kept;
}

TriedFault FaultSearch::best_of(const std::vector<Fault>& tried, std::size_t variant,
                                const FaultEvidence& evidence) const {
  const std::vector<FaultGain> gains =
      evidence.gains(solved(tried, evidence), FaultAmount::as_solved, std::array{variant});
  std::size_t best = 0;
  for (std::size_t i = 1; i < tried.size(); ++i)
    if (gains[i].total() > gains[best].total()) best = i;
  return {tried[best], gains[best]};
}

/// Each place at the severity and the variant that gain most.
std::vector<TriedFault> FaultSearch::at_best_severities(const std::vector<std::size_t>& places,
                                                        const FaultEvidence& evidence) const {
  std::vector<Fault> tried;
  std::vector<std::size_t> ends;
  for (const std::size_t place : places) {
    const std::vector<Fault> here = severities_of(candidates_[place]);
    tried.insert(tried.end(), here.begin(), here.end());
    ends.push_back(tried.size());
  }
  const auto gains =
      evidence.gains(solved(tried, evidence), FaultAmount::as_solved, all_variants(evidence));
  std::vector<TriedFault> best;
  std::size_t i = 0;
  for (const std::size_t end : ends) {
    best.push_back({tried[i], gains[i]});
    for (; i < end; ++i)
      if (gains[i].total() > best.back().gain.total()) best.back() = {tried[i], gains[i]};
  }
  return best;
}

TriedFault FaultSearch::finer(TriedFault fault, const FaultEvidence& evidence) const {
  for (const double factor : {std::sqrt(ladder), std::pow(ladder, 0.25)})
    fault = best_of(severities_near(fault.fault, factor), fault.gain.variant, evidence);
  return fault;
}

/// Places along its line between it and the next candidates.
std::vector<double> FaultSearch::stations_near(const Fault& fault) const {
  const ZoneNetwork& network = lumped_.network();
  const double length_m = length_of(network, fault);
  std::vector<double> stations = {fault.station_m};
  if (fault.on_lateral) {
    for (int step = -reach_steps; step <= reach_steps; ++step) {
      const double station_m = fault.station_m + step * step_frac * length_m;
      if (step != 0 && station_m > 0 && station_m < length_m) stations.push_back(station_m);
    }
    return stations;
  }
  for (const NetworkSection& section : network.sections) {
    const double middle_m = 0.5 * (section.from_m + section.to_m);
    if (section.manifold == fault.line &&
        std::abs(middle_m - fault.station_m) <= reach_frac * length_m)
      stations.push_back(middle_m);
  }
  return stations;
}

TriedFault FaultSearch::moved(const TriedFault& fault, const FaultEvidence& evidence) const {
  std::vector<Fault> tried;
  for (const double station_m : stations_near(fault.fault)) {
    Fault other = fault.fault;
    other.station_m = station_m;
    tried.push_back(other);
  }
  return best_of(tried, fault.gain.variant, evidence);
}

std::optional<FaultEffect> FaultSearch::exact_with(const Fault& fault) const {
  std::vector<Fault> together = found_;
  together.push_back(fault);
  return exact_.with(together);
}

std::vector<TriedFault> FaultSearch::best_places(const FaultEvidence& evidence) const {
  const std::vector<std::size_t> worth = promising(evidence);
  if (worth.empty()) return {};
  std::vector<TriedFault> places = at_best_severities(worth, evidence);
  for (TriedFault& place : places) place = moved(place, evidence);
  std::stable_sort(places.begin(), places.end(), [](const TriedFault& a, const TriedFault& b) {
    return a.gain.total() > b.gain.total();
  });
  TriedFault& best = places.front();
  best = finer(moved(finer(best, evidence), evidence), evidence);
  const auto exact = exact_with(best.fault);
  if (!exact) return {};
  const std::size_t variant = best.gain.variant;
  best.gain =
      evidence.gains(std::span(&*exact, 1), FaultAmount::as_solved, std::array{variant}).front();
  return places;
}

void FaultSearch::accept(const Fault& fault, FaultEvidence& evidence) {
  const auto exact = exact_with(fault);
  found_.push_back(fault);
  if (auto lumped = lumped_.with(found_)) found_lumped_ = *std::move(lumped);
  if (exact) evidence.accept(*exact);
}

}  // namespace evendrip
