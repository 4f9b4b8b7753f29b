// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/machine_marks.hpp"

#include "length_words.hpp"
#include "turned_zone.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/core.h>

#include "evendrip/base/median.hpp"
#include "evendrip/crop/lateral_profile.hpp"

namespace evendrip {
namespace {

constexpr int longest_side = 2000;          ///< cells that are looked at
constexpr double widest_m = 40;             ///< common practice, no source
constexpr double widest_share = 0.15;       ///< of the length between the limits
constexpr double level_that_counts = 0.97;  ///< common practice, no source
constexpr double most_columns = 2.0 / 3;
constexpr std::size_t fewest_columns = 8;
/// Through the outermost cell shows what lies beyond the limit.
constexpr std::size_t unsure_cells = 1;

/// Cells of one column from a limit of the field inward.
using Inward = std::vector<double>;

struct End {
  std::vector<Inward> columns;  ///< from one side of the field to the other
  std::size_t far = 0;          ///< of them, with the far end of the laterals there
  double beyond_cells = 0;      ///< sum over them: from the outermost cell to the limit

  void add(Inward column, bool is_far, double to_limit_cells) {
    columns.push_back(std::move(column));
    if (is_far) ++far;
    beyond_cells += to_limit_cells;
  }
  bool mostly_far() const { return 2 * far > columns.size(); }
};

/// Where water flows along the axis of a turned zone.
enum class Flow { up, down };

/// Whether another zone begins where a column ends.
bool goes_on(const Field& field, const TurnedZone& zone, std::size_t column, double last_bin,
             double direction) {
  const int cells = static_cast<int>(std::floor(4 + 10 / zone.cell_m));
  for (int beyond = 2; beyond <= cells; ++beyond) {
    const Point place = zone.place(column, last_bin + direction * beyond);
    for (std::size_t z = 0; z < field.zones.size(); ++z)
      if (static_cast<int>(z) != zone.zone && contains(field.zones[z].area, place)) return true;
  }
  return false;
}

/// From the outer side of a bin to the limit of the zone, in cells.
double cells_to_limit(const Field& field, const TurnedZone& zone, std::size_t column,
                      std::size_t bin, double direction) {
  constexpr double step = 0.25;
  const MultiPolygon& area = field.zones[static_cast<std::size_t>(zone.zone)].area;
  double cells = 0;
  while (cells < 2 && contains(area, zone.place(column, static_cast<double>(bin) +
                                                            direction * (0.5 + cells + step))))
    cells += step;
  return cells;
}

void add_columns(const Field& field, const TurnedZone& zone, Flow flow, std::size_t depth,
                 std::array<End, 2>& ends) {
  for (std::size_t u = 0; u < zone.across; ++u) {
    std::size_t first = zone.along;
    std::size_t last = 0;
    for (std::size_t v = 0; v < zone.along; ++v) {
      if (std::isnan(zone.at(u, v))) continue;
      first = std::min(first, v);
      last = v;
    }
    if (first > last || last - first + 1 < 2 * depth) continue;
    Inward low;
    Inward high;
    for (std::size_t d = 0; d < depth; ++d) {
      low.push_back(zone.at(u, first + d));
      high.push_back(zone.at(u, last - d));
    }
    const Zone& fed = field.zones[static_cast<std::size_t>(zone.zone)];
    const bool both_fed = fed.lateral.ends == LateralEnds::both_fed;
    if (!goes_on(field, zone, u, static_cast<double>(first), -1))
      ends[0].add(std::move(low), !both_fed && flow == Flow::down,
                  cells_to_limit(field, zone, u, first, -1));
    if (!goes_on(field, zone, u, static_cast<double>(last), 1))
      ends[1].add(std::move(high), !both_fed && flow == Flow::up,
                  cells_to_limit(field, zone, u, last, 1));
  }
}

struct Mean {
  double sum = 0;
  double count = 0;
  void add(double value) {
    if (std::isnan(value)) return;
    sum += value;
    count += 1;
  }
  double value() const {
    return count > 0 ? sum / count : std::numeric_limits<double>::quiet_NaN();
  }
};

std::vector<double> mean_inward(const End& end, std::size_t depth) {
  std::vector<double> means;
  for (std::size_t d = 0; d < depth; ++d) {
    Mean mean;
    for (const Inward& column : end.columns) mean.add(column[d]);
    means.push_back(mean.value());
  }
  return means;
}

/// Crop against depth as a slope and a step to what is lower outside of it, by least squares.
struct StepLine {
  double slope = 0;  ///< by cell
  double rise = 0;   ///< from the outer to the inner side
  double squares = std::numeric_limits<double>::infinity();
};

/// Whether the crop farther in, and that outside, may slope; otherwise both are level.
enum class Ground { sloping, level };

/// A step of 0 is none: the ground alone.
StepLine step_line(const std::vector<double>& means, std::size_t from, std::size_t step,
                   Ground ground) {
  std::array<Mean, 2> depths;
  std::array<Mean, 2> levels;
  const auto side = [step](std::size_t d) { return d < step ? 0U : 1U; };
  for (std::size_t d = from; d < means.size(); ++d) {
    if (std::isnan(means[d])) continue;
    depths[side(d)].add(static_cast<double>(d));
    levels[side(d)].add(means[d]);
  }
  double xx = 0;
  double xy = 0;
  double yy = 0;
  for (std::size_t d = from; d < means.size(); ++d) {
    if (std::isnan(means[d])) continue;
    const double x = static_cast<double>(d) - depths[side(d)].value();
    const double y = means[d] - levels[side(d)].value();
    xx += x * x;
    xy += x * y;
    yy += y * y;
  }
  const double slope = ground == Ground::sloping && xx > 0 ? xy / xx : 0;
  const double rise =
      levels[1].value() - levels[0].value() - slope * (depths[1].value() - depths[0].value());
  return {slope, rise, yy - slope * xy};
}

/// What each step adds to a slope alone: how many times the squares are less for it; 0 where they
/// are not, or the outer side is not lower.
struct EndSteps {
  std::vector<StepLine> lines;
  std::vector<double> gains;
};

EndSteps steps_of(const std::vector<double>& means, std::size_t from, std::size_t widest,
                  Ground ground) {
  EndSteps steps;
  const double alone = step_line(means, from, 0, Ground::sloping).squares;
  for (std::size_t cells = 0; cells <= widest; ++cells) {
    steps.lines.push_back(step_line(means, from, cells, ground));
    const StepLine& line = steps.lines.back();
    const bool better = cells > from && line.rise > 0 && line.squares < alone;
    steps.gains.push_back(better ? alone / line.squares : 0);
  }
  return steps;
}

struct Step {
  std::array<std::size_t, 2> cells = {};
  std::array<OrderedMean, 2> fall;     ///< outer over inner less 1, by column
  std::array<double, 2> columns = {};  ///< share in which the outer part is lower
  double level = 1;
};

/// By how much a column is lower outside of a step than its slope lets expect.
double fall_of(const Inward& column, std::size_t from, std::size_t step, double slope) {
  Mean outer;
  Mean inner;
  for (std::size_t d = from; d < column.size(); ++d) {
    const double off = slope * (static_cast<double>(d) - static_cast<double>(step));
    (d < step ? outer : inner).add(column[d] - off);
  }
  return outer.value() / inner.value() - 1;
}

/// Steps beyond `from` whose lesser gain of both ends is most; a map a little beside its place sets
/// them up to two cells apart. Falls are known only where both ends gain.
Step best_step(const std::array<End, 2>& ends, const std::array<std::vector<double>, 2>& means,
               std::size_t from, std::size_t widest, Ground ground) {
  const std::array<EndSteps, 2> steps = {steps_of(means[0], from, widest, ground),
                                         steps_of(means[1], from, widest, ground)};
  Step step;
  step.cells = {from + 1, from + 1};
  double most = 0;
  for (std::size_t a = from + 1; a <= widest; ++a)
    for (std::size_t b = a < from + 3 ? from + 1 : a - 2; b <= std::min(a + 2, widest); ++b) {
      const double lesser = std::min(steps[0].gains[a], steps[1].gains[b]);
      if (lesser <= most) continue;
      most = lesser;
      step.cells = {a, b};
    }
  if (!(most > 0)) return step;
  Mean level;
  for (std::size_t e = 0; e < 2; ++e) {
    std::vector<double> falls;
    for (const Inward& column : ends[e].columns) {
      const double fall = fall_of(column, from, step.cells[e], steps[e].lines[step.cells[e]].slope);
      if (std::isfinite(fall)) falls.push_back(fall);
    }
    step.fall[e] = mean_of_neighbours(falls);
    const auto lower = std::count_if(falls.begin(), falls.end(), [](double f) { return f < 0; });
    step.columns[e] =
        falls.empty() ? 0 : static_cast<double>(lower) / static_cast<double>(falls.size());
    level.add(1 + step.fall[e].mean);
  }
  step.level = level.value();
  return step;
}

bool lower_at(const Step& step, std::size_t end) {
  return step.fall[end].known && step.fall[end].upper_90 < 0 &&
         step.fall[end].mean < level_that_counts - 1 && step.columns[end] >= most_columns;
}

bool lower_at_both(const Step& step) {
  return lower_at(step, 0) && lower_at(step, 1);
}

/// One farther in than the outermost cell; failing that, of this cell alone.
Step step_at_limits(const std::array<End, 2>& ends, std::size_t depth, std::size_t widest) {
  const std::array<std::vector<double>, 2> means = {mean_inward(ends[0], depth),
                                                    mean_inward(ends[1], depth)};
  Step step;
  for (const Ground ground : {Ground::sloping, Ground::level}) {
    if (widest <= unsure_cells) break;
    Step farther_in = best_step(ends, means, unsure_cells, widest, ground);
    if (lower_at_both(farther_in)) return farther_in;
    if (ground == Ground::sloping) step = farther_in;
  }
  const Step outermost = best_step(ends, means, 0, 1, Ground::sloping);
  return lower_at_both(outermost) || widest <= unsure_cells ? outermost : step;
}

Headland judged(const Field& field, const Step& step, const std::array<End, 2>& ends,
                double cell_m) {
  Headland headland;
  const bool both = lower_at_both(step);
  const bool one = lower_at(step, 0) || lower_at(step, 1);
  if (both && ends[0].mostly_far() && ends[1].mostly_far()) {
    headland.why =
        "both limits of the field have less crop, but the laterals have their far ends at both: "
        "that "
        "may be water and is not masked as a headland";
  } else if (both) {
    const double beyond = (ends[0].beyond_cells + ends[1].beyond_cells) /
                          static_cast<double>(ends[0].columns.size() + ends[1].columns.size());
    headland.width_m =
        (static_cast<double>(std::max(step.cells[0], step.cells[1])) + beyond) * cell_m;
    headland.level = step.level;
    headland.why = fmt::format(
        "at both ends of the laterals the crop within {} of the limit of the field is at "
        "{:.0f} % of that farther in: turning and traffic rather than water",
        length_words(field, headland.width_m), 100 * headland.level);
  } else if (one) {
    headland.why =
        "only one end of the laterals has less crop at the limit of the field: that may be water "
        "and "
        "is not masked as a headland";
  } else {
    headland.why = "the crop at the limits of the field is not less than farther in at both ends";
  }
  return headland;
}

/// Cells from the limit of the field that are compared, and how many of them a headland may take.
struct Depths {
  std::size_t depth = 0;
  std::size_t widest = 0;
};

Depths depths_of(const std::vector<TurnedZone>& zones, double cell_m) {
  std::vector<double> lengths;
  for (const TurnedZone& zone : zones)
    if (zone.along > 0) lengths.push_back(static_cast<double>(zone.along));
  if (lengths.empty()) return {};
  const double widest = std::min(widest_m / cell_m, widest_share * median_of(lengths));
  return {2 * static_cast<std::size_t>(widest), static_cast<std::size_t>(widest)};
}

/// All along the axis of the first that has laterals.
std::vector<TurnedZone> turned_zones(const Field& field, const Raster& raster, const Work& work) {
  std::vector<TurnedZone> zones(field.zones.size());
  std::optional<double> axis;
  for (std::size_t z = 0; z < zones.size() && !axis; ++z)
    axis = bearing_of_laterals(field, static_cast<int>(z));
  for_each_chunk(without_progress(work), zones.size(), 1,
                 [&](std::size_t begin, std::size_t end, int) {
                   for (std::size_t z = begin; z < end; ++z) {
                     const int zone = static_cast<int>(z);
                     const auto bearing = bearing_of_laterals(field, zone);
                     if (bearing)
                       zones[z] = turned(raster, field, zone, along_axis(*bearing, *axis));
                   }
                 });
  return zones;
}

}  // namespace

Headland recognise_headland(const Field& field, const RasterReader& relative, const Work& work) {
  const Raster raster = overview(relative, longest_side);
  const std::vector<TurnedZone> zones = turned_zones(field, raster, work);
  const Depths depths = depths_of(zones, raster.grid.cell_m);
  std::array<End, 2> ends;
  for (const TurnedZone& zone : zones) {
    const auto bearing = bearing_of_laterals(field, zone.zone);
    if (depths.widest < 1 || zone.along == 0 || !bearing) continue;
    const double turn = *bearing - zone.bearing_deg;
    const Flow flow = std::abs(std::remainder(turn, 360)) < 90 ? Flow::up : Flow::down;
    add_columns(field, zone, flow, depths.depth, ends);
  }
  if (ends[0].columns.size() < fewest_columns || ends[1].columns.size() < fewest_columns) {
    Headland none;
    none.why = "too little of the crop reaches both limits of the field to tell a headland";
    return none;
  }
  return judged(field, step_at_limits(ends, depths.depth, depths.widest), ends,
                raster.grid.cell_m / field.scale_factor);
}

}  // namespace evendrip
