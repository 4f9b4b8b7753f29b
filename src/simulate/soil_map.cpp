// SPDX-License-Identifier: Apache-2.0
#include "evendrip/simulate/soil_map.hpp"

#include "evendrip/base/random.hpp"

#include <boost/random/uniform_01.hpp>

#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>

namespace evendrip {
namespace {

constexpr std::uint64_t unit_stream = 1;
constexpr std::uint64_t patch_stream = 2;
constexpr std::uint64_t wave_stream = 3;
constexpr std::array<double, 2> wave_length_m{30, 70};
constexpr std::array<double, 2> wave_amplitude_m{1, 4};

class Draw {
 public:
  Draw(std::uint64_t seed, std::uint64_t part, std::uint64_t item)
      : stream_(item_stream(seed, {part, item})) {}
  double operator()(const std::array<double, 2>& range) {
    return range[0] + (range[1] - range[0]) * even_(stream_);
  }
  Point place(const Extent& ground) {
    const double x = (*this)({ground.x_min, ground.x_max});
    return {x, (*this)({ground.y_min, ground.y_max})};
  }

 private:
  std::mt19937_64 stream_;
  boost::random::uniform_01<double> even_;
};

}  // namespace

SoilMap::SoilMap(const SoilMapPlan& plan, const Extent& ground) {
  if (plan.units < 1) throw std::invalid_argument("a soil map needs one unit or more");
  if (plan.patches < 0) throw std::invalid_argument("patches of soil cannot be fewer than none");
  if (ground.empty()) throw std::invalid_argument("a soil map needs ground");
  for (int i = 0; i < plan.units; ++i) {
    Draw draw(plan.seed, unit_stream, static_cast<std::uint64_t>(i));
    const Point middle = draw.place(ground);
    const double available = draw(plan.available_mm_m);
    units_.push_back({middle, available, draw(plan.unit_factor)});
  }
  for (int i = 0; i < plan.patches; ++i) {
    Draw draw(plan.seed, patch_stream, static_cast<std::uint64_t>(i));
    Patch patch{};
    patch.middle = draw.place(ground);
    patch.half_m = draw(plan.patch_radius_m);
    patch.half_aside_m = draw(plan.patch_radius_m);
    const double turn = draw({0, std::numbers::pi});
    patch.cosine = std::cos(turn);
    patch.sine = std::sin(turn);
    patch.available = draw(plan.patch_available);
    patch.factor = draw(plan.patch_factor);
    patches_.push_back(patch);
  }
  Draw draw(plan.seed, wave_stream, 0);
  for (auto* waves : {&along_, &across_}) {
    for (Wave& wave : *waves) {
      wave.amplitude_m = draw(wave_amplitude_m);
      wave.per_m = 2 * std::numbers::pi / draw(wave_length_m);
      wave.phase = draw({0, 2 * std::numbers::pi});
    }
  }
}

SoilHere SoilMap::at(double along_m, double across_m) const {
  double x = along_m;
  double y = across_m;
  for (const Wave& wave : along_)
    x += wave.amplitude_m * std::sin(wave.per_m * across_m + wave.phase);
  for (const Wave& wave : across_)
    y += wave.amplitude_m * std::sin(wave.per_m * along_m + wave.phase);
  SoilHere here;
  double nearest_m = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < units_.size(); ++i) {
    const double away_m = std::hypot(x - units_[i].middle.x, y - units_[i].middle.y);
    if (away_m >= nearest_m) continue;
    nearest_m = away_m;
    here = {static_cast<int>(i), units_[i].available_mm_m, units_[i].factor};
  }
  for (const Patch& patch : patches_) {
    const double dx = along_m - patch.middle.x;
    const double dy = across_m - patch.middle.y;
    const double ahead = (dx * patch.cosine + dy * patch.sine) / patch.half_m;
    const double aside = (dy * patch.cosine - dx * patch.sine) / patch.half_aside_m;
    if (ahead * ahead + aside * aside > 1) continue;
    here.available_mm_m *= patch.available;
    here.factor *= patch.factor;
  }
  return here;
}

}  // namespace evendrip
