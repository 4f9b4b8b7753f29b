// SPDX-License-Identifier: Apache-2.0
// Points in strips from west to east, each ordered by easting, so that all points within one fixed
// distance of a place are a few runs of their order: whole runs that need no test, for sums known
// beforehand, and single points at the edge of the circle.
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>
#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

class NearStrips {
 public:
  /// Throws std::invalid_argument for a distance not above 0 or a place that is not finite.
  NearStrips(std::span<const Point> places, double within_m);

  std::size_t size() const { return places_.size(); }
  /// By order: strip by strip from south to north, west to east within one.
  Point place(std::size_t position) const { return places_[position]; }
  /// Index given.
  int number(std::size_t position) const { return numbers_[position]; }
  /// Positions at which a strip begins, and the end of the last.
  std::span<const std::size_t> strips() const { return begins_; }

  /// Calls whole(begin, end) for runs of positions all of which lie within the distance
  /// (inclusive), none reaching over the limit of a strip, and single(position) for each of the
  /// other points within it; strips from south to north.
  template <class Whole, class Single>
  void around(Point p, const Whole& whole, const Single& single) const {
    const std::size_t last = strip_of(p.y + within_m_ + margin_m_);
    for (std::size_t strip = strip_of(p.y - within_m_ - margin_m_); strip <= last; ++strip)
      around_in(strip, p, whole, single);
  }

 private:
  std::size_t strip_of(double y) const {
    const double strip = (y - south_) / height_m_;
    return static_cast<std::size_t>(
        std::clamp(std::floor(strip), 0.0, static_cast<double>(begins_.size() - 2)));
  }
  std::size_t first_at(std::size_t from, std::size_t end, double x) const {
    const auto begin = eastings_.begin();
    return static_cast<std::size_t>(std::lower_bound(begin + static_cast<std::ptrdiff_t>(from),
                                                     begin + static_cast<std::ptrdiff_t>(end), x) -
                                    begin);
  }
  double half_chord_m(double off_m) const {
    return std::sqrt(std::max(0.0, within_m_ * within_m_ - off_m * off_m));
  }
  template <class Single>
  void test(std::size_t from, std::size_t end, Point p, const Single& single) const {
    for (std::size_t i = from; i < end; ++i) {
      const double dx = places_[i].x - p.x;
      const double dy = places_[i].y - p.y;
      if (dx * dx + dy * dy <= most_squared_) single(i);
    }
  }
  template <class Whole, class Single>
  void around_in(std::size_t strip, Point p, const Whole& whole, const Single& single) const {
    const std::size_t begin = begins_[strip];
    const std::size_t end = begins_[strip + 1];
    if (begin == end) return;
    const double below = south_ + static_cast<double>(strip) * height_m_ - p.y;
    const double above = below + height_m_;
    const double least = std::max({0.0, below, -above});
    const double most = std::max(std::abs(below), std::abs(above)) + margin_m_;
    const double outer = half_chord_m(least) + margin_m_;
    const std::size_t from = first_at(begin, end, p.x - outer);
    const std::size_t to = first_at(from, end, p.x + outer);
    const double inner = most < within_m_ ? half_chord_m(most) - margin_m_ : -1;
    if (!(inner > 0)) return test(from, to, p, single);
    const std::size_t whole_from = first_at(from, to, p.x - inner);
    const std::size_t whole_to = first_at(whole_from, to, p.x + inner);
    test(from, whole_from, p, single);
    if (whole_to > whole_from) whole(whole_from, whole_to);
    test(whole_to, to, p, single);
  }

  double within_m_ = 0;
  double most_squared_ = 0;  ///< the largest square whose root is not above the distance
  double margin_m_ = 0;      ///< above what rounding may move a limit
  double south_ = 0;
  double height_m_ = 1;
  std::vector<std::size_t> begins_;
  std::vector<Point> places_;
  std::vector<double> eastings_;
  std::vector<int> numbers_;
};

}  // namespace evendrip
