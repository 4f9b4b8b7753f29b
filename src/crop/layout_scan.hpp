// SPDX-License-Identifier: Apache-2.0
// Troughs that follow laterals: a run of neighbouring laterals, from one station to another, with a
// sharp step down on both of its sides.
//
// Rows are laterals (or, in a turned layout, lines that lie as laterals would), bins are stretches
// along them. With A the mean of the rows before a boundary, B of those behind it, A' and B' of the
// rows beyond these, a step is
//   A - B - ((A' - A) + (B - B')) / 2 ,
// the fall across the boundary less the slope on either side of it: smooth ground has none. The
// score of a trough is the lesser of the sums of steps on its two sides over their robust standard
// deviation and the root of their number. Beyond the outermost lateral of a zone the ground of the
// zone beside it serves as rows, its level brought to that of the zone, in turned layouts likewise.
// Along a limit of the field there is nothing beyond: a run there has one side, and its score is
// the sum of the steps of that side alone.
#pragma once

#include <cstddef>
#include <vector>

#include "evendrip/base/work.hpp"
#include "lattice_runs.hpp"
#include "screened_ground.hpp"

namespace evendrip {

struct Trough {
  int zone = -1;
  int first_row = 0;  ///< of the laterals of the zone, from one side to the other
  int last_row = 0;
  std::vector<int> laterals;  ///< in that order
  std::vector<int> beside;  ///< as wide as what is resolved, two laterals at least, on either side
  double from_m = 0;
  double to_m = 0;
  bool to_the_end = false;
  double score = 0;
  double level = 1;  ///< mean over that of the laterals beside it
};

/// How a placebo lies: the layout turned about the middle of the zone and moved.
struct Turn {
  double angle_deg = 0;
  double across = 0;  ///< shares of a row and of a bin
  double along = 0;
};

class LayoutScan {
 public:
  /// `resolved_m`: narrower troughs are not looked for.
  LayoutScan(const Field& field, const ScreenedGround& ground, double resolved_m);

  /// In the layout as it is: the best trough for each run of rows, the best first.
  std::vector<Trough> troughs(int zone) const;
  /// Runs from a limit of the field inward, each with its one side; the best first.
  std::vector<Trough> edge_runs(int zone) const;
  /// In a layout turned.
  BestScores best_when(int zone, const Turn& turn) const;
  /// Rows that are one width resolved.
  int together(int zone) const { return zones_[static_cast<std::size_t>(zone)].runs.together; }
  /// Of the widest trough that is looked for.
  int widest(int zone) const { return zones_[static_cast<std::size_t>(zone)].runs.widest; }
  /// What a trough of this depth and length would come to, by the noise of steps in the zone.
  double expected_score(int zone, double depth, double length_m) const;

 private:
  struct OfZone {
    std::vector<int> laterals;
    double row_m = 1;
    double bin_m = 1;
    RunRows runs;
    double spread = 0;  ///< of steps, robust
    Point middle;
    double bearing_deg = 0;
    double reach_m = 0;
  };
  enum class Whose { own, others, all };
  double value_for(int zone, Point p, Whose whose) const;
  double mean_of(int zone, Point from, Point along, double length_m, double row_m,
                 Whose whose) const;
  void fill_row(int zone, const Line& line, double off_m, Whose whose, int row,
                Lattice& lattice) const;
  double outward(int zone, bool first) const;
  Lattice true_lattice(int zone) const;
  Lattice turned_lattice(int zone, const Turn& turn) const;
  Trough told(int zone, const Lattice& lattice, const LatticeRun& found) const;

  const Field& field_;
  const ScreenedGround& ground_;
  std::vector<double> level_;  ///< mean of each zone
  std::vector<OfZone> zones_;
};

}  // namespace evendrip
