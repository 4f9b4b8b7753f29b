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
/// Groups that may begin at a lateral: of up to twelve, at any sixteenth of its length.
constexpr double groups_to_tell = 12 * 16;
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
constexpr int side_steps = 2;    ///< laterals by which a group grows or shrinks at a side
constexpr int most_between = 1;  ///< laterals between faults that may be one
constexpr int most_moves = 6;
constexpr double settled_gain = 0.05;

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

/// Whether half of the smaller group, or the line of a manifold, is in both.
bool same_lines(const SharedFault& a, const SharedFault& b) {
  if (a.fault.on_lateral != b.fault.on_lateral) return false;
  if (!a.fault.on_lateral) return a.fault.line == b.fault.line;
  const auto both = std::count_if(a.laterals.begin(), a.laterals.end(), [&b](int lateral) {
    return std::find(b.laterals.begin(), b.laterals.end(), lateral) != b.laterals.end();
  });
  return 2 * both >= static_cast<std::ptrdiff_t>(std::min(a.laterals.size(), b.laterals.size()));
}

/// Where the one is, the other is no news.
bool same_place(const ZoneNetwork& network, const SharedFault& a, const SharedFault& b) {
  return same_lines(a, b) && is_cut(a.fault) == is_cut(b.fault) &&
         std::abs(a.fault.station_m - b.fault.station_m) < apart_frac * length_of(network, a.fault);
}

std::vector<SharedFault> each_with(const SharedFault& like, const std::vector<Fault>& faults) {
  std::vector<SharedFault> out;
  out.reserve(faults.size());
  for (const Fault& fault : faults) out.push_back({fault, like.laterals});
  return out;
}

std::vector<int> indices_of(const std::vector<const NetworkLateral*>& laterals) {
  std::vector<int> indices;
  indices.reserve(laterals.size());
  for (const NetworkLateral* lateral : laterals) indices.push_back(lateral->lateral);
  return indices;
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

/// On every lateral that reaches so far: a group may hold shorter ones.
std::vector<Fault> all_faults(const ZoneNetwork& network, const std::vector<SharedFault>& found) {
  std::vector<Fault> all;
  for (const SharedFault& shared : found)
    for (const Fault& fault : faults_of(shared))
      if (!fault.on_lateral || fault.station_m <= length_of(network, fault)) all.push_back(fault);
  return all;
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

/// An effect of a fault alone on top of what is known: in proportion to the water that is left.
FaultEffect on_top(const FaultEffect& alone, const FaultEffect& clean, const FaultEffect& known) {
  FaultEffect effect = known;
  for (std::size_t i = 0; i < effect.change.size(); ++i)
    effect.change[i] += alone.change[i] * (1 + known.change[i]);
  for (std::size_t i = 0; i < effect.gauged_kpa.size(); ++i)
    effect.gauged_kpa[i] += alone.gauged_kpa[i] - clean.gauged_kpa[i];
  effect.inflow += alone.inflow - 1;
  effect.seen_by_crop = alone.seen_by_crop;
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

FaultSearch::FaultSearch(const FaultyZone& lumped, const FaultyZone& exact, const SegmentGrid& grid,
                         std::vector<SharedFault> candidates, int laterals_seen, const Work& work)
    : lumped_(lumped),
      exact_(exact),
      in_order_(indices_of(laterals_in_order(lumped.network(), grid))),
      candidates_(std::move(candidates)),
      laterals_seen_(laterals_seen),
      work_(without_progress(work)),
      found_lumped_(lumped.clean()) {
  const auto alone = std::count_if(candidates_.begin(), candidates_.end(),
                                   [](const auto& one) { return one.laterals.size() < 2; });
  of_one_ = beyond_search + std::log(std::max<double>(1, static_cast<double>(alone)));
  of_several_ = beyond_search + std::log(std::max<double>(
                                    1, groups_to_tell * static_cast<double>(in_order_.size())));
  alone_.assign(candidates_.size(), lumped.clean());
  for_each_chunk(work_, candidates_.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) {
      if (auto effect = lumped_.with(all_faults(network(), {candidates_[i]})))
        alone_[i] = *std::move(effect);
      alone_[i].seen_by_crop = seen_by_crop(candidates_[i]);
    }
  });
}

double FaultSearch::threshold(const SharedFault& shared) const {
  return shared.laterals.size() > 1 ? of_several_ : of_one_;
}

bool FaultSearch::seen_by_crop(const SharedFault& shared) const {
  return !shared.fault.on_lateral || static_cast<int>(shared.laterals.size()) >= laterals_seen_;
}

std::vector<Fault> FaultSearch::with_found(const SharedFault& shared) const {
  std::vector<SharedFault> all = found_;
  all.push_back(shared);
  return all_faults(network(), all);
}

std::vector<FaultEffect> FaultSearch::solved(const std::vector<SharedFault>& tried,
                                             const FaultEvidence& evidence) const {
  std::vector<FaultEffect> effects(tried.size(), evidence.known());
  for_each_chunk(work_, tried.size(), 1, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) {
      if (auto effect = lumped_.with(with_found(tried[i])))
        effects[i] = as_exact(*std::move(effect), found_lumped_, evidence.known());
      effects[i].seen_by_crop = seen_by_crop(tried[i]);
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
  const auto over = [&](std::size_t i) { return gains[i].total() - threshold(candidates_[i]); };
  const auto sort = [&] {
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return over(a) > over(b); });
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
    if (over(i) < -near_threshold || kept.size() >= most_places) break;
    const bool told = std::any_of(kept.begin(), kept.end(), [&](std::size_t other) {
      return same_place(lumped_.network(), candidates_[i], candidates_[other]);
    });
    if (!told) kept.push_back(i);
  }
  return kept;
}

TriedFault FaultSearch::best_of(const std::vector<SharedFault>& tried, std::size_t variant,
                                const FaultEvidence& evidence) const {
  const std::vector<FaultGain> gains =
      evidence.gains(solved(tried, evidence), FaultAmount::as_solved, std::array{variant});
  std::size_t best = 0;
  const auto over = [&](std::size_t i) { return gains[i].total() - threshold(tried[i]); };
  for (std::size_t i = 1; i < tried.size(); ++i)
    if (over(i) > over(best)) best = i;
  return {tried[best], gains[best]};
}

/// Each place at the severity and the variant that gain most.
std::vector<TriedFault> FaultSearch::at_best_severities(const std::vector<std::size_t>& places,
                                                        const FaultEvidence& evidence) const {
  std::vector<SharedFault> tried;
  std::vector<std::size_t> ends;
  for (const std::size_t place : places) {
    const SharedFault& shared = candidates_[place];
    const std::vector<SharedFault> here = each_with(shared, severities_of(shared.fault));
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
  for (const double power : {0.5, 0.25, 0.125, 0.0625}) {
    const double factor = std::pow(ladder, power);
    fault = best_of(each_with(fault.shared, severities_near(fault.shared.fault, factor)),
                    fault.gain.variant, evidence);
  }
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

std::vector<std::vector<int>> FaultSearch::groups_near(const SharedFault& shared) const {
  std::vector<std::vector<int>> groups;
  if (!shared.fault.on_lateral || is_cut(shared.fault) || shared.laterals.empty()) return groups;
  const auto [begin, last] = reach_of(shared);
  const int end = last + 1;
  for (int by = -side_steps; by <= side_steps; ++by)
    for (const bool at_front : {true, false}) {
      const int from = at_front ? begin + by : begin;
      const int to = at_front ? end : end + by;
      if (by == 0 || from < 0 || to > static_cast<int>(in_order_.size()) || to <= from) continue;
      groups.emplace_back(in_order_.begin() + from, in_order_.begin() + to);
    }
  return groups;
}

TriedFault FaultSearch::moved(const TriedFault& fault, const FaultEvidence& evidence) const {
  std::vector<SharedFault> tried;
  for (const double station_m : stations_near(fault.shared.fault)) {
    tried.push_back(fault.shared);
    tried.back().fault.station_m = station_m;
  }
  for (std::vector<int>& group : groups_near(fault.shared)) {
    tried.push_back(fault.shared);
    tried.back().fault.line = group.front();
    tried.back().laterals = std::move(group);
  }
  return best_of(tried, fault.gain.variant, evidence);
}

/// Moved and made more or less severe in turn while that gains.
TriedFault FaultSearch::settled(TriedFault fault, const FaultEvidence& evidence) const {
  for (int move = 0; move < most_moves; ++move) {
    const double before = log_odds(fault);
    fault = finer(moved(fault, evidence), evidence);
    if (log_odds(fault) - before < settled_gain) break;
  }
  return fault;
}

/// With other parameters another severity may explain more.
TriedFault FaultSearch::at_any_variant(const TriedFault& fault,
                                       const FaultEvidence& evidence) const {
  std::vector<SharedFault> tried;
  for (const double factor : {std::sqrt(ladder), ladder})
    for (const SharedFault& one :
         each_with(fault.shared, severities_near(fault.shared.fault, factor)))
      tried.push_back(one);
  const auto gains =
      evidence.gains(solved(tried, evidence), FaultAmount::as_solved, all_variants(evidence));
  TriedFault best = fault;
  for (std::size_t i = 0; i < tried.size(); ++i)
    if (gains[i].total() > best.gain.total()) best = {tried[i], gains[i]};
  return best;
}

std::optional<FaultEffect> FaultSearch::exact_with(const SharedFault& shared) const {
  auto effect = exact_.with(with_found(shared));
  if (effect) effect->seen_by_crop = seen_by_crop(shared);
  return effect;
}

std::vector<TriedFault> FaultSearch::best_places(const FaultEvidence& evidence) const {
  const std::vector<std::size_t> worth = promising(evidence);
  if (worth.empty()) return {};
  std::vector<TriedFault> places = at_best_severities(worth, evidence);
  // One that explains more may lie between two severities.
  for (TriedFault& place : places) place = finer(moved(place, evidence), evidence);
  std::stable_sort(places.begin(), places.end(), [this](const TriedFault& a, const TriedFault& b) {
    return log_odds(a) > log_odds(b);
  });
  auto best = fitted(places.front(), evidence);
  if (!best) return {};
  places.front() = *std::move(best);
  return places;
}

/// Moved and made more or less severe, at all parameters; its gain is that of the exact network.
std::optional<TriedFault> FaultSearch::fitted(TriedFault fault,
                                              const FaultEvidence& evidence) const {
  fault = settled(finer(fault, evidence), evidence);
  fault = settled(at_any_variant(fault, evidence), evidence);
  const auto exact = exact_with(fault.shared);
  if (!exact) return {};
  fault.gain =
      evidence.gains(std::span(&*exact, 1), FaultAmount::as_solved, std::array{fault.gain.variant})
          .front();
  return fault;
}

void FaultSearch::accept(const SharedFault& fault, FaultEvidence& evidence) {
  const auto exact = exact_with(fault);
  found_.push_back(fault);
  if (auto lumped = lumped_.with(all_faults(network(), found_))) found_lumped_ = *std::move(lumped);
  if (exact) evidence.accept(*exact);
}

/// The first and the last of its laterals, as they lie.
std::pair<int, int> FaultSearch::reach_of(const SharedFault& shared) const {
  const auto place_of = [this](int lateral) {
    return static_cast<int>(std::find(in_order_.begin(), in_order_.end(), lateral) -
                            in_order_.begin());
  };
  return {place_of(shared.laterals.front()), place_of(shared.laterals.back())};
}

bool FaultSearch::beside(const SharedFault& a, const SharedFault& b) const {
  if (a.laterals.empty() || b.laterals.empty() || is_cut(a.fault) || is_cut(b.fault)) return false;
  const auto [a_first, a_last] = reach_of(a);
  const auto [b_first, b_last] = reach_of(b);
  return std::max(a_first, b_first) - std::min(a_last, b_last) <= 1 + most_between;
}

/// The one fault on the laterals of both and those between.
SharedFault FaultSearch::together(const SharedFault& like, const SharedFault& other) const {
  const auto [a_first, a_last] = reach_of(like);
  const auto [b_first, b_last] = reach_of(other);
  SharedFault both = like;
  both.laterals.assign(in_order_.begin() + std::min(a_first, b_first),
                       in_order_.begin() + std::max(a_last, b_last) + 1);
  both.fault.line = both.laterals.front();
  return both;
}

bool FaultSearch::hold(const std::vector<SharedFault>& faults, FaultEvidence& evidence) {
  const std::vector<Fault> all = all_faults(network(), faults);
  auto lumped = lumped_.with(all);
  const auto exact = exact_.with(all);
  if (!lumped || !exact) return false;
  found_ = faults;
  found_lumped_ = *std::move(lumped);
  evidence.accept(*exact);
  return true;
}

std::optional<TakenIn> FaultSearch::taken_in(std::size_t earlier, FaultEvidence& evidence) {
  const std::vector<SharedFault> all = found_;
  const SharedFault& first = all[earlier];
  const SharedFault& last = all.back();
  std::vector<SharedFault> others(all.begin(), all.end() - 1);
  others.erase(others.begin() + static_cast<std::ptrdiff_t>(earlier));
  FaultEffect two = evidence.known();
  two.seen_by_crop = seen_by_crop(first) || seen_by_crop(last);
  if (!hold(others, evidence)) return {};
  const FaultGain apart =
      evidence.gains(std::span(&two, 1), FaultAmount::as_solved, all_variants(evidence)).front();
  const std::vector<SharedFault> starts = {together(last, first), together(first, last)};
  auto one = fitted(best_of(starts, 0, evidence), evidence);
  if (one && log_odds(*one) > apart.total() - threshold(first) - threshold(last)) {
    TakenIn taken{earlier, *std::move(one), evidence.known()};
    accept(taken.one.shared, evidence);
    return taken;
  }
  hold(all, evidence);
  return {};
}

std::optional<TakenIn> FaultSearch::take_in(FaultEvidence& evidence) {
  for (std::size_t i = 0; i + 1 < found_.size(); ++i)
    if (beside(found_[i], found_.back()))
      if (auto taken = taken_in(i, evidence)) return taken;
  return {};
}

}  // namespace evendrip
