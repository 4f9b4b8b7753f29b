// SPDX-License-Identifier: Apache-2.0
#include "zone_limits.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

#include "evendrip/base/random.hpp"
#include "evendrip/geo/line.hpp"

namespace evendrip {
namespace {

constexpr double step_m = 2;
constexpr std::size_t fewest_places = 10;
constexpr double least_share = 0.7;   ///< of the places where the crop falls into the zone
constexpr double least_step = 0.02;   ///< relative
constexpr double least_usable = 0.4;  ///< of an outline's places, when moved
constexpr int least_draws = 19;
constexpr double near_in_widths = 0.75;  ///< of what is resolved, to both sides of a limit
constexpr double far_in_widths = 2.25;

struct Limit {
  Point place;
  Point outward;
};

/// Rigid motion about a middle.
struct Motion {
  Point middle;
  Point to;
  double turn = 0;
  Limit of(const Limit& limit) const {
    const double c = std::cos(turn);
    const double s = std::sin(turn);
    const double x = limit.place.x - middle.x;
    const double y = limit.place.y - middle.y;
    return {{to.x + c * x - s * y, to.y + s * x + c * y},
            {c * limit.outward.x - s * limit.outward.y, s * limit.outward.x + c * limit.outward.y}};
  }
};

/// Fall across a limit, less the slope on either side; NaN where one of the places does not count.
double fall_at(const ScreenedGround& ground, const Limit& limit, double near_m, double far_m) {
  const auto at = [&](double off_m) {
    return ground.at(
        {limit.place.x + off_m * limit.outward.x, limit.place.y + off_m * limit.outward.y}, -1);
  };
  const double in = at(-near_m);
  const double out = at(near_m);
  return out - in - 0.5 * ((at(far_m) - out) + (in - at(-far_m)));
}

std::vector<Limit> limits_of(const MultiPolygon& area) {
  std::vector<Limit> limits;
  for (const Polygon& polygon : area) {
    Line ring = polygon.outer;
    if (ring.size() < 3) continue;
    ring.push_back(ring.front());
    const double length = length_m(ring);
    for (int step = 0; (step + 0.5) * step_m < length; ++step) {
      const double at = (step + 0.5) * step_m;
      const Point along = direction_at(ring, at);
      limits.push_back({point_at(ring, at), {along.y, -along.x}});
    }
  }
  return limits;
}

struct Falls {
  std::size_t places = 0;
  double sum = 0;
  double falling = 0;
  double score() const { return places > 0 ? sum / std::sqrt(static_cast<double>(places)) : 0; }
};

class Outlines {
 public:
  Outlines(const Field& field, const ScreenedGround& ground, double resolved_m)
      : ground_(ground), limits_(field.zones.size()), middles_(field.zones.size()) {
    const double width_m = std::max(ground.crop.grid.cell_m, resolved_m);
    near_m_ = near_in_widths * width_m;
    far_m_ = far_in_widths * width_m;
    for (std::size_t z = 0; z < limits_.size(); ++z) {
      for (Limit& limit : limits_of(field.zones[z].area)) {
        if (!points_outward(limit, static_cast<int>(z)))
          limit.outward = {-limit.outward.x, -limit.outward.y};
        if (std::isfinite(fall_at(ground, limit, near_m_, far_m_))) limits_[z].push_back(limit);
      }
      Extent extent;
      for (const Limit& limit : limits_[z]) extent.include(limit.place);
      if (!extent.empty())
        middles_[z] = {(extent.x_min + extent.x_max) / 2, (extent.y_min + extent.y_max) / 2};
    }
    for (const Zone& zone : field.zones) field_extent_.include(extent_of(zone.area));
  }
  bool touches(std::size_t zone) const { return limits_[zone].size() >= fewest_places; }
  std::size_t places(std::size_t zone) const { return limits_[zone].size(); }
  Falls falls(std::size_t zone, const Motion& motion) const {
    Falls falls;
    for (const Limit& limit : limits_[zone]) {
      const double fall = fall_at(ground_, motion.of(limit), near_m_, far_m_);
      if (!std::isfinite(fall)) continue;
      ++falls.places;
      falls.sum += fall;
      if (fall > 0) falls.falling += 1;
    }
    return falls;
  }
  Motion still(std::size_t zone) const { return {middles_[zone], middles_[zone], 0}; }
  Motion moved(std::size_t zone, std::mt19937_64& stream) const {
    const auto share = [&] { return static_cast<double>(stream() >> 11U) * 0x1.0p-53; };
    Motion motion = still(zone);
    motion.to = {field_extent_.x_min + share() * field_extent_.width(),
                 field_extent_.y_min + share() * field_extent_.height()};
    motion.turn = 2 * std::numbers::pi * share();
    return motion;
  }

 private:
  bool points_outward(const Limit& limit, int zone) const {
    const double inside = ground_.at(
        {limit.place.x - near_m_ * limit.outward.x, limit.place.y - near_m_ * limit.outward.y},
        zone);
    return std::isfinite(inside);
  }

  const ScreenedGround& ground_;
  std::vector<std::vector<Limit>> limits_;
  std::vector<Point> middles_;
  Extent field_extent_;
  double near_m_ = 1;
  double far_m_ = 3;
};

/// Best score of moved outlines over all zones; below 0 where too little of any stays in the field.
double best_of_moved(const Outlines& outlines, std::size_t zones, std::uint64_t seed,
                     std::size_t draw) {
  double best = -1;
  for (std::size_t z = 0; z < zones; ++z) {
    if (!outlines.touches(z)) continue;
    std::mt19937_64 stream = item_stream(seed, {2, draw, z});
    const Falls falls = outlines.falls(z, outlines.moved(z, stream));
    if (static_cast<double>(falls.places) < least_usable * static_cast<double>(outlines.places(z)))
      continue;
    best = std::max({best, 0.0, falls.score()});
  }
  return best;
}

/// Mean of each zone, and of all others.
void set_levels(const ScreenedGround& ground, std::vector<ZoneStep>& steps, std::size_t zones) {
  std::vector<double> sums(zones, 0);
  std::vector<double> counts(zones, 0);
  double sum = 0;
  double count = 0;
  for (std::size_t i = 0; i < ground.zone.size(); ++i) {
    if (ground.zone[i] < 0) continue;
    const auto z = static_cast<std::size_t>(ground.zone[i]);
    sums[z] += double{ground.crop.values[i]};
    counts[z] += 1;
    sum += double{ground.crop.values[i]};
    count += 1;
  }
  for (ZoneStep& step : steps) {
    const auto z = static_cast<std::size_t>(step.zone);
    if (count > counts[z])
      step.level = sums[z] / counts[z] / ((sum - sums[z]) / (count - counts[z]));
  }
}

}  // namespace

std::vector<ZoneStep> low_zones(const Field& field, const ScreenedGround& ground, double resolved_m,
                                int draws, std::uint64_t seed, const Work& work) {
  std::vector<ZoneStep> steps;
  const Outlines outlines(field, ground, resolved_m);
  for (std::size_t z = 0; z < field.zones.size(); ++z) {
    if (!outlines.touches(z)) continue;
    const Falls falls = outlines.falls(z, outlines.still(z));
    const double places = static_cast<double>(falls.places);
    ZoneStep step{static_cast<int>(z), falls.sum / places, falls.falling / places, falls.score()};
    if (step.step >= least_step && step.share >= least_share) steps.push_back(step);
  }
  if (steps.empty()) return steps;
  std::vector<double> best(static_cast<std::size_t>(draws));
  for_each_chunk(without_progress(work), best.size(), 4,
                 [&](std::size_t begin, std::size_t end, int) {
                   for (std::size_t d = begin; d < end; ++d)
                     best[d] = best_of_moved(outlines, field.zones.size(), seed, d);
                 });
  std::erase_if(best, [](double score) { return score < 0; });
  if (best.size() < static_cast<std::size_t>(least_draws)) return {};
  for (ZoneStep& step : steps) {
    const auto beaten =
        std::count_if(best.begin(), best.end(), [&](double score) { return score >= step.score; });
    step.p = static_cast<double>(1 + beaten) / static_cast<double>(1 + best.size());
  }
  set_levels(ground, steps, field.zones.size());
  std::erase_if(steps, [](const ZoneStep& step) { return !(step.level < 1); });
  std::stable_sort(steps.begin(), steps.end(),
                   [](const ZoneStep& a, const ZoneStep& b) { return a.score > b.score; });
  return steps;
}

}  // namespace evendrip
