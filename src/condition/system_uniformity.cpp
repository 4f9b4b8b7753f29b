// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/system_uniformity.hpp"

#include "evendrip/base/random.hpp"
#include "evendrip/uniformity/uniformity.hpp"

#include <boost/random/beta_distribution.hpp>
#include <boost/random/chi_squared_distribution.hpp>
#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

#include <algorithm>
#include <cmath>
#include <limits>

namespace evendrip {
namespace {

// Beside those of plugged_places.cpp and likely_places.cpp, which move the same draws.
constexpr std::uint64_t shares_stream = 3;
constexpr std::uint64_t factors_stream = 4;
constexpr double holes_before = 12.5;  ///< 2 / 0.4^2
constexpr double reach_of_90 = 1.6448536269514722;

PlaceDelivery place_in(const EmitterSpread& spread, const std::vector<double>& draw,
                       std::size_t segment) {
  return {std::max(0.0, draw[segment]), spread.passed.empty() ? 1 : spread.passed[segment]};
}

/// Running means over neighbours along each lateral; a lateral of fewer emitters is one plant.
void add_plants(std::span<const double> line, int per_plant, std::vector<double>& plants) {
  const std::size_t count = std::min(line.size(), static_cast<std::size_t>(std::max(1, per_plant)));
  if (count == 0) return;
  double sum = 0;
  for (std::size_t i = 0; i < line.size(); ++i) {
    sum += line[i];
    if (i >= count) sum -= line[i - count];
    if (i + 1 >= count) plants.push_back(std::max(0.0, sum / static_cast<double>(count)));
  }
}

}  // namespace

Judged judged_by(std::vector<double> values) {
  Judged out;
  if (values.empty()) return out;
  const auto n = static_cast<double>(values.size());
  for (const double v : values) out.value += v / n;
  for (const double v : values) out.sd += (v - out.value) * (v - out.value) / std::max(1.0, n - 1);
  out.sd = std::sqrt(out.sd);
  std::sort(values.begin(), values.end());
  const auto at = [&](double share) {
    const double place = share * (n - 1);
    const auto low = static_cast<std::size_t>(place);
    const std::size_t high = std::min(low + 1, values.size() - 1);
    return values[low] + (place - static_cast<double>(low)) * (values[high] - values[low]);
  };
  out.lower_90 = at(0.05);
  out.upper_90 = at(0.95);
  return out;
}

double drawn_share(const EmitterSpread& spread, std::uint64_t seed, std::size_t draw) {
  const double share = spread.clogging.share;
  if (!(share > 0) || share >= 1) return std::clamp(share, 0.0, 1.0);
  std::mt19937_64 stream = item_stream(seed, {draw, shares_stream});
  return boost::random::beta_distribution<double>(spread.seen * share,
                                                  spread.seen * (1 - share))(stream);
}

std::vector<double> drawn_factors(const std::vector<std::vector<double>>& r_draws,
                                  std::span<const SpreadDatum> holes, const EmitterSpread& spread,
                                  std::uint64_t seed) {
  std::vector<double> factors;
  factors.reserve(r_draws.size());
  for (std::size_t draw = 0; draw < r_draws.size(); ++draw) {
    double squares = holes_before;
    double count = holes_before;
    for (const SpreadDatum& hole : holes) {
      const auto segment = static_cast<std::size_t>(hole.segment);
      const SoundEmitters sound =
          sound_emitters(spread.clogging, place_in(spread, r_draws[draw], segment),
                         spread.sd * spread.sd + hole.noise_variance);
      const double off = hole.value - sound.mean;
      squares += hole.sound * off * off / sound.variance;
      count += hole.sound;
    }
    std::mt19937_64 stream = item_stream(seed, {draw, factors_stream});
    factors.push_back(
        std::sqrt(squares / boost::random::chi_squared_distribution<double>(count)(stream)));
  }
  return factors;
}

Judged judged(double value, double sd) {
  return {value, sd, std::max(0.0, value - reach_of_90 * sd), value + reach_of_90 * sd};
}

ModelUniformity model_uniformity(const std::vector<std::vector<double>>& delivery_draws,
                                 const EmitterSegments& emitters, const EmitterSpread& spread,
                                 int emitters_per_plant, std::uint64_t seed) {
  ModelUniformity out;
  out.sample = std::numeric_limits<double>::quiet_NaN();
  std::vector<double> of_emitters;
  std::vector<double> of_plants;
  std::vector<double> line;
  for (std::size_t draw = 0; draw < delivery_draws.size(); ++draw) {
    std::mt19937_64 stream = item_stream(seed, {draw});
    Clogging clogging = spread.clogging;
    clogging.share = drawn_share(spread, seed, draw);
    const double sd = spread.sd * (spread.factors.empty() ? 1 : spread.factors[draw]);
    boost::random::normal_distribution<double> normal;
    boost::random::uniform_01<double> even;
    std::vector<double> all;
    std::vector<double> plants;
    for (const std::vector<int>& segments : emitters) {
      line.clear();
      for (const int segment : segments) {
        const auto i = static_cast<std::size_t>(segment);
        const PlaceDelivery place = place_in(spread, delivery_draws[draw], i);
        const SoundEmitters sound = sound_emitters(clogging, place, sd * sd);
        const double given = even(stream) < plugged_chance(clogging, place)
                                 ? clogging.plugged_below * even(stream)
                                 : sound.mean + std::sqrt(sound.variance) * normal(stream);
        line.push_back(std::max(0.0, given));
      }
      all.insert(all.end(), line.begin(), line.end());
      add_plants(line, emitters_per_plant, plants);
    }
    if (all.empty()) return out;
    of_emitters.push_back(low_quarter_uniformity(all));
    of_plants.push_back(low_quarter_uniformity(plants));
  }
  out.emitters = judged_by(std::move(of_emitters));
  out.plants = judged_by(std::move(of_plants));
  out.draws = static_cast<int>(delivery_draws.size());
  return out;
}

}  // namespace evendrip
