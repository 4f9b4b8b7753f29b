// SPDX-License-Identifier: Apache-2.0
// Best linear unbiased prediction from a surface model: at sites, as means over blocks, over grids.
//
// Universal kriging: Matheron 1969; Cressie 1993, "Statistics for Spatial Data", section 3.4.
// Simple kriging with an empty trend, ordinary kriging with a constant.
#pragma once

#include <memory>
#include <span>
#include <string>
#include <vector>

#include "evendrip/base/work.hpp"
#include "evendrip/geo/raster.hpp"
#include "evendrip/surface/estimators.hpp"
#include "evendrip/surface/site_map.hpp"
#include "evendrip/surface/surface_model.hpp"

namespace evendrip {

/// Which observations count at a place.
enum class DataUse {
  automatic,  ///< all while that is quick, else common
  all,        ///< all of them, everywhere
  nearest,    ///< its own nearest for every place
  common      ///< one set for the places of a small square: the nearest to it; quicker, less exact
};
std::string to_text(DataUse use);

/// What is predicted: the surface (what neighbouring emitters share), or one emitter there, whose
/// variance has the nugget besides.
enum class Target { surface, emitter };

struct PredictionOptions {
  DataUse use = DataUse::automatic;
  int most = 32;  ///< observations for `nearest` and `common`
  Target target = Target::surface;
};

/// Means over parts of the field: sites with weights that sum to 1.
struct Block {
  std::vector<Site> sites;
  std::vector<double> weights;
};

class SurfacePredictor {
 public:
  /// Factors once. Throws std::invalid_argument as fit_surface does, or if V is not positive
  /// definite.
  SurfacePredictor(const SurfaceObservations& observations, const SurfaceModel& model,
                   const PredictionOptions& options);
  ~SurfacePredictor();
  SurfacePredictor(SurfacePredictor&&) noexcept;

  DataUse use() const;  ///< what automatic came to
  std::string use_text()
      const;  ///< "all 60 measurements", "the 32 nearest to each square of cells"
  /// Result i for site i; NaN where a trend term has no value.
  std::vector<Prediction> at(std::span<const Site> sites, const Work& work) const;
  /// Means over blocks. A block is the mean over its sites: the discretisation is the caller's.
  std::vector<Prediction> means(std::span<const Block> blocks, const Work& work) const;

  struct Surfaces {
    Raster value;
    Raster variance;
  };
  /// Cells whose zone is -1 get Reason::outside_zones; where a trend term has none
  /// Reason::no_source. `sites`: one for each cell of the window, row by row.
  Surfaces over(const Grid& grid, const Window& window, std::span<const Site> sites,
                const Work& work) const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// Normal limits and probability; level 0.90 gives the 5 % and the 95 % point.
struct PredictionLimits {
  double lower = 0;
  double upper = 0;
};
PredictionLimits normal_limits(const Prediction& prediction, double level);
/// Probability that the value is below a threshold; 0 or 1 where the variance is 0.
double probability_below(const Prediction& prediction, double threshold);

}  // namespace evendrip
