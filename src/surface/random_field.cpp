// SPDX-License-Identifier: Apache-2.0
#include "evendrip/surface/random_field.hpp"

#include "evendrip/base/random.hpp"

#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <numbers>
#include <numeric>
#include <random>
#include <stdexcept>
#include <utility>

namespace evendrip {
namespace {

constexpr std::uint64_t frequency_stream = 1;
constexpr std::uint64_t amplitude_stream = 2;

// Sites are worked off in blocks of this many: loops of a known length over plain arrays. Few, for
// on a lateral of its own there may be few.
constexpr std::size_t block = 16;
using Row = std::array<double, block>;

std::size_t at(int index) {
  return static_cast<std::size_t>(index);
}

/// Even numbers in (0, 1), one in each of `count` equal parts, in random order: every single one is
/// even over (0, 1), and together they leave no gaps.
std::vector<double> stratified(int count, std::mt19937_64& stream) {
  std::vector<double> numbers(at(count));
  boost::random::uniform_01<double> even;
  for (std::size_t i = 0; i < numbers.size(); ++i)
    numbers[i] = (static_cast<double>(i) + 1 - even(stream)) / static_cast<double>(count);
  for (std::size_t i = numbers.size(); i > 1; --i)
    std::swap(numbers[i - 1], numbers[static_cast<std::size_t>(stream() % i)]);
  return numbers;
}

/// Half the length of a frequency of the spherical model in three dimensions. Its density is that
/// of a ball's indicator squared, ((sin t - t cos t) / t^2)^2, drawn by rejection under 1.3 / (1 +
/// t^2): the ratio of the two stays below 1.3 (largest 1.28, at t = 2.7).
double spherical_half_length(std::mt19937_64& stream) {
  boost::random::uniform_01<double> even;
  while (true) {
    const double t = std::tan(std::numbers::pi / 2 * even(stream));
    const double u = even(stream);
    if (!(t > 1e-4)) continue;
    const double ball = (std::sin(t) - t * std::cos(t)) / (t * t);
    if (u * 1.3 <= ball * ball * (1 + t * t)) return t;
  }
}

/// Cycles per range in two dimensions; the first component alone serves one dimension, for the
/// correlation along a line is the same function. Densities are proportional to
/// (1 + k^2)^-(nu + 1) for Matern with nu = 1/2 (exponential), 3/2 and 5/2, whose lengths have
/// P(K > k) = (1 + k^2)^-nu; normal for the Gaussian; for the spherical the projection of a
/// frequency in three dimensions.
Point frequency(VariogramShape shape, double length_number, double direction_number,
                std::mt19937_64& stream) {
  double length = 0;
  switch (shape) {
    case VariogramShape::exponential:
      length = std::sqrt(std::pow(length_number, -2) - 1);
      break;
    case VariogramShape::matern32:
      length = std::sqrt(std::pow(length_number, -2.0 / 3) - 1);
      break;
    case VariogramShape::matern52:
      length = std::sqrt(std::pow(length_number, -2.0 / 5) - 1);
      break;
    case VariogramShape::gaussian:
      length = 2 * std::sqrt(-std::log(length_number));
      break;
    case VariogramShape::spherical: {
      boost::random::uniform_01<double> even;
      const double height = 2 * even(stream) - 1;
      length = 2 * spherical_half_length(stream) * std::sqrt(1 - height * height);
      break;
    }
    case VariogramShape::nugget:
    case VariogramShape::linear:
      throw std::invalid_argument("a factor of a covariance needs a shape with a correlation");
  }
  const double direction = 2 * std::numbers::pi * direction_number;
  const double cycles = length / (2 * std::numbers::pi);
  return {cycles * std::cos(direction), cycles * std::sin(direction)};
}

bool has_range(Metric metric) {
  return metric != Metric::same_lateral && metric != Metric::same_zone;
}

/// Coordinates of a site in ranges of a factor.
Point in_ranges(const CorrelationFactor& factor, const Site& site) {
  const double bearing = factor.azimuth_deg * std::numbers::pi / 180;
  const double along = site.place.x * std::sin(bearing) + site.place.y * std::cos(bearing);
  const double aside = site.place.x * std::cos(bearing) - site.place.y * std::sin(bearing);
  switch (factor.metric) {
    case Metric::plane:
      return {along / factor.range_m, aside / (factor.range_m * factor.ratio)};
    case Metric::across:
      return {aside / factor.range_m, 0};
    case Metric::along_lateral:
    case Metric::station:
      return {site.station_m / factor.range_m, 0};
    case Metric::same_lateral:
    case Metric::same_zone:
      break;
  }
  return {0, 0};
}

/// cos(2 pi turns), written so that whole blocks are computed at once: Taylor's series of the sine
/// about the nearest zero, error below 1e-13.
double cosine_of_turns(double turns) {
  constexpr double shift = 6755399441055744.0;  // 1.5 x 2^52: adding it rounds to whole turns
  const double part = turns - ((turns + shift) - shift);
  const double x = 2 * std::numbers::pi * (0.25 - std::abs(part));
  const double y = x * x;
  double sum = 1.0 / 355687428096000.0;  // 1 / 17!
  sum = sum * y - 1.0 / 1307674368000.0;
  sum = sum * y + 1.0 / 6227020800.0;
  sum = sum * y - 1.0 / 39916800.0;
  sum = sum * y + 1.0 / 362880.0;
  sum = sum * y - 1.0 / 5040.0;
  sum = sum * y + 1.0 / 120.0;
  sum = sum * y - 1.0 / 6.0;
  return x + x * y * sum;
}

/// Size and phase of every wave; one set for each lateral or zone that is independent of others.
struct Waves {
  std::vector<double> amplitude;
  std::vector<double> phase_turns;
};

struct Term {
  CovarianceTerm covariance;
  std::vector<CorrelationFactor> ranged;
  std::vector<std::vector<Point>> frequencies;  ///< of each ranged factor, of each wave
  bool by_lateral = false;
  bool by_zone = false;
};

void check(const CovarianceTerm& term) {
  if (!(term.variance > 0)) throw std::invalid_argument("a variance must be above 0");
  for (const CorrelationFactor& factor : term.factors) {
    if (!has_range(factor.metric)) continue;
    if (!(factor.range_m > 0) || !(factor.ratio > 0) || !(factor.ratio <= 1))
      throw std::invalid_argument("a range must be above 0, a ratio above 0 and at most 1");
  }
}

Term prepared(const CovarianceTerm& term, int waves, std::mt19937_64 stream) {
  check(term);
  Term result;
  result.covariance = term;
  for (const CorrelationFactor& factor : term.factors) {
    const Metric metric = factor.metric;
    result.by_zone = result.by_zone || metric == Metric::same_zone;
    result.by_lateral =
        result.by_lateral || metric == Metric::same_lateral || metric == Metric::along_lateral;
    if (!has_range(metric)) continue;
    const std::vector<double> lengths = stratified(waves, stream);
    const std::vector<double> directions = stratified(waves, stream);
    std::vector<Point>& drawn = result.frequencies.emplace_back();
    for (std::size_t i = 0; i < lengths.size(); ++i)
      drawn.push_back(frequency(factor.shape, lengths[i], directions[i], stream));
    result.ranged.push_back(factor);
  }
  return result;
}

}  // namespace

struct RandomField::State {
  std::vector<Term> terms;
  int waves = 0;
  std::uint64_t seed = 0;

  Waves waves_of(std::size_t term, int lateral, int zone) const;
  void add_term(std::size_t term, std::span<const Site> sites, std::vector<double>& out) const;
  void add_block(const Term& term, const Waves& drawn, std::span<const Site> sites,
                 std::span<const std::size_t> members, std::vector<double>& out) const;
};

/// Waves of even phase whose sizes have the lengths of normal pairs: with any frequencies the sum
/// is exactly normal.
Waves RandomField::State::waves_of(std::size_t term, int lateral, int zone) const {
  auto stream = item_stream(seed, {amplitude_stream, term, static_cast<std::uint64_t>(lateral + 1),
                                   static_cast<std::uint64_t>(zone + 1)});
  const double sd = std::sqrt(terms[term].covariance.variance);
  if (terms[term].ranged.empty()) {
    boost::random::normal_distribution<double> normal;
    return {{sd * normal(stream)}, {0}};
  }
  boost::random::uniform_01<double> even;
  Waves drawn;
  const double size = sd / std::sqrt(static_cast<double>(waves));
  for (int i = 0; i < waves; ++i) {
    drawn.amplitude.push_back(size * std::sqrt(-2 * std::log(1 - even(stream))));
    drawn.phase_turns.push_back(even(stream));
  }
  return drawn;
}

void RandomField::State::add_block(const Term& term, const Waves& drawn,
                                   std::span<const Site> sites,
                                   std::span<const std::size_t> members,
                                   std::vector<double>& out) const {
  std::vector<std::pair<Row, Row>> places(term.ranged.size());
  for (std::size_t f = 0; f < term.ranged.size(); ++f) {
    places[f].first.fill(0);
    places[f].second.fill(0);
    for (std::size_t i = 0; i < members.size(); ++i) {
      const Point p = in_ranges(term.ranged[f], sites[members[i]]);
      places[f].first[i] = p.x;
      places[f].second[i] = p.y;
    }
  }
  Row sum{};
  Row turns;
  for (std::size_t w = 0; w < drawn.amplitude.size(); ++w) {
    turns.fill(drawn.phase_turns[w]);
    for (std::size_t f = 0; f < places.size(); ++f) {
      const Point cycles = term.frequencies[f][w];
      const Row& x = places[f].first;
      const Row& y = places[f].second;
      for (std::size_t i = 0; i < block; ++i) turns[i] += cycles.x * x[i] + cycles.y * y[i];
    }
    for (std::size_t i = 0; i < block; ++i)
      sum[i] += drawn.amplitude[w] * cosine_of_turns(turns[i]);
  }
  for (std::size_t i = 0; i < members.size(); ++i) out[members[i]] += sum[i];
}

void RandomField::State::add_term(std::size_t number, std::span<const Site> sites,
                                  std::vector<double>& out) const {
  const Term& term = terms[number];
  std::map<std::pair<int, int>, std::vector<std::size_t>> groups;
  for (std::size_t i = 0; i < sites.size(); ++i) {
    // Without a lateral a site is on no common one, not even with itself: the term is 0 there.
    const bool without =
        (term.by_lateral && sites[i].lateral < 0) || (term.by_zone && sites[i].zone < 0);
    if (without) continue;
    groups[{term.by_lateral ? sites[i].lateral : -1, term.by_zone ? sites[i].zone : -1}].push_back(
        i);
  }
  for (const auto& [group, members] : groups) {
    const Waves drawn = waves_of(number, group.first, group.second);
    if (term.ranged.empty()) {
      for (const std::size_t i : members) out[i] += drawn.amplitude.front();
      continue;
    }
    const std::span<const std::size_t> all(members);
    for (std::size_t begin = 0; begin < all.size(); begin += block)
      add_block(term, drawn, sites, all.subspan(begin, std::min(block, all.size() - begin)), out);
  }
}

RandomField::RandomField(const CovarianceModel& model, int waves, std::uint64_t seed, int draw)
    : state_(std::make_unique<State>()) {
  if (waves < 1) throw std::invalid_argument("a random field needs a wave or more");
  state_->waves = waves;
  state_->seed = item_seed(seed, {static_cast<std::uint64_t>(draw)});
  for (std::size_t i = 0; i < model.terms.size(); ++i) {
    state_->terms.push_back(
        prepared(model.terms[i], waves, item_stream(state_->seed, {frequency_stream, i})));
  }
}

RandomField::~RandomField() = default;
RandomField::RandomField(RandomField&&) noexcept = default;

std::vector<double> RandomField::at(std::span<const Site> sites) const {
  std::vector<double> values(sites.size(), 0.0);
  for (std::size_t i = 0; i < state_->terms.size(); ++i) state_->add_term(i, sites, values);
  return values;
}

}  // namespace evendrip
