// SPDX-License-Identifier: Apache-2.0
// Sites on parallel laterals and models that use every way to correlate, for the tests of surfaces
// that know the lateral.
#pragma once

#include <cmath>
#include <cstddef>
#include <numbers>
#include <random>
#include <span>
#include <vector>

#include "evendrip/surface/covariance.hpp"

namespace evendrip {

inline constexpr double bearing_deg = 30;  ///< of the laterals of `sites_on_laterals`

/// Drawn places on laterals of 100 m, 2 m apart, far from the origin; every seventh has no lateral.
/// Laterals below the fifth belong to zone 0, the others to zone 1.
inline std::vector<Site> sites_on_laterals(std::size_t count, unsigned seed = 3) {
  std::mt19937_64 random(seed);
  std::uniform_real_distribution<double> station(0, 100);
  std::uniform_int_distribution<int> lateral(0, 9);
  const double east = std::sin(bearing_deg * std::numbers::pi / 180);
  const double north = std::cos(bearing_deg * std::numbers::pi / 180);
  std::vector<Site> sites;
  for (std::size_t i = 0; i < count; ++i) {
    Site site;
    site.lateral = lateral(random);
    site.station_m = station(random);
    site.zone = site.lateral < 5 ? 0 : 1;
    const double across = 2 * site.lateral;
    site.place = {500000 + site.station_m * east + across * north,
                  4100000 + site.station_m * north - across * east};
    if (i % 7 == 6) site.lateral = -1;
    sites.push_back(site);
  }
  return sites;
}

/// One factor of each metric, in sums and products.
inline CovarianceModel every_metric() {
  const CorrelationFactor plane{Metric::plane, VariogramShape::matern32, 25, bearing_deg, 0.4};
  const CorrelationFactor along{Metric::along_lateral, VariogramShape::exponential, 40, 0, 1};
  const CorrelationFactor station{Metric::station, VariogramShape::gaussian, 30, 0, 1};
  const CorrelationFactor across{Metric::across, VariogramShape::spherical, 9, bearing_deg, 1};
  const CorrelationFactor lateral{Metric::same_lateral, VariogramShape::exponential, 1, 0, 1};
  const CorrelationFactor zone{Metric::same_zone, VariogramShape::exponential, 1, 0, 1};
  return {{{"local", 0.7, {plane}},
           {"laterals", 0.5, {along}},
           {"bands", 0.3, {station, across}},
           {"lines", 0.2, {lateral}},
           {"zone", 0.4, {zone, station}},
           {"all", 0.1, {}}}};
}

/// A column-major matrix that owns its elements.
struct Matrix {
  Matrix(std::size_t row_count, std::size_t column_count)
      : rows(static_cast<int>(row_count)),
        columns(static_cast<int>(column_count)),
        elements(row_count * column_count, -1) {}
  int rows, columns;
  std::vector<double> elements;
  MatrixView view() { return {elements.data(), rows, columns, rows}; }
  double operator()(int row, int column) const {
    return elements[static_cast<std::size_t>(row) +
                    static_cast<std::size_t>(column) * static_cast<std::size_t>(rows)];
  }
};

inline Matrix covariances_of(const CovarianceModel& model, std::span<const Site> rows,
                             std::span<const Site> columns) {
  Matrix matrix(rows.size(), columns.size());
  fill(model, rows, columns, matrix.view());
  return matrix;
}

}  // namespace evendrip
