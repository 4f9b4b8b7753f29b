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
// Pivots are not taken nearer than this to the share that fills the lowest quarter by itself.
constexpr double largest_seen = 0.24;
// No emitter of the zone is taken to run faster than the fastest measured by more than this.
constexpr double beyond_the_fastest = 1.5;
// The least standard error of a bootstrap sample, as a part of the sample's own: a divisor nearer
// to 0 is chance. Larger where the bootstrap sample is the evener one: it has missed the few slow
// emitters or laterals, and on that side the pivot has no other bound. Lower limits still hold on
// zones of slow laterals at 0.8.
constexpr double least_error_part = 0.1;
constexpr double least_error_part_of_evener = 2.0 / 3.0;
constexpr double largest_pivot = 30;

constexpr std::array<Shape, shape_count> all_shapes = {Shape::mean, Shape::variation,
                                                       Shape::deviation, Shape::shortfall};

bool depends_on_share(Shape shape) {
  return shape == Shape::deviation || shape == Shape::shortfall;
}

/// What the sample and its population say of each shape at one plugged share.
struct Centre {
  double share = 0;
  std::array<double, shape_count> sample_error{};
  std::array<double, shape_count> unseen{};  ///< root of the part of the variance that is left
  std::array<double, shape_count> population{};
};

/// Root of the part of the variance that is left when the laterals and emitters that were dug are
/// part of the zone.
double unseen_part(const ShapeValue& value, double laterals, double emitters,
                   const RunnersOfZone& zone) {
  if (zone.laterals == 0 || !(value.standard_error > 0)) return 1;
  const double all = value.standard_error * value.standard_error;
  const double alone = value.independent * value.independent;
  // B/m + W/n = all; as independent emitters (B + W)/n = alone.
  const double between =
      emitters > laterals ? std::max(0.0, all - alone) / (1 / laterals - 1 / emitters) : 0;
  const double within = emitters > laterals ? emitters * alone - between : emitters * all;
  double of_zone = between / zone.laterals;
  if (zone.emitters > 0) of_zone += within / zone.emitters;
  return std::sqrt(std::clamp(1 - of_zone / all, 0.0, 1.0));
}

class Joining {
 public:
  Joining(std::span<const LevelledEmitter> runners, double seen_share, const RunnersOfZone& zone)
      : resampling_(runners), zone_(zone) {
    std::vector<Runners::Emitter> emitters;
    for (const LevelledEmitter& e : resampling_.emitters()) {
      emitters.push_back({e.discharge, e.weight, e.lateral});
    }
    sample_.assign(emitters, resampling_.laterals());
    population_.assign(resampling_.population(), 1);
    const double fastest = beyond_the_fastest * sample_.emitters().back().discharge;
    mean_part_ = sample_.mean() / fastest;
    centres_ = {centre_at(0), centre_at(std::min(seen_share, largest_seen))};
  }

  void next(std::mt19937_64& stream) {
    resampling_.draw(stream, drawn_);
    drawn_runners_.assign(drawn_, resampling_.laterals());
    shifts_known_.fill(false);
  }

  /// Logarithms of the shapes drawn from their confidence distribution.
  std::array<double, shape_count> log_shapes(double plugged_share) {
    const double share = std::min(plugged_share, largest_share);
    const std::array<double, shape_count>& shifts = shifts_at(share > 0 ? 1 : 0);
    std::array<double, shape_count> logs{};
    for (const Shape shape : all_shapes) {
      const auto at = static_cast<std::size_t>(shape);
      const double log_value = sample_.log_value(shape, share);
      logs[at] = log_value;
      if (shifts[at] == 0) continue;
      logs[at] = std::min(log_from_scale(shape, on_scale(shape, log_value) + shifts[at]),
                          largest_log(shape, share));
    }
    return logs;
  }

 private:
  Centre centre_at(double share) {
    Centre centre;
    centre.share = share;
    for (const Shape shape : all_shapes) {
      const auto at = static_cast<std::size_t>(shape);
      const ShapeValue value = sample_.evaluate(shape, share);
      centre.sample_error[at] = error_on_scale(shape, value);
      centre.unseen[at] =
          unseen_part(value, resampling_.laterals(), static_cast<double>(sample_.size()), zone_);
      centre.population[at] = on_scale(shape, population_.log_value(shape, share));
    }
    return centre;
  }

  const std::array<double, shape_count>& shifts_at(std::size_t which) {
    std::array<double, shape_count>& shifts = shifts_[which];
    if (shifts_known_[which]) return shifts;
    for (const Shape shape : all_shapes) {
      const auto at = static_cast<std::size_t>(shape);
      const bool same = shifts_known_[1 - which] &&
                        (!depends_on_share(shape) || centres_[0].share == centres_[1].share);
      shifts[at] = same ? shifts_[1 - which][at] : shift_of(shape, centres_[which]);
    }
    shifts_known_[which] = true;
    return shifts;
  }

  /// What the studentised draw moves the sample's figure by.
  double shift_of(Shape shape, const Centre& centre) {
    const auto at = static_cast<std::size_t>(shape);
    const double error = centre.sample_error[at];
    if (error == 0) return 0;
    const ShapeValue drawn = drawn_runners_.evaluate(shape, centre.share);
    const double change = on_scale(shape, drawn.log_value) - centre.population[at];
    const bool evener = shape == Shape::mean ? change > 0 : change < 0;
    const double part = evener ? least_error_part_of_evener : least_error_part;
    const double drawn_error = std::max(error_on_scale(shape, drawn), part * error);
    return -centre.unseen[at] * error *
           std::clamp(change / drawn_error, -largest_pivot, largest_pivot);
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
  RunnersOfZone zone_;
  Runners sample_;
  Runners population_;
  Runners drawn_runners_;
  std::vector<Runners::Emitter> drawn_;
  std::array<Centre, 2> centres_;  ///< without plugged ones, and with the share seen
  std::array<std::array<double, shape_count>, 2> shifts_{};  ///< of this draw, at the two centres
  std::array<bool, 2> shifts_known_{};
  double mean_part_ = 1;  ///< mean over the fastest an emitter can be
};

}  // namespace

double on_scale(Shape shape, double log_value) {
  if (shape != Shape::shortfall) return log_value;
  const double below_all = std::min(log_value, -1e-6);
  return below_all - std::log(-std::expm1(below_all));
}

double log_from_scale(Shape shape, double scaled) {
  if (shape != Shape::shortfall) return scaled;
  return scaled > 0 ? -std::log1p(std::exp(-scaled)) : scaled - std::log1p(std::exp(scaled));
}

double error_on_scale(Shape shape, const ShapeValue& value) {
  if (shape != Shape::shortfall) return value.standard_error;
  return value.standard_error / -std::expm1(std::min(value.log_value, -1e-3));
}

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

std::vector<double> middle_share_draws(double count, double rest, int draws,
                                       std::mt19937_64& stream) {
  std::vector<double> shares = share_draws(count + 1, rest, draws, stream);
  const std::vector<double> fewer = share_draws(count, rest + 1, draws, stream);
  for (std::size_t b = 1; b < shares.size(); b += 2) shares[b] = fewer[b];
  return shares;
}

std::vector<MeasureDraws> join_draws(std::span<const LevelledEmitter> runners, double seen_share,
                                     std::span<const std::vector<double>> shares,
                                     std::uint64_t seed, const RunnersOfZone& zone) {
  std::mt19937_64 stream = item_stream(seed, {2});
  const std::size_t draws = shares.front().size();
  std::vector<MeasureDraws> result(shares.size());
  for (MeasureDraws& series : result) {
    for (std::vector<double>& values : series) values.reserve(draws);
  }
  Joining joining(runners, seen_share, zone);
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
