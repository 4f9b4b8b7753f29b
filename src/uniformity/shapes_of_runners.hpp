// SPDX-License-Identifier: Apache-2.0
// What the limits are worked out on: functionals of the discharges of emitters that run, given a
// share of plugged ones beside them, on logarithmic scales, with linearised standard errors.
#pragma once

#include <array>
#include <cstddef>
#include <span>
#include <vector>

namespace evendrip {

/// The four functionals of the runners: their mean, their coefficient of variation, and, given a
/// plugged share p, the mean deviation from the mean of the whole over that mean, and what the
/// runners' part of the lowest quarter falls short of the runners' mean (over it). All are
/// logarithms; lowest_log where the value is 0.
enum class Shape : std::size_t { mean, variation, deviation, shortfall };
constexpr std::size_t shape_count = 4;
constexpr double lowest_log = -27.6;  // a millionth of a millionth

struct ShapeValue {
  double log_value = 0;
  double standard_error = 0;    ///< the larger of that between laterals and of independent emitters
  double between_laterals = 0;  ///< standard error from the laterals alone; 0 for one lateral
  double independent = 0;       ///< standard error of independent emitters
};

/// Runners in growing order with prefix sums, so that a value at any p is quick.
class Runners {
 public:
  struct Emitter {
    double discharge = 0;
    double weight = 1;
    int lateral = 0;
  };
  /// Sorts; laterals are numbered from 0 to `laterals` - 1. Keeps its memory between calls.
  void assign(std::span<const Emitter> emitters, int laterals);
  std::size_t size() const { return emitters_.size(); }
  double mean() const { return mean_; }
  const std::vector<Emitter>& emitters() const { return emitters_; }

  /// Logarithm alone.
  double log_value(Shape shape, double plugged_share) const;
  /// With the linearised standard errors.
  ShapeValue evaluate(Shape shape, double plugged_share);

 private:
  struct Tail {
    double part = 0;   ///< share of the runners in the lowest quarter of the whole
    double limit = 0;  ///< discharge at its upper end
    double mean = 0;   ///< mean discharge of the part
  };
  Tail tail_of(double plugged_share) const;
  std::size_t first_above(double discharge) const;
  double mean_deviation_from(double centre) const;
  void add_errors(ShapeValue& value);
  void fill_influence(Shape shape, double plugged_share);

  std::vector<Emitter> emitters_;
  std::vector<double> weight_below_;  ///< of the emitters before i; one longer
  std::vector<double> sum_below_;     ///< weight times discharge
  std::vector<double> influence_;
  std::vector<double> lateral_sums_;
  std::size_t laterals_ = 0;
  double mean_ = 0;
  double variance_ = 0;  ///< with 1/n
};

}  // namespace evendrip
