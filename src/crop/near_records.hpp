// SPDX-License-Identifier: Apache-2.0
// Which of some records of a log lie within a fixed distance of a place.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "near_strips.hpp"

namespace evendrip {

class NearRecords {
 public:
  /// Of the places whose flag in `wanted` is set (one for each; empty: all) and that are finite.
  NearRecords(std::span<const Point> places, std::span<const char> wanted, double within_m);

  /// body(record) for every one within the distance, in an order that the places alone decide.
  template <class Body>
  void for_each(Point p, const Body& body) const {
    const auto single = [&](std::size_t position) {
      body(records_[static_cast<std::size_t>(strips_.number(position))]);
    };
    const auto whole = [&](std::size_t begin, std::size_t end) {
      for (std::size_t position = begin; position < end; ++position) single(position);
    };
    if (!records_.empty()) strips_.around(p, whole, single);
  }

 private:
  std::vector<std::size_t> records_;
  NearStrips strips_;
};

}  // namespace evendrip
