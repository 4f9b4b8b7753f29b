// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/moran.hpp"

#include "near_strips.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <stdexcept>

#include <boost/random/uniform_int_distribution.hpp>

#include "evendrip/base/random.hpp"

namespace evendrip {
namespace {

constexpr double no_value = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t chunk = 512;

double above_normal(double z) {
  return 0.5 * std::erfc(z / std::numbers::sqrt2);
}

/// Differences from the mean, and their moments.
struct Centred {
  std::vector<double> z;
  double m2 = 0;
  double m4 = 0;
};

Centred centred(std::span<const double> values) {
  Centred c;
  const double n = static_cast<double>(values.size());
  const double mean = std::accumulate(values.begin(), values.end(), 0.0) / n;
  if (!std::isfinite(mean)) throw std::invalid_argument("likeness of values that are not finite");
  c.z.reserve(values.size());
  for (const double v : values) {
    const double z = v - mean;
    c.z.push_back(z);
    c.m2 += z * z / n;
    c.m4 += z * z * z * z / n;
  }
  return c;
}

void require(std::size_t values, std::size_t places, std::size_t least) {
  if (values != places) throw std::invalid_argument("values and places differ in number");
  if (values < least) throw std::invalid_argument("too few values for likeness of neighbours");
}

std::size_t at(int item) {
  return static_cast<std::size_t>(item);
}

/// Weight of the pair (row, item), 0 if it has none.
double weight_of(const NeighbourWeights& w, std::size_t row, int item) {
  const auto begin = w.neighbours.begin() + static_cast<std::ptrdiff_t>(w.begins[row]);
  const auto end = w.neighbours.begin() + static_cast<std::ptrdiff_t>(w.begins[row + 1]);
  const auto found = std::lower_bound(begin, end, item);
  if (found == end || *found != item) return 0;
  return w.weights[static_cast<std::size_t>(found - w.neighbours.begin())];
}

/// Sums of a weight matrix that the moments need (Cliff & Ord 1981, ch. 1), and the number of
/// places that have neighbours.
struct WeightSums {
  double n = 0;
  double s0 = 0;
  double s1 = 0;
  double s2 = 0;
};

WeightSums sums_of(const NeighbourWeights& w) {
  WeightSums sums;
  std::vector<double> of_row(w.items(), 0.0);
  std::vector<double> of_column(w.items(), 0.0);
  for (std::size_t i = 0; i < w.items(); ++i) {
    if (w.begins[i + 1] > w.begins[i]) sums.n += 1;
    for (std::size_t k = w.begins[i]; k < w.begins[i + 1]; ++k) {
      const double weight = w.weights[k];
      of_row[i] += weight;
      of_column[at(w.neighbours[k])] += weight;
      sums.s0 += weight;
      sums.s1 += weight * (weight + weight_of(w, at(w.neighbours[k]), static_cast<int>(i)));
    }
  }
  for (std::size_t i = 0; i < w.items(); ++i)
    sums.s2 += (of_row[i] + of_column[i]) * (of_row[i] + of_column[i]);
  return sums;
}

GlobalAutocorrelation judged(GlobalAutocorrelation result, double towards_alike) {
  if (!(result.variance > 0)) return result;
  result.z = towards_alike / std::sqrt(result.variance);
  result.p = above_normal(result.z);
  return result;
}

/// Mean of the values of the neighbours, weighted.
double lag_of(const NeighbourWeights& w, std::size_t row, std::span<const double> z) {
  double sum = 0;
  for (std::size_t k = w.begins[row]; k < w.begins[row + 1]; ++k)
    sum += w.weights[k] * z[at(w.neighbours[k])];
  return sum;
}

LocalMoran room_for(std::size_t items) {
  const std::vector<double> none(items, no_value);
  return {none, none, none, none, none};
}

/// One row, by the sums of its weights and of their squares.
void set_local(LocalMoran& local, std::size_t i, const Centred& c, double lag, double weights,
               double squares) {
  const double n = static_cast<double>(c.z.size());
  const double z = c.z[i];
  local.value[i] = z / c.m2 * lag;
  local.expected[i] = -z * z * weights / ((n - 1) * c.m2);
  local.variance[i] = (z / c.m2) * (z / c.m2) * (n / (n - 2)) *
                      (squares - weights * weights / (n - 1)) * (c.m2 - z * z / (n - 1));
  local.z[i] = (local.value[i] - local.expected[i]) / std::sqrt(local.variance[i]);
  local.p[i] = 2 * above_normal(std::abs(local.z[i]));
}

/// Values in the order of strips, and the sums of those before each position.
struct OrderedSums {
  std::vector<double> z;
  std::vector<double> before;
};

OrderedSums ordered_sums(const NearStrips& strips, std::span<const double> z) {
  OrderedSums sums;
  sums.before.push_back(0);
  for (std::size_t position = 0; position < strips.size(); ++position) {
    sums.z.push_back(z[at(strips.number(position))]);
    sums.before.push_back(sums.before.back() + sums.z.back());
  }
  return sums;
}

/// Draws values for the neighbours of one place out of all other places, without replacement.
/// `order` holds every item and is left as it was found.
double drawn_lag(std::span<const double> weights, std::size_t item, std::span<const double> z,
                 std::vector<std::size_t>& order, std::vector<std::size_t>& picks,
                 std::mt19937_64& stream) {
  const std::size_t last = order.size() - 1;
  std::swap(order[item], order[last]);  // the place itself keeps its value
  picks.clear();
  double lag = 0;
  for (std::size_t k = 0; k < weights.size(); ++k) {
    boost::random::uniform_int_distribution<std::size_t> pick(k, last - 1);
    picks.push_back(pick(stream));
    std::swap(order[k], order[picks[k]]);
    lag += weights[k] * z[order[k]];
  }
  for (std::size_t k = weights.size(); k > 0; --k) std::swap(order[k - 1], order[picks[k - 1]]);
  std::swap(order[item], order[last]);
  return lag;
}

}  // namespace

GlobalAutocorrelation moran(std::span<const double> values, const NeighbourWeights& weights) {
  require(values.size(), weights.items(), 4);
  const Centred c = centred(values);
  const WeightSums w = sums_of(weights);
  GlobalAutocorrelation result;
  if (!(c.m2 > 0) || !(w.s0 > 0) || w.n < 4) return result;
  double products = 0;
  for (std::size_t i = 0; i < c.z.size(); ++i) products += c.z[i] * lag_of(weights, i, c.z);
  const double n = w.n;
  const double kurtosis = c.m4 / (c.m2 * c.m2);
  const double s0 = w.s0 * w.s0;
  result.value = n / w.s0 * products / (c.m2 * static_cast<double>(values.size()));
  result.expected = -1 / (n - 1);
  const double plain = n * (w.s1 * (n * n - 3 * n + 3) - n * w.s2 + 3 * s0);
  const double peaked = kurtosis * (w.s1 * (n * n - n) - 2 * n * w.s2 + 6 * s0);
  result.variance =
      (plain - peaked) / ((n - 1) * (n - 2) * (n - 3) * s0) - result.expected * result.expected;
  return judged(result, result.value - result.expected);
}

GlobalAutocorrelation geary(std::span<const double> values, const NeighbourWeights& weights) {
  require(values.size(), weights.items(), 4);
  const Centred c = centred(values);
  const WeightSums w = sums_of(weights);
  GlobalAutocorrelation result;
  if (!(c.m2 > 0) || !(w.s0 > 0) || w.n < 4) return result;
  double squares = 0;
  for (std::size_t i = 0; i < c.z.size(); ++i)
    for (std::size_t k = weights.begins[i]; k < weights.begins[i + 1]; ++k) {
      const double step = c.z[i] - c.z[at(weights.neighbours[k])];
      squares += weights.weights[k] * step * step;
    }
  const double n = w.n;
  const double kurtosis = c.m4 / (c.m2 * c.m2);
  const double s0 = w.s0 * w.s0;
  const double total = c.m2 * static_cast<double>(values.size());
  result.value = (n - 1) / (2 * w.s0) * squares / total;
  result.expected = 1;
  const double variance = (n - 1) * w.s1 * (n * n - 3 * n + 3 - kurtosis * (n - 1)) -
                          (n - 1) * w.s2 / 4 * (n * n + 3 * n - 6 - kurtosis * (n * n - n + 2)) +
                          s0 * (n * n - 3 - kurtosis * (n - 1) * (n - 1));
  result.variance = variance / (n * (n - 2) * (n - 3) * s0);
  return judged(result, 1 - result.value);
}

LocalMoran local_moran(std::span<const double> values, const NeighbourWeights& weights,
                       const Work& work) {
  require(values.size(), weights.items(), 3);
  const Centred c = centred(values);
  LocalMoran local = room_for(values.size());
  if (!(c.m2 > 0)) return local;
  for_each_chunk(work, values.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t i = begin; i < end; ++i) {
      double sum = 0;
      double squares = 0;
      for (std::size_t k = weights.begins[i]; k < weights.begins[i + 1]; ++k) {
        sum += weights.weights[k];
        squares += weights.weights[k] * weights.weights[k];
      }
      if (sum > 0) set_local(local, i, c, lag_of(weights, i, c.z), sum, squares);
    }
  });
  return local;
}

LocalMoran local_moran(std::span<const Point> places, std::span<const double> values,
                       double within_m, const Work& work) {
  require(values.size(), places.size(), 3);
  const Centred c = centred(values);
  const NearStrips strips(places, within_m);
  LocalMoran local = room_for(values.size());
  if (!(c.m2 > 0)) return local;
  const OrderedSums sums = ordered_sums(strips, c.z);
  for_each_chunk(work, values.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    for (std::size_t position = begin; position < end; ++position) {
      std::size_t neighbours = 0;
      double sum = 0;
      const auto whole = [&](std::size_t from, std::size_t to) {
        neighbours += to - from;
        sum += sums.before[to] - sums.before[from];
      };
      const auto single = [&](std::size_t other) {
        ++neighbours;
        sum += sums.z[other];
      };
      strips.around(strips.place(position), whole, single);
      if (neighbours < 2) continue;
      const std::size_t i = at(strips.number(position));
      const double count = static_cast<double>(neighbours - 1);  // without itself
      set_local(local, i, c, (sum - c.z[i]) / count, 1, 1 / count);
    }
  });
  return local;
}

LocalPair local_bivariate_moran(std::span<const double> x, std::span<const double> y,
                                const NeighbourWeights& weights, int permutations,
                                std::uint64_t seed, const Work& work) {
  require(x.size(), weights.items(), 3);
  require(y.size(), weights.items(), 3);
  if (permutations < 1) throw std::invalid_argument("permutations, 1 or more, are needed");
  const Centred cx = centred(x);
  const Centred cy = centred(y);
  LocalPair local{std::vector<double>(x.size(), no_value), std::vector<double>(x.size(), no_value)};
  if (!(cx.m2 > 0) || !(cy.m2 > 0)) return local;
  const double scale = 1 / std::sqrt(cx.m2 * cy.m2);
  std::vector<std::size_t> all(x.size());
  std::iota(all.begin(), all.end(), std::size_t{0});
  for_each_chunk(work, x.size(), 16, [&](std::size_t begin, std::size_t end, int) {
    std::vector<std::size_t> order = all;
    std::vector<std::size_t> picks;
    for (std::size_t i = begin; i < end; ++i) {
      const auto row = std::span(weights.weights)
                           .subspan(weights.begins[i], weights.begins[i + 1] - weights.begins[i]);
      if (row.empty()) continue;
      const double lag = lag_of(weights, i, cy.z);
      const double others = -cy.z[i] / static_cast<double>(x.size() - 1);
      const double middle = others * std::accumulate(row.begin(), row.end(), 0.0);
      const double off = std::abs(lag - middle) * (1 - 1e-12);
      std::mt19937_64 stream = item_stream(seed, {i});
      int as_far = 0;
      for (int draw = 0; draw < permutations; ++draw)
        if (std::abs(drawn_lag(row, i, cy.z, order, picks, stream) - middle) >= off) ++as_far;
      local.value[i] = cx.z[i] * lag * scale;
      local.p[i] = (as_far + 1.0) / (permutations + 1.0);
    }
  });
  return local;
}

std::vector<double> false_discovery_adjusted(std::span<const double> p) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < p.size(); ++i)
    if (!std::isnan(p[i])) order.push_back(i);
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return std::pair(p[a], a) < std::pair(p[b], b); });
  std::vector<double> adjusted(p.begin(), p.end());
  const double tests = static_cast<double>(order.size());
  double least = 1;
  for (std::size_t rank = order.size(); rank > 0; --rank) {
    const std::size_t i = order[rank - 1];
    least = std::min(least, p[i] * tests / static_cast<double>(rank));
    adjusted[i] = least;
  }
  return adjusted;
}

}  // namespace evendrip
