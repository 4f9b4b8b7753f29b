// SPDX-License-Identifier: Apache-2.0
#include "sharp_patches.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace evendrip {
namespace {

constexpr std::size_t looked_at = 3000;  ///< of which those that differ are tested
constexpr std::size_t tested = 24;
constexpr double alike_from = 0.5;  ///< of what two rectangles cover together
constexpr int most_turns = 12;
constexpr double a_little_m = 1e-6;
constexpr double zones_for_a_patch = 10;

/// Laterals and stations of the grid.
struct Rectangle {
  int first_row = 0;
  int end_row = 0;  ///< beyond the last
  int first_station = 0;
  int end_station = 0;
};

/// Sums over rectangles from the corner of the grid.
class RectangleSums {
 public:
  RectangleSums(const SegmentGrid& grid, const std::vector<double>& values)
      : columns_(static_cast<std::size_t>(grid.stations()) + 1),
        sums_((static_cast<std::size_t>(grid.rows()) + 1) * columns_, 0) {
    for (int row = 0; row < grid.rows(); ++row)
      for (int station = 0; station < grid.stations(); ++station)
        at(row + 1, station + 1) = values[static_cast<std::size_t>(grid.segment(row, station))] +
                                   at(row, station + 1) + at(row + 1, station) - at(row, station);
  }

  double over(const Rectangle& r) const {
    return at(r.end_row, r.end_station) - at(r.first_row, r.end_station) -
           at(r.end_row, r.first_station) + at(r.first_row, r.first_station);
  }

 private:
  double& at(int row, int station) {
    return sums_[static_cast<std::size_t>(row) * columns_ + static_cast<std::size_t>(station)];
  }
  double at(int row, int station) const {
    return sums_[static_cast<std::size_t>(row) * columns_ + static_cast<std::size_t>(station)];
  }

  std::size_t columns_;
  std::vector<double> sums_;
};

struct Ranked {
  double rank = 0;
  Rectangle rectangle;
};

int most_rows(const SegmentGrid& grid) {
  return std::max(1, grid.rows() / 2);
}

/// What smooth parts do not take up of a change is at its edge: scores are ranked by their squares
/// over its length, in segments.
std::vector<Ranked> ranked_rectangles(const ZoneModel& model, const std::vector<double>& scores) {
  const SegmentGrid& grid = model.grid();
  std::vector<double> dug(scores.size(), 0);
  for (const HoleDatum& hole : model.hole_data())
    dug[static_cast<std::size_t>(grid.segment(hole.row, hole.station))] = 1;
  const RectangleSums of_scores(grid, scores);
  const RectangleSums of_holes(grid, dug);
  std::vector<Ranked> ranked;
  const auto higher = [](const Ranked& a, const Ranked& b) { return a.rank > b.rank; };
  const auto keep_best = [&] {
    if (ranked.size() <= looked_at) return;
    std::nth_element(ranked.begin(), ranked.begin() + looked_at, ranked.end(), higher);
    ranked.resize(looked_at);
  };
  Rectangle r;
  for (r.first_row = 0; r.first_row < grid.rows(); ++r.first_row) {
    const int most = std::min(grid.rows(), r.first_row + most_rows(grid));
    for (r.end_row = r.first_row + model.laterals_seen(); r.end_row <= most; ++r.end_row)
      for (r.first_station = 0; r.first_station < grid.stations(); ++r.first_station)
        for (r.end_station = r.first_station + 1; r.end_station <= grid.stations();
             ++r.end_station) {
          const double score = of_scores.over(r);
          const int half_edge = r.end_row - r.first_row + r.end_station - r.first_station;
          if (score < 0 && of_holes.over(r) > 0.5) ranked.push_back({score * score / half_edge, r});
        }
    keep_best();
  }
  std::stable_sort(ranked.begin(), ranked.end(), higher);
  return ranked;
}

int size_of(const Rectangle& r) {
  return (r.end_row - r.first_row) * (r.end_station - r.first_station);
}

bool alike(const Rectangle& a, const Rectangle& b) {
  const int rows = std::min(a.end_row, b.end_row) - std::max(a.first_row, b.first_row);
  const int stations =
      std::min(a.end_station, b.end_station) - std::max(a.first_station, b.first_station);
  if (rows <= 0 || stations <= 0) return false;
  const int both = rows * stations;
  return both > alike_from * (size_of(a) + size_of(b) - both);
}

SharpPatch on_ground(const SegmentGrid& grid, const Rectangle& r) {
  const double before_m = grid.stations_m.front() - 0.5 * grid.step_m;
  return {r.first_row, r.end_row, before_m + r.first_station * grid.step_m,
          before_m + r.end_station * grid.step_m};
}

/// The best of those that differ.
std::vector<SharpPatch> different(const SegmentGrid& grid, const std::vector<Ranked>& ranked) {
  std::vector<Rectangle> taken;
  for (const Ranked& one : ranked) {
    if (taken.size() == tested) break;
    if (std::none_of(taken.begin(), taken.end(),
                     [&one](const Rectangle& other) { return alike(one.rectangle, other); }))
      taken.push_back(one.rectangle);
  }
  std::vector<SharpPatch> out;
  out.reserve(taken.size());
  for (const Rectangle& r : taken) out.push_back(on_ground(grid, r));
  return out;
}

/// The best of some and of the one that is best so far, if it lowers delivery.
void take_best(const ZoneModel& model, const ConditionParameters& parameters,
               const std::vector<SharpPatch>& some, FoundPatch& best) {
  const std::vector<ResponseTest> tests = model.tested_patches(parameters, some);
  for (std::size_t i = 0; i < tests.size(); ++i)
    if (tests[i].amount < 0 && tests[i].gain > best.gain) best = {some[i], tests[i].gain};
}

bool holds_a_hole(const ZoneModel& model, const SharpPatch& patch) {
  const auto& holes = model.hole_data();
  return std::any_of(holes.begin(), holes.end(),
                     [&](const HoleDatum& hole) { return holds(model, patch, hole); });
}

bool is_sought(const ZoneModel& model, const SharpPatch& patch) {
  const SegmentGrid& grid = model.grid();
  const int rows = patch.end_row - patch.first_row;
  const double half_m = 0.5 * grid.step_m;
  return patch.first_row >= 0 && patch.end_row <= grid.rows() && rows >= model.laterals_seen() &&
         rows <= most_rows(grid) && patch.from_m >= grid.stations_m.front() - half_m - a_little_m &&
         patch.to_m <= grid.stations_m.back() + half_m + a_little_m &&
         patch.to_m - patch.from_m >= half_m && holds_a_hole(model, patch);
}

/// Each edge by up to two steps, either way, along the laterals by parts of one too.
void move_edges(const ZoneModel& model, const ConditionParameters& parameters, FoundPatch& best) {
  for (int turn = 0; turn < most_turns; ++turn) {
    std::vector<SharpPatch> moved;
    const auto try_out = [&](const SharpPatch& patch) {
      if (is_sought(model, patch)) moved.push_back(patch);
    };
    for (int SharpPatch::*edge : {&SharpPatch::first_row, &SharpPatch::end_row})
      for (const int by : {-2, -1, 1, 2}) {
        SharpPatch patch = best.patch;
        patch.*edge += by;
        try_out(patch);
      }
    for (double SharpPatch::*edge : {&SharpPatch::from_m, &SharpPatch::to_m})
      for (const double by : {-2.0, -1.0, -0.5, -0.25, -0.125, 0.125, 0.25, 0.5, 1.0, 2.0}) {
        SharpPatch patch = best.patch;
        patch.*edge += by * model.grid().step_m;
        try_out(patch);
      }
    const double before = best.gain;
    take_best(model, parameters, moved, best);
    if (!(best.gain > before)) return;
  }
}

}  // namespace

bool holds(const ZoneModel& model, const SharpPatch& patch, const HoleDatum& hole) {
  const double station_m = std::isfinite(hole.station_m)
                               ? hole.station_m
                               : model.grid().stations_m[static_cast<std::size_t>(hole.station)];
  return patch.holds(hole.row, station_m);
}

std::optional<FoundPatch> find_patch(const ZoneModel& model,
                                     const ConditionParameters& parameters) {
  if (model.crop_data() == 0 || model.holes() == 0) return {};
  const bool large = model.coarser() != nullptr;
  const ZoneModel& few = large ? *model.coarser() : model;
  const std::vector<double> scores = few.segment_scores(parameters);
  if (scores.empty()) return {};
  FoundPatch best;
  take_best(few, parameters, different(few.grid(), ranked_rectangles(few, scores)), best);
  if (!(best.gain > 0)) return {};
  move_edges(few, parameters, best);
  if (!large) return best;
  FoundPatch fine;
  take_best(model, parameters, {best.patch}, fine);
  if (!(fine.gain > 0)) return {};
  move_edges(model, parameters, fine);
  return fine;
}

double needed_gain(const SegmentGrid& grid) {
  const double rows = grid.rows();
  const double stations = grid.stations();
  return std::log(rows * (rows + 1) / 2 * stations * (stations + 1) / 2 * zones_for_a_patch);
}

}  // namespace evendrip
