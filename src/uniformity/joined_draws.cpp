// SPDX-License-Identifier: Apache-2.0
#include "joined_draws.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

#include <boost/random/gamma_distribution.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

// A plugged share beyond this leaves nothing to speak of; keeps the CV of the whole finite.
constexpr double largest_share = 0.999;
// No emitter of the zone is taken to run faster than the fastest measured by more than this.
constexpr double beyond_the_fastest = 1.5;
// Samples of a bootstrap sample's standard error below this part of the sample's own are chance.
constexpr double least_error_part = 0.1;
constexpr double largest_pivot = 30;

constexpr std::array<Shape, shape_count> all_shapes = {Shape::mean, Shape::variation,
                                                       Shape::deviation, Shape::shortfall};

bool depends_on_share(Shape shape) {
  return shape == Shape::deviation || shape == Shape::shortfall;
}

/// What the sample and its population say of each shape at one plugged share.
struct Centre {
  ShapeValue sample;
  double population = 0;
};

class Joining {
 public:
  explicit Joining(std::span<const LevelledEmitter> runners) : resampling_(runners) {
    std::vector<Runners::Emitter> emitters;
    for (const LevelledEmitter& e : resampling_.emitters()) {
      emitters.push_back({e.discharge, e.weight, e.lateral});
    }
    sample_.assign(emitters, resampling_.laterals());
    population_.assign(resampling_.population(), 1);
    const double fastest = beyond_the_fastest * sample_.emitters().back().discharge;
    mean_part_ = sample_.mean() / fastest;
  }

  void next(std::mt19937_64& stream) {
    resampling_.draw(stream, drawn_);
    drawn_runners_.assign(drawn_, resampling_.laterals());
    drawn_share_.fill(-1);
  }

  /// Logarithms of the shapes drawn from their confidence distribution.
  std::array<double, shape_count> log_shapes(double plugged_share) {
    const double share = std::min(plugged_share, largest_share);
    std::array<double, shape_count> logs{};
    for (const Shape shape : all_shapes) {
      logs[static_cast<std::size_t>(shape)] = log_shape(shape, share);
    }
    return logs;
  }

 private:
  const Centre& centre_of(Shape shape, double share) {
    Centre& centre = centres_[static_cast<std::size_t>(shape)];
    double& at = centre_share_[static_cast<std::size_t>(shape)];
    if (at < 0 || (depends_on_share(shape) && at != share)) {
      centre.sample = sample_.evaluate(shape, share);
      centre.population = population_.log_value(shape, share);
      at = share;
    }
    return centre;
  }

  double log_shape(Shape shape, double share) {
    const Centre& centre = centre_of(shape, share);
    if (centre.sample.standard_error == 0) return centre.sample.log_value;
    const auto at = static_cast<std::size_t>(shape);
    const bool known = depends_on_share(shape) ? drawn_share_[at] == share : drawn_share_[at] >= 0;
    if (!known) drawn_log_[at] = studentised_log(shape, share, centre);
    drawn_share_[at] = share;
    return drawn_log_[at];
  }

  double studentised_log(Shape shape, double share, const Centre& centre) {
    const double error = centre.sample.standard_error;
    const ShapeValue drawn = drawn_runners_.evaluate(shape, share);
    const double drawn_error = std::max(drawn.standard_error, least_error_part * error);
    const double pivot = std::clamp((drawn.log_value - centre.population) / drawn_error,
                                    -largest_pivot, largest_pivot);
    return std::min(centre.sample.log_value - pivot * error, largest_log(shape, share));
  }

  /// What discharges between 0 and the fastest can reach with this mean: the variance by Bhatia &
  /// Davis 2000, Am. Math. Mon. 107:353-357; the mean deviation by the same two-point distribution.
  double largest_log(Shape shape, double share) const {
    switch (shape) {
      case Shape::variation:
        return 0.5 * std::log(1 / mean_part_ - 1);
      case Shape::deviation:
        return std::log(1 + 1 / (1 - share) - 2 * mean_part_);
      case Shape::shortfall:
        return 0;
      case Shape::mean:
        break;
    }
    return -std::log(mean_part_) + std::log(sample_.mean());
  }

  LateralResampling resampling_;
  Runners sample_;
  Runners population_;
  Runners drawn_runners_;
  std::vector<Runners::Emitter> drawn_;
  std::array<Centre, shape_count> centres_;
  std::array<double, shape_count> centre_share_ = {-1, -1, -1, -1};
  std::array<double, shape_count> drawn_log_{};
  std::array<double, shape_count> drawn_share_{};  ///< that drawn_log_ holds for; below 0: none
  double mean_part_ = 1;                           ///< mean over the fastest an emitter can be
};

}  // namespace

std::array<double, all_measures.size()> measures_of_whole(
    double plugged_share, const std::array<double, shape_count>& log_shapes) {
  const auto value = [&](Shape shape) {
    return std::exp(std::min(log_shapes[static_cast<std::size_t>(shape)], 50.0));
  };
  const double p = std::min(plugged_share, largest_share);
  const double variation = value(Shape::variation);
  const double cv = std::sqrt(std::max(0.0, (1 + variation * variation) / (1 - p) - 1));
  const double deviation = value(Shape::deviation);
  const double low_quarter =
      p < 0.25 ? (0.25 - p) / 0.25 * std::max(0.0, 1 - value(Shape::shortfall)) / (1 - p) : 0;
  return {(1 - p) * value(Shape::mean), cv, low_quarter, 1 - p - (1 - p) * deviation, 1 - cv};
}

std::vector<double> share_draws(double a, double b, int draws, std::mt19937_64& stream) {
  std::vector<double> shares(static_cast<std::size_t>(draws), a > 0 ? 1.0 : 0.0);
  if (!(a > 0) || !(b > 0)) return shares;
  boost::random::gamma_distribution<double> part(a);
  boost::random::gamma_distribution<double> rest(b);
  for (double& share : shares) {
    const double x = part(stream);
    const double y = rest(stream);
    share = x + y > 0 ? x / (x + y) : 0;
  }
  return shares;
}

std::vector<MeasureDraws> join_draws(std::span<const LevelledEmitter> runners,
                                     std::span<const std::vector<double>> shares,
                                     std::uint64_t seed) {
  std::mt19937_64 stream = item_stream(seed, {2});
  const std::size_t draws = shares.front().size();
  std::vector<MeasureDraws> result(shares.size());
  for (MeasureDraws& series : result) {
    for (std::vector<double>& values : series) values.reserve(draws);
  }
  Joining joining(runners);
  for (std::size_t b = 0; b < draws; ++b) {
    joining.next(stream);
    for (std::size_t s = 0; s < shares.size(); ++s) {
      const double share = shares[s][b];
      const auto measures = measures_of_whole(share, joining.log_shapes(share));
      for (std::size_t m = 0; m < measures.size(); ++m) result[s][m].push_back(measures[m]);
    }
  }
  return result;
}

double quantile_of(std::vector<double>& draws, double p) {
  const auto n = static_cast<double>(draws.size());
  const double at = std::clamp((n + 1) * p - 1, 0.0, n - 1);
  const auto low = static_cast<std::ptrdiff_t>(at);
  const auto place = draws.begin() + low;
  std::nth_element(draws.begin(), place, draws.end());
  const double rest = at - static_cast<double>(low);
  if (rest == 0) return *place;
  return *place + rest * (*std::min_element(place + 1, draws.end()) - *place);
}

}  // namespace evendrip
