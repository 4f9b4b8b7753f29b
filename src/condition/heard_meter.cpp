// SPDX-License-Identifier: Apache-2.0
#include "evendrip/condition/heard_meter.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

namespace evendrip {
namespace {

constexpr int places = 401;
constexpr double furthest = 8;           ///< standard deviations of the mean
constexpr double least_variance = 1e-8;  ///< of r of a segment

std::vector<double> shares_of(std::span<const int> emitters) {
  std::vector<double> shares(emitters.begin(), emitters.end());
  const double all = std::accumulate(shares.begin(), shares.end(), 0.0);
  if (!(all > 0)) return {};
  for (double& share : shares) share /= all;
  return shares;
}

double mean_by(std::span<const double> shares, std::span<const double> values) {
  return std::inner_product(shares.begin(), shares.end(), values.begin(), 0.0);
}

struct Moments {
  double mean = 0;
  double variance = 1;
};

/// Of a standard normal variable once what `log_likelihood` says of it is heard.
template <class Of>
Moments heard_moments(const Of& log_likelihood) {
  std::vector<double> logs;
  const auto z_of = [](int k) { return furthest * (2.0 * k / (places - 1) - 1); };
  for (int k = 0; k < places; ++k) {
    const double z = z_of(k);
    logs.push_back(log_likelihood(z) - 0.5 * z * z);
  }
  const double most = *std::max_element(logs.begin(), logs.end());
  double sum = 0;
  double first = 0;
  double second = 0;
  for (int k = 0; k < places; ++k) {
    const double z = z_of(k);
    const double weight = std::exp(logs[static_cast<std::size_t>(k)] - most);
    sum += weight;
    first += weight * z;
    second += weight * z * z;
  }
  const double mean = first / sum;
  return {mean, std::min(1.0, second / sum - mean * mean)};
}

void add_moved(const std::vector<double>& per_unit, double moved, std::vector<double>& values) {
  for (std::size_t i = 0; i < values.size(); ++i) values[i] += moved * per_unit[i];
}

}  // namespace

std::optional<MeterHeard> hear_meter(const MeterDatum& datum, const ZoneModel& model,
                                     std::span<const int> emitters, double plugged_below,
                                     ZoneCondition& condition) {
  const std::vector<double> shares = shares_of(emitters);
  if (shares.empty()) return {};
  auto pull = model.pull_of_mean(condition.fit.parameters, shares);
  if (!pull) return {};
  std::vector<double> delivered;
  double moves = 1;  // share of what moves r that is delivered
  for (std::size_t i = 0; i < condition.estimate.r.size(); ++i) {
    delivered.push_back(place_delivery(condition, condition.estimate, i).mean);
    if (!condition.places.beyond.empty()) moves -= shares[i] * condition.places.beyond[i].mean;
  }
  const double mean = mean_by(shares, delivered);
  const double sd = std::sqrt(pull->variance);
  const double plugged = condition.clogging.share;
  const Moments heard = heard_moments([&](double z) {
    const double delivery = (1 - plugged) * (mean + moves * sd * z) + plugged * plugged_below / 2;
    return datum.log_likelihood(delivery, 0);
  });
  MeterHeard out{*std::move(pull), sd * heard.mean, heard.variance};
  move_estimate(out, condition.estimate);
  deliver(condition);
  return out;
}

void move_estimate(const MeterHeard& heard, ConditionEstimate& estimate) {
  const ConditionEstimate& per_unit = heard.pull.moved;
  add_moved(per_unit.r, heard.moved, estimate.r);
  add_moved(per_unit.along, heard.moved, estimate.along);
  add_moved(per_unit.own, heard.moved, estimate.own);
  add_moved(per_unit.group, heard.moved, estimate.group);
  add_moved(per_unit.local, heard.moved, estimate.local);
  add_moved(per_unit.soil, heard.moved, estimate.soil);
  add_moved(per_unit.edge, heard.moved, estimate.edge);
  add_moved(per_unit.ground, heard.moved, estimate.ground);
  estimate.level += heard.moved * per_unit.level;
  estimate.crop_level += heard.moved * per_unit.crop_level;
  const double gone = heard.pull.variance * (1 - heard.variance_left);
  for (std::size_t i = 0; i < estimate.r_variance.size(); ++i)
    estimate.r_variance[i] =
        std::max(least_variance, estimate.r_variance[i] - per_unit.r[i] * per_unit.r[i] * gone);
}

void move_draws(const MeterHeard& heard, std::span<const int> emitters,
                std::vector<std::vector<double>>& draws) {
  const std::vector<double> shares = shares_of(emitters);
  const double narrower = std::sqrt(heard.variance_left) - 1;
  for (std::vector<double>& draw : draws) {
    const double off = mean_by(shares, draw) - heard.pull.mean;
    add_moved(heard.pull.moved.r, heard.moved + narrower * off, draw);
  }
}

}  // namespace evendrip
