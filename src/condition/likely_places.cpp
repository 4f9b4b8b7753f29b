// SPDX-License-Identifier: Apache-2.0
#include "likely_places.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <set>
#include <utility>

#include <boost/random/uniform_01.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

constexpr std::size_t most_sections = 48;
constexpr int parts_of_lateral = 16;
constexpr double least_weight = 1e-3;    ///< over the likeliest
constexpr double solved_exactly = 0.01;  ///< weight from which emitters are solved one by one
constexpr std::uint64_t places_stream = 2;
/// From one severity to the next, in turn: a section of a manifold loses by the fourth power of
/// what it has open.
constexpr std::array<double, 7> factors = {1.7, 1.3, 1.14, 1.07, 1.035, 1.017, 1.009};

struct PlaceTried {
  SharedFault shared;
  bool possible = false;
  double gain = 0;
};

bool same(const SharedFault& a, const SharedFault& b) {
  return a.fault.line == b.fault.line && a.fault.station_m == b.fault.station_m &&
         a.laterals == b.laterals;
}

SharedFault at(SharedFault shared, double station_m) {
  shared.fault.station_m = station_m;
  return shared;
}

/// Middles of the sections of a manifold, and the one that holds the station, if any.
std::vector<double> middles_of(const ZoneNetwork& network, int manifold, double station_m) {
  std::vector<double> middles;
  double own = -1;
  for (const NetworkSection& section : network.sections) {
    if (section.manifold != manifold) continue;
    const bool here = station_m >= section.from_m && station_m <= section.to_m && own < 0;
    if (here) own = station_m;
    middles.push_back(here ? station_m : 0.5 * (section.from_m + section.to_m));
  }
  std::sort(middles.begin(), middles.end());
  const std::size_t step = (middles.size() + most_sections - 1) / most_sections;
  std::vector<double> kept;
  for (std::size_t i = 0; i < middles.size(); ++i)
    if (i % step == 0 || middles[i] == own) kept.push_back(middles[i]);
  return kept;
}

std::vector<SharedFault> on_manifolds(const FaultSearch& search, const SharedFault& found) {
  std::set<int> manifolds;
  for (const SharedFault& one : search.all_candidates())
    if (!one.fault.on_lateral) manifolds.insert(one.fault.line);
  manifolds.insert(found.fault.line);
  std::vector<SharedFault> places;
  for (const int manifold : manifolds) {
    const double own_m = manifold == found.fault.line ? found.fault.station_m : -1;
    for (const double middle_m : middles_of(search.network(), manifold, own_m)) {
      places.push_back(at(found, middle_m));
      places.back().fault.line = manifold;
    }
  }
  return places;
}

std::vector<SharedFault> on_laterals(const FaultSearch& search, const SharedFault& found) {
  double length_m = 0;
  for (const NetworkLateral& lateral : search.network().laterals)
    if (lateral.lateral == found.fault.line) length_m = lateral.stations_m.back();
  std::vector<SharedFault> places;
  const double step_m = length_m / parts_of_lateral;
  for (double back_m = found.fault.station_m - step_m; back_m > -0.5 * step_m; back_m -= step_m)
    places.push_back(at(found, std::max(0.0, back_m)));
  for (double on_m = found.fault.station_m + step_m; on_m < length_m; on_m += step_m)
    places.push_back(at(found, on_m));
  for (std::vector<int>& group : search.groups_near(found)) {
    places.push_back(found);
    places.back().fault.line = group.front();
    places.back().laterals = std::move(group);
  }
  return places;
}

/// The variant of the parameters at which the fault gains most.
std::size_t variant_of(const FaultSearch& search, const SharedFault& found,
                       const FaultEvidence& evidence) {
  std::vector<std::size_t> variants(evidence.variants().size());
  std::iota(variants.begin(), variants.end(), std::size_t{0});
  return evidence.gains(search.solved({found}, evidence), FaultAmount::as_solved, variants)
      .front()
      .variant;
}

/// Each place with the severity, of those near its own by a factor, that gains most.
void settle(const FaultSearch& search, const FaultEvidence& evidence, std::size_t variant,
            double factor, std::vector<PlaceTried>& places) {
  std::vector<SharedFault> tried;
  std::vector<std::size_t> of;
  for (std::size_t i = 0; i < places.size(); ++i)
    for (const Fault& fault : severities_near(places[i].shared.fault, factor)) {
      if (places[i].possible && fault.severity == places[i].shared.fault.severity) continue;
      tried.push_back({fault, places[i].shared.laterals});
      of.push_back(i);
    }
  const auto gains =
      evidence.gains(search.solved(tried, evidence), FaultAmount::as_solved, std::array{variant});
  for (std::size_t k = 0; k < tried.size(); ++k) {
    PlaceTried& place = places[of[k]];
    if (!(gains[k].amount > 0) || (place.possible && gains[k].total() <= place.gain)) continue;
    place = {tried[k], true, gains[k].total()};
  }
}

std::vector<double> mean_change(const std::vector<LikelyPlace>& places) {
  std::vector<double> mean(places.front().change.size(), 0.0);
  for (const LikelyPlace& place : places)
    for (std::size_t i = 0; i < mean.size(); ++i) mean[i] += place.weight * place.change[i];
  return mean;
}

std::vector<LikelyPlace> weighed(const FaultSearch& search, const FaultEvidence& evidence,
                                 std::vector<PlaceTried> places) {
  std::erase_if(places, [](const PlaceTried& place) { return !place.possible; });
  std::stable_sort(places.begin(), places.end(),
                   [](const PlaceTried& a, const PlaceTried& b) { return a.gain > b.gain; });
  std::vector<SharedFault> kept;
  std::vector<LikelyPlace> out;
  double sum = 0;
  for (const PlaceTried& place : places) {
    const double weight = std::exp(place.gain - places.front().gain);
    if (weight < least_weight) break;
    kept.push_back(place.shared);
    out.push_back({place.shared, weight, {}});
    sum += weight;
  }
  std::vector<FaultEffect> effects = search.solved(kept, evidence);
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i].weight /= sum;
    out[i].change = std::move(effects[i].change);
    if (out[i].weight < solved_exactly) continue;
    if (auto exact = search.exact_with(kept[i])) out[i].change = std::move(exact->change);
  }
  return out;
}

}  // namespace

std::vector<LikelyPlace> likely_places(FaultSearch& search, std::size_t which,
                                       FaultEvidence& evidence) {
  const std::vector<SharedFault> all = search.found();
  const SharedFault& found = all.at(which);
  const std::vector<LikelyPlace> only = {{found, 1, evidence.known().change}};
  std::vector<SharedFault> others = all;
  others.erase(others.begin() + static_cast<std::ptrdiff_t>(which));
  if (found.fault.kind == FaultKind::cut || !search.hold(others, evidence)) return only;
  std::vector<PlaceTried> places = {{found, false, 0}};
  for (SharedFault& shared :
       found.fault.on_lateral ? on_laterals(search, found) : on_manifolds(search, found))
    if (!same(shared, found)) places.push_back({std::move(shared), false, 0});
  const std::size_t variant = variant_of(search, found, evidence);
  for (const double factor : factors) settle(search, evidence, variant, factor, places);
  std::vector<LikelyPlace> out = weighed(search, evidence, std::move(places));
  search.hold(all, evidence);
  return out.empty() ? only : out;
}

void deliver_over_places(const std::vector<double>& known, NetworkExplanation& explanation) {
  explanation.change = known;
  explanation.change_variance.assign(known.size(), 0.0);
  for (const FoundFault& found : explanation.faults) {
    if (found.places.empty()) continue;
    const std::vector<double> mean = mean_change(found.places);
    for (std::size_t i = 0; i < known.size(); ++i) {
      explanation.change[i] += mean[i] - known[i];
      for (const LikelyPlace& place : found.places)
        explanation.change_variance[i] += place.weight * std::pow(place.change[i] - mean[i], 2);
    }
  }
  for (double& change : explanation.change) change = std::max(-1.0, change);
}

void draw_places(const NetworkExplanation& explanation, std::uint64_t seed,
                 std::vector<std::vector<double>>& draws) {
  for (std::size_t k = 0; k < explanation.faults.size(); ++k) {
    const std::vector<LikelyPlace>& places = explanation.faults[k].places;
    if (places.size() < 2) continue;
    const std::vector<double> mean = mean_change(places);
    for (std::size_t draw = 0; draw < draws.size(); ++draw) {
      std::mt19937_64 stream = item_stream(seed, {draw, places_stream, k});
      double left = boost::random::uniform_01<double>()(stream);
      std::size_t which = 0;
      while (which + 1 < places.size() && left >= places[which].weight)
        left -= places[which++].weight;
      for (std::size_t i = 0; i < mean.size(); ++i)
        draws[draw][i] += places[which].change[i] - mean[i];
    }
  }
}

}  // namespace evendrip
