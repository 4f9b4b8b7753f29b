// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/variogram.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <stdexcept>
#include <tuple>

namespace evendrip {
namespace {

/// 1 minus the correlation at distance h, for ranges of 1.
double rise(VariogramShape shape, double h) {
  switch (shape) {
    case VariogramShape::nugget:
      return 0;
    case VariogramShape::exponential:
      return -std::expm1(-h);
    case VariogramShape::spherical:
      return h < 1 ? h * (1.5 - 0.5 * h * h) : 1;
    case VariogramShape::gaussian:
      return -std::expm1(-h * h);
    case VariogramShape::matern32:
      return 1 - (1 + h) * std::exp(-h);
    case VariogramShape::matern52:
      return 1 - (1 + h + h * h / 3) * std::exp(-h);
    case VariogramShape::linear:
      return h;
  }
  return 0;
}

/// Samples from west to east: the index through which pairs within the cutoff are found, and an
/// order of summing that does not depend on the order of the samples.
Samples from_west_to_east(Samples samples) {
  std::sort(samples.begin(), samples.end(), [](const Sample& a, const Sample& b) {
    return std::tie(a.site.place.x, a.site.place.y, a.value, a.site.zone) <
           std::tie(b.site.place.x, b.site.place.y, b.value, b.site.zone);
  });
  return samples;
}

double default_cutoff_m(const Samples& samples) {
  Extent extent;
  for (const Sample& sample : samples) extent.include(sample.site.place);
  return extent.empty() ? 0 : std::hypot(extent.width(), extent.height()) / 3;
}

bool may_pair(const Sample& a, const Sample& b, const MomentOptions& options) {
  return !options.within_zone_only || a.site.zone == b.site.zone || a.site.zone < 0 ||
         b.site.zone < 0;
}

/// Sums of one lag before they are divided.
struct LagSums {
  std::size_t pairs = 0;
  double distance_m = 0;
  double squares = 0;
};

/// Lags of one width, with the sums of the pairs that fall into them.
class LagTable {
 public:
  LagTable(const Samples& samples, const MomentOptions& options)
      : cutoff_m_(options.cutoff_m > 0 ? options.cutoff_m : default_cutoff_m(samples)) {
    if (!(cutoff_m_ > 0) || options.lags < 1) return;
    sums_.resize(static_cast<std::size_t>(options.lags));
    width_m_ = cutoff_m_ / options.lags;
  }
  double cutoff_m() const { return sums_.empty() ? 0 : cutoff_m_; }

  void add(double distance_m, const Sample& a, const Sample& b) {
    if (distance_m > cutoff_m_) return;
    const int lag = static_cast<int>(std::ceil(distance_m / width_m_)) - 1;
    const int last = static_cast<int>(sums_.size()) - 1;
    LagSums& sum = sums_[static_cast<std::size_t>(std::clamp(lag, 0, last))];
    const double difference = a.value - b.value;
    ++sum.pairs;
    sum.distance_m += distance_m;
    sum.squares += difference * difference;
  }

  std::vector<VariogramLag> means() const {
    std::vector<VariogramLag> lags;
    for (const LagSums& sum : sums_) {
      if (sum.pairs == 0) continue;
      const double n = static_cast<double>(sum.pairs);
      lags.push_back({sum.pairs, sum.distance_m / n, sum.squares / (2 * n)});
    }
    return lags;
  }

 private:
  double cutoff_m_;
  double width_m_ = 1;
  std::vector<LagSums> sums_;
};

/// Each pair no farther apart than the cutoff, once, in an order that does not depend on that of
/// the samples.
template <typename Body>
void for_each_pair(const Samples& samples, double cutoff_m, const MomentOptions& options,
                   const Body& body) {
  if (!(cutoff_m > 0)) return;
  const Samples sorted = from_west_to_east(samples);
  const std::size_t all = sorted.size();
  const std::size_t ends = options.western_ends > 0
                               ? std::min(all, static_cast<std::size_t>(options.western_ends))
                               : all;
  for (std::size_t end = 0; end < ends; ++end) {
    const std::size_t i = end * all / ends;
    const Point& here = sorted[i].site.place;
    for (std::size_t j = i + 1; j < sorted.size(); ++j) {
      const Point& there = sorted[j].site.place;
      if (there.x - here.x > cutoff_m) break;
      if (distance_m(here, there) > cutoff_m || !may_pair(sorted[i], sorted[j], options)) continue;
      body(sorted[i], sorted[j]);
    }
  }
}

struct Offset {
  double along_m = 0;
  double across_m = 0;
};

/// Directions turned to the bearing of the laterals.
class Turned {
 public:
  explicit Turned(const DirectionOptions& options)
      : east_(std::sin(options.azimuth_deg * degree)),
        north_(std::cos(options.azimuth_deg * degree)),
        slope_(std::tan(options.tolerance_deg * degree)),
        bandwidth_m_(options.bandwidth_m) {}
  Offset between(Point a, Point b) const {
    const double dx = b.x - a.x;
    const double dy = b.y - a.y;
    return {std::abs(dx * east_ + dy * north_), std::abs(dx * north_ - dy * east_)};
  }
  /// Whether a pair lies in a direction, by its offset in it and to its side. A place follows none.
  bool follows(double forward_m, double aside_m) const {
    return forward_m > 0 && aside_m <= slope_ * forward_m && aside_m <= bandwidth_m_;
  }

 private:
  static constexpr double degree = std::numbers::pi / 180;
  double east_, north_;
  double slope_;
  double bandwidth_m_;
};

}  // namespace

std::string to_text(VariogramShape shape) {
  switch (shape) {
    case VariogramShape::nugget:
      return "nugget";
    case VariogramShape::exponential:
      return "exponential";
    case VariogramShape::spherical:
      return "spherical";
    case VariogramShape::gaussian:
      return "Gaussian";
    case VariogramShape::matern32:
      return "Matern 3/2";
    case VariogramShape::matern52:
      return "Matern 5/2";
    case VariogramShape::linear:
      return "linear";
  }
  return "";
}

double semivariance(const VariogramModel& model, double distance_m) {
  if (distance_m <= 0) return 0;
  if (model.shape == VariogramShape::nugget) return model.nugget;
  const double h = model.shape == VariogramShape::linear ? distance_m : distance_m / model.range_m;
  return model.nugget + model.partial_sill * rise(model.shape, h);
}

std::vector<VariogramLag> moment_variogram(const Samples& samples, const MomentOptions& options) {
  LagTable lags(samples, options);
  for_each_pair(samples, lags.cutoff_m(), options, [&](const Sample& a, const Sample& b) {
    lags.add(distance_m(a.site.place, b.site.place), a, b);
  });
  return lags.means();
}

DirectionalVariogram directional_variogram(const Samples& samples,
                                           const DirectionOptions& options) {
  if (!(options.tolerance_deg > 0 && options.tolerance_deg <= 45))
    throw std::invalid_argument("the tolerance of a direction is above 0 and at most 45 degrees");
  LagTable along(samples, options.moment);
  LagTable across = along;
  const Turned turned(options);
  for_each_pair(samples, along.cutoff_m(), options.moment, [&](const Sample& a, const Sample& b) {
    if (a.site.lateral >= 0 && a.site.lateral == b.site.lateral) {
      along.add(std::abs(a.site.station_m - b.site.station_m), a, b);
      return;
    }
    const double distance = distance_m(a.site.place, b.site.place);
    const Offset offset = turned.between(a.site.place, b.site.place);
    if (turned.follows(offset.along_m, offset.across_m)) along.add(distance, a, b);
    if (turned.follows(offset.across_m, offset.along_m)) across.add(distance, a, b);
  });
  return {along.means(), across.means()};
}

}  // namespace evendrip
