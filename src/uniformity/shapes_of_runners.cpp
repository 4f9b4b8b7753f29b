// SPDX-License-Identifier: Apache-2.0
#include "shapes_of_runners.hpp"

#include <algorithm>
#include <cmath>

namespace evendrip {
namespace {

double safe_log(double value) {
  return value > 1e-12 ? std::log(value) : lowest_log;
}

}  // namespace

void Runners::assign(std::span<const Emitter> emitters, int laterals) {
  emitters_.assign(emitters.begin(), emitters.end());
  laterals_ = static_cast<std::size_t>(laterals);
  std::sort(emitters_.begin(), emitters_.end(),
            [](const Emitter& a, const Emitter& b) { return a.discharge < b.discharge; });
  double total = 0;
  for (const Emitter& e : emitters_) total += e.weight;
  weight_below_.assign(1, 0);
  sum_below_.assign(1, 0);
  for (Emitter& e : emitters_) {
    e.weight /= total;
    weight_below_.push_back(weight_below_.back() + e.weight);
    sum_below_.push_back(sum_below_.back() + e.weight * e.discharge);
  }
  mean_ = sum_below_.back();
  variance_ = 0;
  for (const Emitter& e : emitters_) {
    variance_ += e.weight * (e.discharge - mean_) * (e.discharge - mean_);
  }
}

Runners::Tail Runners::tail_of(double plugged_share) const {
  Tail tail;
  tail.part = (0.25 - plugged_share) / (1 - plugged_share);
  if (tail.part <= 0) return {0, emitters_.front().discharge, emitters_.front().discharge};
  const auto after = std::lower_bound(weight_below_.begin() + 1, weight_below_.end(), tail.part);
  const auto last =
      std::min(static_cast<std::size_t>(after - weight_below_.begin()) - 1, emitters_.size() - 1);
  tail.limit = emitters_[last].discharge;
  tail.mean = (sum_below_[last] + (tail.part - weight_below_[last]) * tail.limit) / tail.part;
  return tail;
}

std::size_t Runners::first_above(double discharge) const {
  const auto at =
      std::upper_bound(emitters_.begin(), emitters_.end(), discharge,
                       [](double limit, const Emitter& e) { return limit < e.discharge; });
  return static_cast<std::size_t>(at - emitters_.begin());
}

double Runners::mean_deviation_from(double centre) const {
  const std::size_t above = first_above(centre);
  const double below = centre * weight_below_[above] - sum_below_[above];
  return 2 * below + mean_ - centre;
}

double Runners::log_value(Shape shape, double plugged_share) const {
  if (!(mean_ > 0)) return lowest_log;
  const auto n = static_cast<double>(emitters_.size());
  switch (shape) {
    case Shape::mean:
      return safe_log(mean_);
    case Shape::variation:
      return safe_log(std::sqrt(variance_ * n / std::max(1.0, n - 1)) / mean_);
    case Shape::deviation: {
      const double centre = (1 - plugged_share) * mean_;
      return safe_log(mean_deviation_from(centre) / centre);
    }
    case Shape::shortfall:
      return safe_log(1 - tail_of(plugged_share).mean / mean_);
  }
  return 0;
}

void Runners::fill_influence(Shape shape, double plugged_share) {
  influence_.resize(emitters_.size());
  const auto each = [&](const auto& influence_of) {
    for (std::size_t i = 0; i < emitters_.size(); ++i) {
      influence_[i] = emitters_[i].weight * influence_of(emitters_[i].discharge);
    }
  };
  if (shape == Shape::mean) {
    each([&](double q) { return (q - mean_) / mean_; });
  } else if (shape == Shape::variation) {
    each([&](double q) {
      return 0.5 * ((q - mean_) * (q - mean_) / variance_ - 1) - (q - mean_) / mean_;
    });
  } else if (shape == Shape::deviation) {
    const double centre = (1 - plugged_share) * mean_;
    const double deviation = mean_deviation_from(centre);
    const double slope = (2 * weight_below_[first_above(centre)] - 1) * (1 - plugged_share);
    each([&](double q) {
      return (std::abs(q - centre) - deviation + slope * (q - mean_)) / deviation -
             (q - mean_) / mean_;
    });
  } else {
    const Tail tail = tail_of(plugged_share);
    const double ratio = tail.mean / mean_;
    const double expected = tail.part * tail.mean + (1 - tail.part) * tail.limit;
    each([&](double q) {
      const double of_tail = (std::min(q, tail.limit) - expected) / tail.part;
      return -(of_tail - ratio * (q - mean_)) / (mean_ - tail.mean);
    });
  }
}

void Runners::add_errors(ShapeValue& value) {
  lateral_sums_.assign(laterals_, 0);
  double squares = 0;
  for (std::size_t i = 0; i < influence_.size(); ++i) {
    squares += influence_[i] * influence_[i];
    lateral_sums_[static_cast<std::size_t>(emitters_[i].lateral)] += influence_[i];
  }
  const auto n = static_cast<double>(influence_.size());
  if (n > 1) value.independent = std::sqrt(squares * n / (n - 1));
  value.standard_error = value.independent;
  if (laterals_ < 2) return;
  double between = 0;
  for (const double sum : lateral_sums_) between += sum * sum;
  const auto groups = static_cast<double>(laterals_);
  value.between_laterals = std::sqrt(between * groups / (groups - 1));
  value.standard_error = std::max(value.standard_error, value.between_laterals);
}

ShapeValue Runners::evaluate(Shape shape, double plugged_share) {
  ShapeValue value;
  value.log_value = log_value(shape, plugged_share);
  const bool no_tail = shape == Shape::shortfall && plugged_share >= 0.25;
  if (value.log_value <= lowest_log || no_tail) return value;
  fill_influence(shape, plugged_share);
  add_errors(value);
  return value;
}

}  // namespace evendrip
