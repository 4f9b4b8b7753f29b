// SPDX-License-Identifier: Apache-2.0
// Runs of rows of a lattice with a sharp step down on both of their sides (layout_scan.hpp says
// what rows, bins, steps and scores are).
#pragma once

#include <cstddef>
#include <vector>

namespace evendrip {

struct Lattice {
  int rows = 0;
  int bins = 0;
  int first_own = 0;  ///< rows of the zone; those before and behind are of the ground beside it
  int end_own = 0;
  std::vector<double> mean;  ///< NaN where too little is seen
  double at(int row, int bin) const {
    return mean[static_cast<std::size_t>(row) * static_cast<std::size_t>(bins) +
                static_cast<std::size_t>(bin)];
  }
};

/// Mean of the rows `first` to below `end` that are seen in a bin; NaN where none is.
double mean_of_rows(const Lattice& lattice, int first, int end, int bin);
/// The same over bins.
double mean_of_box(const Lattice& lattice, int first_row, int end_row, int first_bin, int last_bin);

struct LatticeRun {
  int first_row = 0, last_row = 0;
  int first_bin = 0, last_bin = 0;
  double score = 0;
};

/// Of every boundary, the one before each row.
class LatticeSteps {
 public:
  /// `together`: rows that are one width resolved.
  LatticeSteps(const Lattice& lattice, int together);

  /// NaN where it is not seen.
  double at(int boundary, int bin) const {
    return steps_[static_cast<std::size_t>(boundary) * static_cast<std::size_t>(bins_) +
                  static_cast<std::size_t>(bin)];
  }
  int bins() const { return bins_; }
  double spread() const { return spread_; }  ///< robust; 0 where there is no step
  /// The stretch of bins with the greatest sum of steps over one boundary, down (1) or up (-1).
  LatticeRun best_side(int boundary, double sign) const;

 private:
  int bins_;
  std::vector<double> steps_;
  double spread_ = 0;
};

/// Rows of the runs that are looked for.
struct RunRows {
  int together = 1;  ///< that are one width resolved: no run is narrower
  int widest = 1;
};

/// For each run of rows of the zone the stretch of bins with the greatest score, if it is above 0
/// and the ground is low on both sides; the best first.
std::vector<LatticeRun> low_runs(const Lattice& lattice, RunRows wanted);

/// The greatest score of those, and of any single side.
struct BestScores {
  double trough = 0;
  double side = 0;
};
BestScores best_scores(const Lattice& lattice, RunRows wanted);

}  // namespace evendrip
