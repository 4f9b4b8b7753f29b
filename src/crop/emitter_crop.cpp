// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/emitter_crop.hpp"

#include <algorithm>
#include <cstddef>
#include <limits>
#include <stdexcept>
#include <utility>

#include "evendrip/base/median.hpp"
#include "evendrip/crop/zonal.hpp"
#include "strips.hpp"

namespace evendrip {
namespace {

constexpr double least_share_with_values = 0.5;

template <class Of>
double median_over_zones(const Field& field, Of of) {
  std::vector<double> values;
  for (const Zone& zone : field.zones) {
    if (of(zone) > 0) values.push_back(of(zone));
  }
  return median_of(std::move(values));
}

MultiPolygon square_about(Point middle, double side_m) {
  const double half = 0.5 * side_m;
  return {{{{middle.x - half, middle.y - half},
            {middle.x + half, middle.y - half},
            {middle.x + half, middle.y + half},
            {middle.x - half, middle.y + half}},
           {}}};
}

MultiPolygon ground_of(const Field& field, const LateralStrips& strips, const Site& site,
                       double length_m) {
  if (site.lateral < 0) return square_about(site.place, length_m * field.scale_factor);
  const double end_m = field.laterals[static_cast<std::size_t>(site.lateral)].length_m;
  return strips.between(site.lateral, std::max(0.0, site.station_m - 0.5 * length_m),
                        std::min(end_m, site.station_m + 0.5 * length_m));
}

}  // namespace

double strip_length_m(const Field& field, int emitters_per_root_zone, double cell_m) {
  const double across = median_over_zones(field, [](const Zone& z) { return z.lateral.spacing_m; });
  const double apart = median_over_zones(field, [](const Zone& z) { return z.emitter.spacing_m; });
  return std::max({across, emitters_per_root_zone * apart, cell_m});
}

std::vector<double> crop_at_sites(const Field& field, const RasterReader& map,
                                  std::span<const Site> sites, double length_m, const Work& work) {
  if (!(length_m > 0)) throw std::invalid_argument("the crop at a site needs a length above 0");
  const LateralStrips strips(field);
  std::vector<MultiPolygon> shapes;
  shapes.reserve(sites.size());
  for (const Site& site : sites) shapes.push_back(ground_of(field, strips, site, length_m));
  std::vector<double> crops;
  for (const CoverageStatistics& under : statistics_under(map, shapes, without_progress(work))) {
    const double all = under.weight_cells + under.missing_cells;
    const bool seen = under.weight_cells > 0 && under.weight_cells >= least_share_with_values * all;
    crops.push_back(seen ? under.mean : std::numeric_limits<double>::quiet_NaN());
  }
  return crops;
}

}  // namespace evendrip
