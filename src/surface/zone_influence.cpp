// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/zone_influence.hpp"

#include "evendrip/surface/model_choice.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace evendrip {
namespace {

constexpr double between_sites_m = 10;

/// Places along the laterals of a zone, lateral by lateral, thinned evenly to `most`.
std::vector<Site> sites_of(const Field& field, int zone, int most) {
  std::vector<Site> sites;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    if (lateral.zone != zone) continue;
    const int number = static_cast<int>(i);
    const int count =
        std::max(1, static_cast<int>(std::lround(lateral.length_m / between_sites_m)));
    for (int k = 0; k < count; ++k) {
      const double station_m = lateral.length_m * (k + 0.5) / count;
      sites.push_back({place_on_lateral(field, number, station_m), number, station_m, zone});
    }
  }
  const auto wanted = static_cast<std::size_t>(std::max(1, most));
  if (sites.size() <= wanted) return sites;
  std::vector<Site> thinned(wanted);
  for (std::size_t k = 0; k < wanted; ++k) thinned[k] = sites[k * sites.size() / wanted];
  return thinned;
}

}  // namespace

std::vector<double> zone_influence(const Field& field, const DischargeMap& map, const Work& work,
                                   int most_sites) {
  const Samples& samples = map.fitted_samples();
  std::vector<double> out(samples.size(), std::numeric_limits<double>::quiet_NaN());
  if (map.model() == nullptr) return out;
  for (const ZoneSurface& zone : map.zones()) {
    if (zone.method != ZoneSurface::Method::model) continue;
    const std::vector<Site> sites = sites_of(field, zone.zone, most_sites);
    if (sites.empty()) continue;
    const std::vector<double> moved = influence(samples, *map.model(), sites, work);
    for (std::size_t i = 0; i < samples.size(); ++i)
      if (samples[i].site.zone == zone.zone) out[i] = moved[i];
  }
  return out;
}

}  // namespace evendrip
