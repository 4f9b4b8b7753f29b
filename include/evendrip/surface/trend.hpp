// SPDX-License-Identifier: Apache-2.0
// What is known of the pattern beforehand: the columns of the trend, as functions of the site.
#pragma once

#include <functional>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "evendrip/field/field.hpp"
#include "evendrip/geo/raster.hpp"
#include "evendrip/surface/observation.hpp"

namespace evendrip {

/// One column. `fill` writes one value for each site, NaN where the term has none (a raster that
/// does not reach there). Called from many threads.
struct TrendTerm {
  std::string name;
  std::function<void(std::span<const Site> sites, std::span<double> out)> fill;
};
/// Empty: no trend to be estimated, the mean is known (simple kriging).
using SurfaceTrend = std::vector<TrendTerm>;

TrendTerm constant_term();
/// 1 in one zone, else 0.
TrendTerm zone_term(const Field& field, int zone);
/// (station / length of its lateral)^power.
TrendTerm station_term(const Field& field, int power);
/// exp(-(length - station) / reach_m): what builds up toward the far end.
TrendTerm near_end_term(const Field& field, double reach_m);
/// Value of a raster held in memory, linear between cell centres: elevation, expected pressure, a
/// crop index.
TrendTerm raster_term(std::string name, std::shared_ptr<const Raster> raster);
/// Any function of the site, called one by one.
TrendTerm function_term(std::string name, std::function<double(const Site&)> value);

/// out: sites.size() x trend.size().
void fill(const SurfaceTrend& trend, std::span<const Site> sites, MatrixView out);
/// Of weighted sums: the values at their sites, summed with the weights. Throws
/// std::invalid_argument, naming the term, where a term has no value.
void fill(const SurfaceTrend& trend, std::span<const SurfaceObservation> observations,
          MatrixView out);

}  // namespace evendrip
