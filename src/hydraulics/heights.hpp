// SPDX-License-Identifier: Apache-2.0
// Heights on a grid, as the terrain samples them, and a smooth line through samples.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "evendrip/geo/raster.hpp"

namespace evendrip {

/// Of the nearest cell that has a value; nothing if no cell has.
std::optional<double> nearest_height(const Raster& heights, Point p);

struct HeightOutlier {
  Cell cell;
  double off_m = 0;  ///< from what its neighbours say
};
/// Cells off the median of the opposite pairs among their 24 neighbours by more than five robust
/// standard deviations of all cells and 1 m. Pairs make a slope cost nothing.
std::vector<HeightOutlier> height_outliers(const Raster& heights);

/// A local straight line through samples (Cleveland 1979, J. Am. Stat. Assoc. 74:829-836: tricube
/// weights, two rounds of bisquare weights against outliers), with a window of fixed half width.
class LocalLine {
 public:
  /// Three or more samples at rising stations.
  LocalLine(std::vector<double> stations_m, std::vector<double> values, double half_window_m);

  double at(double station_m) const;
  /// Standard error of `at`, mean over the samples, from their scatter about the line.
  double sd() const { return sd_; }

 private:
  struct Fit {
    double value = 0;
    double noise_share = 0;  ///< variance of the value over that of one sample
    double own_share = 0;    ///< weight of the sample at the station itself, if there is one
  };
  Fit fit(double station_m, std::span<const double> trust) const;
  void settle();

  std::vector<double> stations_;
  std::vector<double> values_;
  std::vector<double> trust_;  ///< robustness weights
  double half_window_ = 0;
  double sd_ = 0;
};

}  // namespace evendrip
