// SPDX-License-Identifier: Apache-2.0
// Spatial autocorrelation: Moran's I and Geary's C of a whole, and local Moran's I.
//
// Cliff & Ord 1981, "Spatial Processes"; Anselin 1995, Geogr. Anal. 27:93-115; moments of local I
// under total randomisation: Sokal, Oden & Thomson 1998, Geogr. Anal. 30:331-354 (from memory).
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/crop/neighbour_weights.hpp"

namespace evendrip {

struct GlobalAutocorrelation {
  double value = 0;
  double expected = 0;
  double variance = 0;  ///< under randomisation
  double z = 0;
  double p = 1;  ///< one-sided, towards alike neighbours
};
/// Places without neighbours do not count in the moments. z is positive where neighbours are alike,
/// also of Geary's C, which is below 1 there. Where all values are equal or nothing has neighbours:
/// all 0, p 1. All functions here throw std::invalid_argument for values and places that differ in
/// number, fewer than four values (three for local measures), or values that are not finite.
GlobalAutocorrelation moran(std::span<const double> values, const NeighbourWeights& weights);
GlobalAutocorrelation geary(std::span<const double> values, const NeighbourWeights& weights);

/// I_i = z_i / m2 sum_j w_ij z_j, m2 = sum z^2 / n; NaN for a place without neighbours, and
/// everywhere if all values are equal; z and p are NaN at a value equal to the mean.
struct LocalMoran {
  std::vector<double> value;
  std::vector<double> expected;
  std::vector<double> variance;  ///< conditional on z_i (Sokal et al. 1998)
  std::vector<double> z;
  std::vector<double> p;  ///< two-sided, normal
};
LocalMoran local_moran(std::span<const double> values, const NeighbourWeights& weights,
                       const Work& work);

/// The same without weights held: neighbours within `within_m`, row standardised, searched on the
/// way, in memory that does not grow with the number of pairs: sums over whole runs of neighbours
/// are differences of running sums. Throws as neighbours_within besides.
LocalMoran local_moran(std::span<const Point> places, std::span<const double> values,
                       double within_m, const Work& work);

/// I_i = x_i sum_j w_ij y_j of standardised values (Anselin, Syabri & Smirnov 2002; from memory):
/// whether x here goes with y around. p from `permutations` of y over the other places
/// (conditional), two-sided about the mean of all permutations, from a stream for each place.
struct LocalPair {
  std::vector<double> value;
  std::vector<double> p;
};
LocalPair local_bivariate_moran(std::span<const double> x, std::span<const double> y,
                                const NeighbourWeights& weights, int permutations,
                                std::uint64_t seed, const Work& work);

/// p values adjusted so that among those at most q a share q is false: Benjamini & Hochberg 1995,
/// J. R. Stat. Soc. B 57:289-300. NaN stays and does not count.
std::vector<double> false_discovery_adjusted(std::span<const double> p);

}  // namespace evendrip
