// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/machine_marks.hpp"

#include "length_words.hpp"
#include "periodogram.hpp"
#include "turned_zone.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include <fmt/core.h>

namespace evendrip {
namespace {

constexpr int longest_side = 2000;  ///< cells that are looked at
constexpr double level = 0.05;
constexpr double least_amplitude = 0.005;
constexpr double same_axis_deg = 1;
constexpr double cells_in_shortest = 2.5;
constexpr double spans_in_longest = 6.5;
constexpr int most_stripes = 4;         ///< of one set of zones
constexpr std::size_t parts = 6;        ///< along the laterals
constexpr double spacing_steps = 0.75;  ///< of one over the span: taken as the same period
constexpr double same_phase = 0.5;      ///< cosine of 60 degrees

/// Zones whose laterals run alike, and what the search sees of them.
struct ZoneSet {
  std::vector<const TurnedZone*> zones;
  double spacing_m = 0;  ///< of the laterals, in the raster's metres; 0 where it differs
};

struct Found {
  double per_m = 0;
  double p = 1;
  bool stated = false;
};

struct Search {
  const std::vector<double>& stated_per_m;  ///< frequencies of stated widths
  double sets = 1;                          ///< for how many sets of zones p is to hold
};

/// Means across the laterals of all zones of a set, each without its own trend.
Periodogram periodogram_of(const std::vector<const TurnedZone*>& zones, double from, double to) {
  std::vector<double> at;
  std::vector<double> values;
  for (const TurnedZone* zone : zones) {
    const AcrossProfile profile = across_profile(*zone, from, to);
    const std::vector<double> rest = without_parabola(profile.at_m, profile.mean);
    at.insert(at.end(), profile.at_m.begin(), profile.at_m.end());
    values.insert(values.end(), rest.begin(), rest.end());
  }
  return {std::move(at), std::move(values)};
}

Found best_stated(const Periodogram& power, const Search& search, double highest) {
  Found best;
  for (const double per_m : search.stated_per_m) {
    if (per_m > highest || per_m * power.span_m() < 1) continue;
    const double tried = static_cast<double>(search.stated_per_m.size()) * search.sets;
    const double p = std::min(1.0, tried * power.chance(per_m, highest));
    if (p < best.p) best = {per_m, p, true};
  }
  return best;
}

/// Strongest first; each is taken out before the next is looked for.
std::vector<Found> periods_in(Periodogram power, const Search& search, double cell_m) {
  std::vector<Found> found;
  const double highest = 1 / (cells_in_shortest * cell_m);
  while (static_cast<int>(found.size()) < most_stripes && power.span_m() > 0) {
    Found next = best_stated(power, search, highest);
    if (next.p > level) {
      const auto peak = power.strongest(spans_in_longest / power.span_m(), highest);
      next = {peak.per_m, std::min(1.0, peak.p * search.sets), false};
    }
    if (next.p > level) break;
    found.push_back(next);
    power = power.without(power.refined(next.per_m), highest);
  }
  return found;
}

/// Whether the wave runs through a zone from end to end with the phase of all: over parts along the
/// laterals, mean amplitude against scatter has Fisher's F with 2 and 2 (parts - 1) degrees.
bool runs_through(const TurnedZone& zone, double per_m, const Periodogram::Wave& all) {
  std::vector<Periodogram::Wave> waves;
  for (std::size_t part = 0; part < parts; ++part) {
    const double from = static_cast<double>(part) / parts;
    const Periodogram power = periodogram_of({&zone}, from, from + 1.0 / parts);
    if (!(power.span_m() * per_m >= 2)) return false;
    waves.push_back(power.wave(per_m));
  }
  double cosine = 0;
  double sine = 0;
  for (const auto& wave : waves) {
    cosine += wave.cosine / parts;
    sine += wave.sine / parts;
  }
  double scatter = 0;
  for (const auto& wave : waves)
    scatter += std::pow(wave.cosine - cosine, 2) + std::pow(wave.sine - sine, 2);
  const double mean = std::hypot(cosine, sine);
  const double f = scatter > 0 ? parts * mean * mean * (parts - 1) / scatter : 1e9;
  const double p = std::pow(1 + f / (parts - 1), -static_cast<double>(parts - 1));
  const double together = cosine * all.cosine + sine * all.sine;
  return p <= level && together >= same_phase * mean * all.amplitude();
}

bool near_multiple(double per_m, double spacing_m, double span_m) {
  if (!(spacing_m > 0)) return false;
  const double multiple = std::max(1.0, std::round(1 / (per_m * spacing_m)));
  return std::abs(per_m - 1 / (multiple * spacing_m)) <= spacing_steps / span_m;
}

/// The spacing itself or an overtone of it.
bool is_spacing(double per_m, double spacing_m, double span_m) {
  if (!(spacing_m > 0)) return false;
  const double overtone = std::max(1.0, std::round(per_m * spacing_m));
  return std::abs(per_m - overtone / spacing_m) <= spacing_steps / span_m;
}

std::string told_of(const Field& field, const MachineStripe& stripe, std::size_t through) {
  std::string told = fmt::format("stripes {} wide, {:.1f} % of the crop up and down, ",
                                 length_words(field, stripe.width_m), 100 * stripe.amplitude);
  told += through > 1 ? fmt::format("run through {} zones in one phase", through)
                      : std::string("within one zone");
  told += stripe.stated ? ": the width of a stated implement, once or there and back"
                        : ": no stated implement has that width";
  return told + ". They are more likely from a machine than from water.";
}

class StripeSearch {
 public:
  StripeSearch(const Field& field, const std::vector<double>& stated_per_m, double sets)
      : field_(field), search_{stated_per_m, sets} {}

  std::vector<MachineStripe> in(const ZoneSet& set) const {
    const Periodogram power = periodogram_of(set.zones, 0, 1);
    std::vector<MachineStripe> stripes;
    for (const Found& found : periods_in(power, search_, set.zones.front()->cell_m)) {
      const auto stripe = judged(set, power, found);
      if (stripe) stripes.push_back(*stripe);
    }
    return stripes;
  }

 private:
  std::optional<MachineStripe> judged(const ZoneSet& set, const Periodogram& power,
                                      const Found& found) const {
    const double per_m = power.refined(found.per_m);
    const Periodogram::Wave wave = power.wave(per_m);
    if (wave.amplitude() < least_amplitude) return {};
    if (is_spacing(per_m, set.spacing_m, power.span_m())) return {};
    MachineStripe stripe;
    for (const TurnedZone* zone : set.zones)
      if (runs_through(*zone, per_m, wave)) stripe.zones.push_back(zone->zone);
    const std::size_t through = stripe.zones.size();
    if (through == 0) return {};
    const bool may_be_laterals = near_multiple(per_m, set.spacing_m, power.span_m());
    if (may_be_laterals && through < 2 && (field_.zones.size() > 1 || !found.stated)) return {};
    stripe.axis_deg = set.zones.front()->bearing_deg;
    stripe.width_m = 1 / per_m / field_.scale_factor;
    stripe.amplitude = wave.amplitude();
    stripe.p = found.p;
    stripe.crosses_zones = through > 1;
    stripe.stated = found.stated;
    stripe.told = told_of(field_, stripe, through);
    return stripe;
  }

  const Field& field_;
  Search search_;
};

std::vector<TurnedZone> turned_zones(const Field& field, const Raster& raster, const Work& work) {
  // Zones whose laterals run alike share the axis of the first of them.
  std::vector<double> axes;
  std::vector<std::pair<int, double>> wanted;
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    const auto bearing = bearing_of_laterals(field, static_cast<int>(z));
    if (!bearing) continue;
    const auto alike = std::find_if(axes.begin(), axes.end(), [&](double other) {
      return std::abs(along_axis(*bearing, other) - other) <= same_axis_deg;
    });
    const double axis = alike == axes.end() ? *bearing : *alike;
    if (alike == axes.end()) axes.push_back(axis);
    wanted.emplace_back(static_cast<int>(z), axis);
  }
  std::vector<TurnedZone> zones(wanted.size());
  for_each_chunk(without_progress(work), zones.size(), 1,
                 [&](std::size_t begin, std::size_t end, int) {
                   for (std::size_t k = begin; k < end; ++k)
                     zones[k] = turned(raster, field, wanted[k].first, wanted[k].second);
                 });
  return zones;
}

/// All zones on one axis together, then each alone.
std::vector<ZoneSet> sets_of(const Field& field, const std::vector<TurnedZone>& zones) {
  std::vector<ZoneSet> together;
  std::vector<ZoneSet> alone;
  for (const TurnedZone& zone : zones) {
    if (zone.across == 0) continue;
    const double spacing_m =
        field.zones[static_cast<std::size_t>(zone.zone)].lateral.spacing_m * field.scale_factor;
    alone.push_back({{&zone}, spacing_m});
    const auto same = std::find_if(together.begin(), together.end(), [&](const ZoneSet& set) {
      return set.zones.front()->bearing_deg == zone.bearing_deg;
    });
    if (same == together.end()) {
      together.push_back(alone.back());
      continue;
    }
    same->zones.push_back(&zone);
    if (std::abs(same->spacing_m - spacing_m) > 1e-6) same->spacing_m = 0;
  }
  std::erase_if(together, [](const ZoneSet& set) { return set.zones.size() < 2; });
  together.insert(together.end(), alone.begin(), alone.end());
  return together;
}

/// Of periods that are one within a tenth, the first.
void add_new(std::vector<MachineStripe>& stripes, std::vector<MachineStripe> more) {
  for (MachineStripe& stripe : more) {
    const bool known = std::any_of(stripes.begin(), stripes.end(), [&](const MachineStripe& other) {
      return std::abs(other.width_m / stripe.width_m - 1) < 0.1;
    });
    if (!known) stripes.push_back(std::move(stripe));
  }
}

}  // namespace

std::vector<MachineStripe> machine_stripes(const Field& field, const RasterReader& relative,
                                           const std::vector<double>& stated_widths_m,
                                           const Work& work) {
  const Raster raster = overview(relative, longest_side);
  std::vector<double> stated_per_m;
  for (const double width_m : stated_widths_m) {
    if (!(width_m > 0)) continue;
    stated_per_m.push_back(1 / (width_m * field.scale_factor));
    stated_per_m.push_back(1 / (2 * width_m * field.scale_factor));
  }
  const std::vector<TurnedZone> zones = turned_zones(field, raster, work);
  const std::vector<ZoneSet> sets = sets_of(field, zones);
  const StripeSearch search(field, stated_per_m, static_cast<double>(sets.size()));
  std::vector<std::vector<MachineStripe>> found(sets.size());
  for_each_chunk(without_progress(work), sets.size(), 1,
                 [&](std::size_t begin, std::size_t end, int) {
                   for (std::size_t k = begin; k < end; ++k) found[k] = search.in(sets[k]);
                 });
  std::vector<MachineStripe> stripes;
  for (std::vector<MachineStripe>& own : found) add_new(stripes, std::move(own));
  std::stable_sort(
      stripes.begin(), stripes.end(),
      [](const MachineStripe& a, const MachineStripe& b) { return a.amplitude > b.amplitude; });
  return stripes;
}

}  // namespace evendrip
