// SPDX-License-Identifier: Apache-2.0
#include "odd_yields.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "evendrip/base/median.hpp"
#include "evendrip/base/random.hpp"
#include "evendrip/crop/moran.hpp"

#include "near_records.hpp"

namespace evendrip {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double normal = 1.4826;  ///< median absolute deviation to standard deviation
constexpr std::size_t side = 4;    ///< records before and after in a pass
constexpr std::size_t fewest_neighbours = 5;

double scaled_deviation(std::span<double> values, double middle) {
  for (double& value : values) value = std::abs(value - middle);
  return normal * median_in_place(values);
}

/// Median and scaled deviation of the kept neighbours of a record; NaN where they are too few.
struct Around {
  double middle = nan;
  double deviation = nan;
};

Around around(std::size_t record, std::span<const Point> places, std::span<const double> yields,
              const NearRecords& near, std::vector<double>& values) {
  values.clear();
  near.for_each(places[record], [&](std::size_t other) {
    if (other != record) values.push_back(yields[other]);
  });
  if (values.size() < fewest_neighbours) return {};
  Around result;
  result.middle = median_in_place(values);
  result.deviation = scaled_deviation(values, result.middle);
  return result;
}

/// Median of known values; NaN of none.
double median_known(std::vector<double> values) {
  std::erase_if(values, [](double v) { return std::isnan(v); });
  return values.empty() ? nan : median_in_place(values);
}

/// Usual scaled deviation within a neighbourhood, over all kept records or, of many, about 20,000.
double usual_deviation(const HarvestLog& log, std::span<const double> yields,
                       std::span<const char> kept, const NearRecords& near, const Work& work) {
  constexpr std::size_t wanted = 20'000;
  std::vector<double> deviations(log.size(), nan);
  for_each_chunk(work, log.size(), 8192, [&](std::size_t begin, std::size_t end, int) {
    std::vector<double> values;
    for (std::size_t i = begin; i < end; ++i) {
      const bool sampled = log.size() <= wanted || item_seed(0, {i}) % log.size() < wanted;
      if (kept[i] != 0 && sampled)
        deviations[i] = around(i, log.places, yields, near, values).deviation;
    }
  });
  return median_known(std::move(deviations));
}

/// Whether at least half of the neighbours lie farther than `off` above, or below, a record:
/// without that its distance from their median is no longer than `off`. Much faster than the
/// median.
bool may_lie_off(std::size_t record, std::span<const Point> places, std::span<const double> yields,
                 const NearRecords& near, double off) {
  const double low = yields[record] - off, high = yields[record] + off;
  std::size_t all = 0, below = 0, above = 0;
  near.for_each(places[record], [&](std::size_t other) {
    ++all;
    below += yields[other] < low ? 1U : 0U;
    above += yields[other] > high ? 1U : 0U;
  });
  return 2 * std::max(below, above) + 1 >= all;
}

/// Kept records whose yield is more than `limit` deviations off the median of their neighbours; a
/// deviation is theirs or the usual one, whichever is more.
std::vector<char> off_median(const HarvestLog& log, std::span<const double> yields,
                             std::span<const char> kept, const NeighbourTests& tests,
                             const Work& work) {
  std::vector<char> off(log.size(), 0);
  const NearRecords near(log.places, kept, tests.within_m);
  const double usual = usual_deviation(log, yields, kept, near, work);
  if (!(usual > 0)) return off;
  for_each_chunk(work, log.size(), 2048, [&](std::size_t begin, std::size_t end, int) {
    std::vector<double> values;
    for (std::size_t i = begin; i < end; ++i) {
      if (kept[i] == 0 || !may_lie_off(i, log.places, yields, near, tests.limit * usual)) continue;
      const Around here = around(i, log.places, yields, near, values);
      const double scale = std::max(usual, here.deviation);
      off[i] = std::abs(yields[i] - here.middle) > tests.limit * scale ? 1 : 0;
    }
  });
  return off;
}

std::vector<double> differences_along(std::span<const double> yields,
                                      std::span<const double> along) {
  std::vector<double> differences(yields.size());
  for (std::size_t i = 0; i < yields.size(); ++i) differences[i] = std::abs(yields[i] - along[i]);
  return differences;
}

std::vector<char> negative_moran(const HarvestLog& log, std::span<const double> yields,
                                 std::span<const char> kept, const NeighbourTests& tests,
                                 const Work& work) {
  std::vector<std::size_t> records;
  std::vector<Point> places;
  std::vector<double> values;
  for (std::size_t i = 0; i < log.size(); ++i) {
    if (kept[i] == 0) continue;
    records.push_back(i);
    places.push_back(log.places[i]);
    values.push_back(yields[i]);
  }
  std::vector<char> negative(log.size(), 0);
  if (records.size() < 4) return negative;
  const LocalMoran local = local_moran(places, values, tests.within_m, work);
  const std::vector<double> p = false_discovery_adjusted(local.p);
  for (std::size_t k = 0; k < records.size(); ++k)
    if (local.value[k] < 0 && p[k] <= tests.false_discovery_rate) negative[records[k]] = 1;
  return negative;
}

}  // namespace

std::vector<double> along_pass_medians(const DrivenLog& driven, std::span<const double> yields,
                                       std::span<const char> kept) {
  std::vector<double> medians(yields.size(), nan);
  std::vector<std::size_t> order;  // kept records as driven
  for (const std::size_t i : driven.order)
    if (kept[i] != 0) order.push_back(i);
  for (std::size_t k = 0; k < order.size(); ++k) {
    std::array<double, 2 * side> near{};
    std::size_t count = 0;
    const std::size_t end = std::min(order.size(), k + side + 1);
    for (std::size_t j = k < side ? 0 : k - side; j < end; ++j)
      if (j != k && driven.pass[order[j]] == driven.pass[order[k]])
        near[count++] = yields[order[j]];
    if (count >= 3) medians[order[k]] = median_in_place(std::span(near.data(), count));
  }
  return medians;
}

RobustBounds robust_bounds(std::span<const double> yields, std::span<const char> kept,
                           double limit) {
  std::vector<double> values;
  for (std::size_t i = 0; i < yields.size(); ++i)
    if (kept[i] != 0) values.push_back(yields[i]);
  RobustBounds bounds;
  bounds.middle = median_in_place(values);
  bounds.deviation = scaled_deviation(values, bounds.middle);
  bounds.low = bounds.middle - limit * bounds.deviation;
  bounds.high = bounds.middle + limit * bounds.deviation;
  return bounds;
}

OddYields beyond_bounds(const HarvestLog& log, const DrivenLog& driven,
                        std::span<const double> yields, std::span<const char> kept,
                        const RobustBounds& bounds, double within_m, const Work& work) {
  OddYields result{std::vector<char>(log.size(), 0), 0};
  if (!(bounds.deviation > 0)) return result;
  const NearRecords near(log.places, kept, within_m);
  const std::vector<double> along = along_pass_medians(driven, yields, kept);
  std::vector<char> spared(log.size(), 0);
  for_each_chunk(work, log.size(), 4096, [&](std::size_t begin, std::size_t end, int) {
    std::vector<double> values;
    for (std::size_t i = begin; i < end; ++i) {
      if (kept[i] == 0 || (yields[i] >= bounds.low && yields[i] <= bounds.high)) continue;
      const double off = yields[i] - bounds.middle;
      const auto goes_along = [&](double middle) { return (middle - bounds.middle) / off >= 0.5; };
      const bool alike =
          goes_along(along[i]) || goes_along(around(i, log.places, yields, near, values).middle);
      (alike ? spared : result.odd)[i] = 1;
    }
  });
  result.spared = static_cast<std::size_t>(std::count(spared.begin(), spared.end(), char{1}));
  return result;
}

OddNeighbours odd_neighbours(const HarvestLog& log, const DrivenLog& driven,
                             std::span<const double> yields, std::span<const char> kept,
                             const NeighbourTests& tests, const Work& work) {
  OddNeighbours result;
  result.all.odd.assign(log.size(), 0);
  const std::vector<char> off = off_median(log, yields, kept, tests, work);
  const std::vector<char> negative = negative_moran(log, yields, kept, tests, work);
  const std::vector<double> from_pass =
      differences_along(yields, along_pass_medians(driven, yields, kept));
  const double pass_deviation = normal * median_known(from_pass);
  for (std::size_t i = 0; i < log.size(); ++i) {
    const bool median = off[i] != 0, moran = negative[i] != 0;
    if (!median && !moran) continue;
    // A record without enough of its pass around it has nothing that speaks for it.
    const bool from_median = median && !(from_pass[i] <= tests.limit * pass_deviation);
    const bool from_moran = moran && !(from_pass[i] <= 0.5 * tests.limit * pass_deviation);
    result.by_median += from_median ? 1U : 0U;
    result.by_moran += from_moran ? 1U : 0U;
    if (from_median || from_moran)
      result.all.odd[i] = 1;
    else
      ++result.all.spared;
  }
  return result;
}

}  // namespace evendrip
