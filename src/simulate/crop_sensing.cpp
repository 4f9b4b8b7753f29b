// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/crop_sensing.hpp"

#include "evendrip/base/random.hpp"

#include <boost/random/normal_distribution.hpp>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace evendrip {
namespace {

constexpr std::uint64_t pixel_stream = 1;
constexpr std::uint64_t pass_stream = 2;
constexpr double bell_reach = 4;
constexpr double turning_s = 40;

/// Weights of a bell from its middle outwards.
std::vector<double> half_bell(double sd_cells) {
  std::vector<double> weights{1};
  const int reach = static_cast<int>(std::ceil(bell_reach * sd_cells));
  for (int i = 1; i <= reach; ++i)
    weights.push_back(std::exp(-0.5 * i * i / (sd_cells * sd_cells)));
  return weights;
}

/// One axis: `count` values `step` apart, from `first` on.
void blur_line(std::vector<double>& values, std::size_t first, std::size_t step, int count,
               const std::vector<double>& bell) {
  const int reach = static_cast<int>(bell.size()) - 1;
  std::vector<double> out(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) {
    double sum = 0;
    double weights = 0;
    for (int j = std::max(0, i - reach); j <= std::min(count - 1, i + reach); ++j) {
      const double weight = bell[static_cast<std::size_t>(std::abs(j - i))];
      sum += weight * values[first + static_cast<std::size_t>(j) * step];
      weights += weight;
    }
    out[static_cast<std::size_t>(i)] = sum / weights;
  }
  for (int i = 0; i < count; ++i)
    values[first + static_cast<std::size_t>(i) * step] = out[static_cast<std::size_t>(i)];
}

template <typename Factor>
Raster times(Raster ground, const Factor& factor) {
  for (int row = 0; row < ground.grid.rows; ++row) {
    for (int column = 0; column < ground.grid.columns; ++column) {
      const std::size_t i = ground.grid.index(row, column);
      ground.set(i,
                 static_cast<double>(ground.values[i]) * factor(ground.grid.centre(row, column)));
    }
  }
  return ground;
}

/// Of the cell; the nearest one beyond the limit.
double value_of(const Raster& ground, Point local) {
  const Cell cell = cell_of(ground.grid, local);
  return static_cast<double>(
      ground.values[ground.grid.index(std::clamp(cell.row, 0, ground.grid.rows - 1),
                                      std::clamp(cell.column, 0, ground.grid.columns - 1))]);
}

/// Mean over a square of the frame's CRS, by places no farther apart than the cells.
double square_mean(const SimulatedField& field, const Raster& ground, Point middle, double side_m) {
  const int places = std::max(3, static_cast<int>(std::ceil(side_m / ground.grid.cell_m)));
  double sum = 0;
  for (int i = 0; i < places; ++i) {
    for (int j = 0; j < places; ++j) {
      const Point p{middle.x + ((i + 0.5) / places - 0.5) * side_m,
                    middle.y + ((j + 0.5) / places - 0.5) * side_m};
      sum += value_of(ground, field.frame.from_grid(p));
    }
  }
  return sum / (places * places);
}

Extent extent_of_zones(const SimulatedField& field) {
  Extent extent;
  for (const double station_m : {0.0, field.plan.lateral_length_m}) {
    for (const double across_m :
         {field.zones.front().across_min_m, field.zones.back().across_max_m})
      extent.include(field.frame.to_grid(field.along_of(station_m), across_m));
  }
  return extent;
}

/// Mean over the swath at one place of a pass.
double swath_mean(const Raster& ground, double along_m, double across_m, double swath_m) {
  const int places = std::max(3, static_cast<int>(std::ceil(swath_m / ground.grid.cell_m)));
  double sum = 0;
  for (int i = 0; i < places; ++i)
    sum += value_of(ground, {along_m, across_m + ((i + 0.5) / places - 0.5) * swath_m});
  return sum / places;
}

struct PassWay {
  double direction = 1;  ///< along the flow, or against it
  double across_m = 0;
};

double heading_deg(const LocalFrame& frame, double direction) {
  const double degrees =
      std::atan2(direction * frame.along.x, direction * frame.along.y) * 180 / std::numbers::pi;
  return degrees < 0 ? degrees + 360 : degrees;
}

/// What each record of a pass holds: grain of the pass, every quarter of a record's way, each
/// moment mixed under the bell.
std::vector<double> mixed_values(const SimulatedField& field, const Raster& ground,
                                 const HarvesterPlan& plan, const PassWay& way) {
  const double length_m = field.plan.lateral_length_m;
  const double quarter_m = plan.speed_m_s * plan.record_s / 4;
  const int records = static_cast<int>(std::floor(length_m / (4 * quarter_m)));
  std::vector<double> cut;
  cut.reserve(static_cast<std::size_t>(records) * 4);
  for (int i = 0; i < 4 * records; ++i)
    cut.push_back(swath_mean(ground, way.direction * ((i + 0.5) * quarter_m - length_m / 2),
                             way.across_m, plan.swath_m));
  if (plan.mixing_s > 0 && !cut.empty())
    blur_line(cut, 0, 1, 4 * records, half_bell(plan.mixing_s * plan.speed_m_s / quarter_m));
  std::vector<double> values;
  for (std::size_t i = 0; i < cut.size(); i += 4)
    values.push_back((cut[i] + cut[i + 1] + cut[i + 2] + cut[i + 3]) / 4);
  return values;
}

}  // namespace

Raster blurred(const Raster& ground, double sd_m) {
  if (!(sd_m > 0)) return ground;
  const std::vector<double> bell = half_bell(sd_m / ground.grid.cell_m);
  std::vector<double> values(ground.values.begin(), ground.values.end());
  const auto columns = static_cast<std::size_t>(ground.grid.columns);
  for (int row = 0; row < ground.grid.rows; ++row)
    blur_line(values, static_cast<std::size_t>(row) * columns, 1, ground.grid.columns, bell);
  for (std::size_t column = 0; column < columns; ++column)
    blur_line(values, column, columns, ground.grid.rows, bell);
  Raster out(ground.grid);
  for (std::size_t i = 0; i < values.size(); ++i) out.set(i, values[i]);
  return out;
}

Raster with_headland(Raster ground, double lateral_length_m, double width_m, double factor) {
  const double from_m = lateral_length_m / 2 - width_m;
  return times(std::move(ground), [&](Point p) {
    return std::abs(p.x) > from_m && std::abs(p.x) <= lateral_length_m / 2 ? factor : 1.0;
  });
}

Raster with_stripes(Raster ground, const CropStripes& stripes) {
  return times(std::move(ground), [&](Point p) {
    const double turns = (p.y - stripes.phase_m) / stripes.width_m;
    return turns - std::floor(turns) < 0.5 ? 1 + stripes.amplitude : 1 - stripes.amplitude;
  });
}

Raster with_strip(Raster ground, double from_across_m, double to_across_m, double factor) {
  return times(std::move(ground),
               [&](Point p) { return p.y >= from_across_m && p.y < to_across_m ? factor : 1.0; });
}

Raster sensed_raster(const SimulatedField& field, const Raster& ground, const SensorPlan& plan) {
  const Raster seen = blurred(ground, plan.blur_m);
  const double side_m = plan.pixel_m * field.frame.scale;
  Raster raster(grid_over(extent_of_zones(field), side_m));
  for (int row = 0; row < raster.grid.rows; ++row) {
    for (int column = 0; column < raster.grid.columns; ++column) {
      const std::size_t i = raster.grid.index(row, column);
      auto stream = item_stream(plan.seed, {pixel_stream, i});
      boost::random::normal_distribution<double> noise(0, plan.noise_cv);
      const Point shown = raster.grid.centre(row, column);
      const Point real{shown.x - plan.shift_m.x, shown.y - plan.shift_m.y};
      raster.set(i, square_mean(field, seen, real, side_m) * (1 + noise(stream)));
    }
  }
  return raster;
}

std::vector<HarvestRecord> harvested(const SimulatedField& field, const Raster& ground,
                                     const HarvesterPlan& plan) {
  const double from_m = field.zones.front().across_min_m;
  const double width_m = field.zones.back().across_max_m - from_m;
  const int passes = static_cast<int>(std::floor(width_m / plan.swath_m + 1e-9));
  std::vector<HarvestRecord> log;
  double time_s = 0;
  for (int pass = 0; pass < passes; ++pass, time_s += turning_s) {
    const PassWay way{pass % 2 == 0 ? 1.0 : -1.0, from_m + (pass + 0.5) * plan.swath_m};
    auto stream = item_stream(plan.seed, {pass_stream, static_cast<std::uint64_t>(pass)});
    boost::random::normal_distribution<double> noise(0, plan.noise_cv);
    const double heading = heading_deg(field.frame, way.direction);
    const std::vector<double> values = mixed_values(field, ground, plan, way);
    for (std::size_t record = 0; record < values.size(); ++record, time_s += plan.record_s) {
      const double done_m = (static_cast<double>(record) + 0.5) * plan.speed_m_s * plan.record_s -
                            field.plan.lateral_length_m / 2 + plan.lag_error_s * plan.speed_m_s;
      const Point shown = field.frame.to_grid(way.direction * done_m, way.across_m);
      log.push_back({{shown.x + plan.shift_m.x, shown.y + plan.shift_m.y},
                     values[record] * (1 + noise(stream)),
                     heading,
                     time_s,
                     pass});
    }
  }
  return log;
}

}  // namespace evendrip
