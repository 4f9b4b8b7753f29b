// SPDX-License-Identifier: Apache-2.0
// Periods in values along one axis, unevenly spaced.
//
// Lomb-Scargle: the sum of squares that a cosine and a sine explain by least squares (Lomb 1976,
// Astrophys. Space Sci. 39:447-462; Scargle 1982, Astrophys. J. 263:835-853). What there is at a
// period by chance is judged by the power at frequencies near it, so that soil, whose power falls
// from long periods to short, and single odd strips, whose power is spread over all, are not taken
// for periods: power over the mean of m neighbours at whole steps of one over the span has Fisher's
// F with 2 and 2 m degrees, P(F > x) = (1 + x / m)^-m, where the spectrum is level there.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace evendrip {

class Periodogram {
 public:
  /// `at_m` and `values` in pairs; the values have no trend left. Fewer than 16: nothing is found.
  Periodogram(std::vector<double> at_m, std::vector<double> values);

  struct Wave {
    double cosine = 0;
    double sine = 0;
    double explained = 0;  ///< sum of squares
    double amplitude() const;
  };
  Wave wave(double per_m) const;
  /// Chance that a frequency told beforehand stands out so much; 1 where it has too few neighbours.
  double chance(double per_m, double highest_per_m) const;
  double span_m() const { return span_m_; }

  struct Peak {
    double per_m = 0;  ///< where the power is highest
    double p = 1;      ///< by chance over all frequencies tried
  };
  /// Frequencies from lowest to highest at half of one over the span.
  Peak strongest(double lowest_per_m, double highest_per_m) const;
  /// A frequency near one told, where the power is highest; within half of one over the span.
  double refined(double per_m) const;
  /// The same without a wave and its overtones up to the highest frequency.
  Periodogram without(double per_m, double highest_per_m) const;

 private:
  std::vector<double> at_m_;
  std::vector<double> values_;
  double span_m_ = 0;
};

/// Values less the parabola over `at_m` that fits them best.
std::vector<double> without_parabola(std::span<const double> at_m, std::span<const double> values);

}  // namespace evendrip
