// SPDX-License-Identifier: Apache-2.0
// What lies between the holes: ordinary kriging and inverse distance, at places and over grids.
//
// Ordinary kriging: Matheron 1963; Isaaks & Srivastava 1989, "An Introduction to Applied
// Geostatistics", ch. 12. Variances are of the error of predicting the (noisy) value at a new
// point; at a sample point the sample is returned with variance 0.
#pragma once

#include <cstdint>
#include <limits>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/geo/raster.hpp"
#include "evendrip/surface/sample.hpp"
#include "evendrip/surface/variogram.hpp"

namespace evendrip {

/// Which samples count at a place. most = 0: all of them (global).
struct Neighbourhood {
  int most = 32;
  double within_m = std::numeric_limits<double>::infinity();
  int fewest = 1;  ///< below it the place has Reason::too_few
};

/// Samples at the very same place are merged (mean) before; `merged` says how many went.
class OrdinaryKriging {
 public:
  OrdinaryKriging(const Samples& samples, const VariogramModel& model,
                  const Neighbourhood& neighbourhood);
  ~OrdinaryKriging();
  OrdinaryKriging(OrdinaryKriging&&) noexcept;

  int merged() const;
  /// At places; result i for place i. NaN value where it failed or has too few.
  std::vector<Prediction> at(std::span<const Point> places, const Work& work) const;
  /// Kriging weights of the samples (in order after merging) for one place, and the multiplier.
  struct Weights {
    std::vector<int> samples;
    std::vector<double> weights;  ///< sum to 1
    double lagrange = 0;
  };
  Weights weights_at(Point place) const;
  /// One window of a grid: value and variance rasters. Cells where `wanted` is false (if given; one
  /// flag for each cell of the window) get Reason::outside_zones without computing.
  struct Surfaces {
    Raster value;
    Raster variance;
  };
  Surfaces over(const Grid& grid, const Window& window, std::span<const std::uint8_t> wanted,
                const Work& work) const;
  /// Means over squares of a side, by Gauss-Legendre points, `points_per_side` each way. The
  /// variance is of that mean, over which the nugget averages out; a square about a sample does not
  /// take its value. Block kriging: Isaaks & Srivastava 1989, ch. 13. Both throw
  /// std::invalid_argument for fewer than one point.
  std::vector<Prediction> means_at(std::span<const Point> middles, double side_m,
                                   int points_per_side, const Work& work) const;
  /// The same for the cells of a window, reasons as of over().
  Surfaces means_over(const Grid& grid, const Window& window, std::span<const std::uint8_t> wanted,
                      int points_per_side, const Work& work) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

struct InverseDistance {
  double power = 2;
  Neighbourhood neighbourhood;
};
/// Sum w z / sum w with w = d^-power; a sample point returns its own value; samples at the very
/// same place are merged (mean) before. Shepard 1968, Proc. 23rd ACM Nat. Conf. 517-524.
std::vector<double> inverse_distance_at(const Samples& samples, const InverseDistance& options,
                                        std::span<const Point> places, const Work& work);
class InverseDistanceSurface {
 public:
  InverseDistanceSurface(const Samples& samples, const InverseDistance& options);
  ~InverseDistanceSurface();
  InverseDistanceSurface(InverseDistanceSurface&&) noexcept;
  /// NaN where too few samples are in reach.
  std::vector<double> at(std::span<const Point> places, const Work& work) const;
  /// Each sample from the others, in the order given; NaN where too few are left.
  std::vector<double> each_from_the_others(const Work& work) const;
  Raster over(const Grid& grid, const Window& window, std::span<const std::uint8_t> wanted,
              const Work& work) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Leave-one-out: each sample predicted from the others (samples at the very same place are left
/// out together); NaN where that cannot be, which the summary figures pass over.
struct LeaveOneOut {
  std::vector<double> predicted;
  std::vector<double> variance;
  double mean_error = 0;  ///< observed minus predicted
  double rmse = 0;
  double mean_squared_z = 0;  ///< (error^2 / variance), 0 if the method has no variance
  double correlation = 0;     ///< observed with predicted
};
/// The summary figures of predictions made elsewhere, NaN where there is none.
LeaveOneOut leave_one_out_summary(const Samples& samples, std::vector<double> predicted,
                                  std::vector<double> variance);
LeaveOneOut leave_one_out(const Samples& samples, const VariogramModel& model,
                          const Neighbourhood& neighbourhood, const Work& work);
LeaveOneOut leave_one_out(const Samples& samples, const InverseDistance& options, const Work& work);

}  // namespace evendrip
