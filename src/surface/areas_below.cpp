// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/areas_below.hpp"

#include "evendrip/surface/random_field.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace evendrip {
namespace {

constexpr double most_places = 400;  ///< in a zone

bool modelled(const DischargeMap& map, int zone) {
  return zone >= 0 &&
         map.zones()[static_cast<std::size_t>(zone)].method == ZoneSurface::Method::model;
}

/// Places along the laterals of one zone, each standing for an equal length.
std::vector<Site> places_in(const Field& field, int zone) {
  double length_m = 0;
  for (const Lateral& lateral : field.laterals)
    if (lateral.zone == zone) length_m += lateral.length_m;
  const double step_m = std::max(1.0, length_m / most_places);
  std::vector<Site> sites;
  double carried_m = 0.5 * step_m;  // to the next place, across the ends of laterals
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    if (lateral.zone != zone) continue;
    const int number = static_cast<int>(i);
    double station_m = carried_m;
    while (station_m < lateral.length_m) {
      sites.push_back({place_on_lateral(field, number, station_m), number, station_m, zone});
      station_m += step_m;
    }
    carried_m = station_m - lateral.length_m;
  }
  return sites;
}

struct Places {
  std::vector<Site> sites;
  std::vector<double> weights_ha;
  double area_ha = 0;
};

void add(const Field& field, int zone, Places& all) {
  const std::vector<Site> sites = places_in(field, zone);
  if (sites.empty()) return;
  const double area_ha = field.zone_area_ha(zone);
  all.area_ha += area_ha;
  all.sites.insert(all.sites.end(), sites.begin(), sites.end());
  all.weights_ha.resize(all.sites.size(), area_ha / static_cast<double>(sites.size()));
}

void answer(int zone, const Places& places, const ConditionalSurfaces& surfaces,
            std::span<const double> thresholds, int draws, const Work& work,
            std::vector<AreaBelow>& out) {
  if (places.sites.empty()) return;
  for (const ShareBelow& share :
       share_below(surfaces, places.sites, places.weights_ha, thresholds, draws, work))
    out.push_back({zone, share.threshold, places.area_ha, share.mean * places.area_ha,
                   share.lower * places.area_ha, share.upper * places.area_ha});
}

}  // namespace

std::vector<AreaBelow> areas_below(const Field& field, const DischargeMap& map, int draws,
                                   std::uint64_t seed, const Work& work) {
  std::vector<AreaBelow> out;
  if (map.model() == nullptr) return out;
  const ConditionalSurfaces surfaces(observations_of(map.fitted_samples()), *map.model(), seed);
  const std::array thresholds{field.thresholds.clogged_below, field.thresholds.low_below};
  Places all;
  int zones = 0;
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    const int zone = static_cast<int>(z);
    if (!modelled(map, zone)) continue;
    Places own;
    add(field, zone, own);
    add(field, zone, all);
    ++zones;
    answer(zone, own, surfaces, thresholds, draws, work, out);
  }
  if (zones > 1) answer(-1, all, surfaces, thresholds, draws, work, out);
  return out;
}

}  // namespace evendrip
