// SPDX-License-Identifier: Apache-2.0
#include "machine_runs.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <vector>

#include "evendrip/base/median.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

constexpr double least_aligned = 0.5;  ///< of the records in and beside a run
constexpr double roughly_deg = 30;
constexpr double side_in_periods = 0.125;
constexpr double degree = std::numbers::pi / 180;

/// A run along its middle lateral, with its sides to the left (below 0) and right of it.
struct Course {
  Line line;
  double length_m = 0;
  double left_m = 0;
  double right_m = 0;
};

/// Distance to the right of a line, and where along it.
struct Beside {
  double right_m = 0;
  double station_m = 0;
  Point along;
};
Beside beside(const Line& line, Point p) {
  const Projection foot = project_onto(line, p);
  const Point along = direction_at(line, foot.station_m);
  return {(p.x - foot.foot.x) * along.y - (p.y - foot.foot.y) * along.x, foot.station_m, along};
}

Course course_of(const Field& field, const Trough& trough) {
  const auto line_of = [&](int lateral) -> const Line& {
    return field.laterals[static_cast<std::size_t>(lateral)].line;
  };
  const double scale = field.scale_factor;
  Course course;
  course.line = part_of(line_of(trough.laterals[trough.laterals.size() / 2]), trough.from_m * scale,
                        trough.to_m * scale);
  course.length_m = length_m(course.line);
  const double half_m =
      0.5 * field.zones[static_cast<std::size_t>(trough.zone)].lateral.spacing_m * scale;
  for (const int lateral : {trough.laterals.front(), trough.laterals.back()}) {
    const Point middle = point_at(line_of(lateral), 0.5 * (trough.from_m + trough.to_m) * scale);
    const double right_m = beside(course.line, middle).right_m;
    course.left_m = std::min(course.left_m, right_m - half_m);
    course.right_m = std::max(course.right_m, right_m + half_m);
  }
  return course;
}

/// From one direction to another whose sense does not matter, degrees from -90 to 90.
double turn_between(double bearing_a, double bearing_b) {
  return std::remainder(bearing_a - bearing_b, 180);
}

double bearing_of(Point along) {
  return std::atan2(along.x, along.y) / degree;
}

bool holds(const std::vector<int>& zones, int zone) {
  return std::find(zones.begin(), zones.end(), zone) != zones.end();
}

}  // namespace

bool MachineRuns::alike(const Trough& trough) const {
  if (evidence_ == nullptr || trough.laterals.empty()) return false;
  if (evidence_->passes) return along_passes(trough);
  return std::any_of(evidence_->waves.begin(), evidence_->waves.end(),
                     [&](const MachineWave& wave) { return along_wave(trough, wave); });
}

bool MachineRuns::along_passes(const Trough& trough) const {
  const Course course = course_of(field_, trough);
  const double swath_m = evidence_->typical.across_m * field_.scale_factor;
  if (course.line.size() < 2 || !(course.length_m > 0) || !(swath_m > 0)) return false;
  const double drift_m = swath_m + 0.5 * (course.right_m - course.left_m);
  const double alike_deg = std::atan(drift_m / course.length_m) / degree;
  const Extent near =
      extent_of(course.line).grown(std::max(-course.left_m, course.right_m) + swath_m);
  double records = 0;
  std::vector<double> turns;  ///< of the records that roughly head along the laterals
  for (const EvidenceDatum& datum : evidence_->data) {
    if (!near.contains(datum.place)) continue;
    const Beside at = beside(course.line, datum.place);
    if (at.station_m <= 0 || at.station_m >= course.length_m) continue;
    if (at.right_m < course.left_m - swath_m || at.right_m > course.right_m + swath_m) continue;
    records += 1;
    const double turn = turn_between(double{datum.heading_deg}, bearing_of(at.along));
    if (std::abs(turn) > roughly_deg) continue;
    turns.push_back(turn);
  }
  if (turns.empty() || static_cast<double>(turns.size()) < least_aligned * records) return false;
  // One record's heading is that of two fixes: their median is what the passes have.
  return std::abs(median_in_place(turns)) <= alike_deg;
}

bool MachineRuns::along_wave(const Trough& trough, const MachineWave& wave) const {
  if (!holds(wave.zones, trough.zone)) return false;
  const Course course = course_of(field_, trough);
  if (course.line.size() < 2 || !(course.length_m > 0)) return false;
  const double alike_deg = std::atan(0.5 * wave.period_m / course.length_m) / degree;
  if (std::abs(turn_between(wave.axis_deg, bearing_deg(course.line))) > alike_deg) return false;
  // The nearest place where the wave crosses its mean, by trial.
  const Point middle = point_at(course.line, 0.5 * course.length_m);
  const Point along = direction_at(course.line, 0.5 * course.length_m);
  const double close_m = std::max(side_in_periods * wave.period_m,
                                  0.5 * evidence_->typical.across_m * field_.scale_factor);
  const auto crosses_near = [&](double right_m) {
    const auto at = [&](double off_m) {
      const double u = right_m + off_m;
      return wave.at({middle.x + u * along.y, middle.y - u * along.x});
    };
    return at(-close_m) * at(close_m) <= 0;
  };
  return crosses_near(course.left_m) && crosses_near(course.right_m);
}

void take_out_waves(const CropEvidence* evidence, ScreenedGround& ground) {
  if (evidence == nullptr) return;
  const Grid& grid = ground.crop.grid;
  for (const MachineWave& wave : evidence->waves) {
    std::vector<double> at(grid.cells(), 0);
    double mean = 0;
    double count = 0;
    for (std::size_t i = 0; i < at.size(); ++i) {
      if (ground.zone[i] < 0 || !holds(wave.zones, ground.zone[i])) continue;
      at[i] = wave.at(grid.centre(static_cast<int>(i / static_cast<std::size_t>(grid.columns)),
                                  static_cast<int>(i % static_cast<std::size_t>(grid.columns))));
      mean += double{ground.crop.values[i]};
      count += 1;
    }
    if (!(count > 0)) continue;
    mean /= count;
    double squares = 0;
    double products = 0;
    for (std::size_t i = 0; i < at.size(); ++i) {
      squares += at[i] * at[i];
      if (at[i] != 0) products += at[i] * (double{ground.crop.values[i]} - mean);
    }
    if (!(squares > 0)) continue;
    for (std::size_t i = 0; i < at.size(); ++i)
      if (at[i] != 0)
        ground.crop.set(i, double{ground.crop.values[i]} - products / squares * at[i]);
  }
}

}  // namespace evendrip
