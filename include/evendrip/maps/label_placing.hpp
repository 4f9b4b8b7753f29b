// SPDX-License-Identifier: Apache-2.0
// Labels beside their places without overlap: each takes the first free one of a few positions
// around its place; those that find none are left out, so that no value is ever unreadable.
#pragma once

#include <optional>
#include <vector>

#include "evendrip/geo/shapes.hpp"

namespace evendrip {

/// A rectangle on paper, y downwards.
struct PaperBox {
  double left = 0, top = 0, right = 0, bottom = 0;
  bool overlaps(const PaperBox& other) const {
    return left < other.right && other.left < right && top < other.bottom && other.top < bottom;
  }
  bool within(const PaperBox& other) const {
    return left >= other.left && right <= other.right && top >= other.top && bottom <= other.bottom;
  }
};

struct LabelWish {
  Point place;           ///< on paper
  double width = 0;      ///< of the text
  double height = 0;     ///< of the text
  double clearance = 0;  ///< from the place to the nearest edge of the text; 0: centred on it
};

/// Top left corner of each label in the order given, which is the order of their importance.
/// Labels stay within the frame, off the obstacles and off each other.
std::vector<std::optional<Point>> place_labels(const std::vector<LabelWish>& wishes,
                                               std::vector<PaperBox> obstacles,
                                               const PaperBox& frame);

}  // namespace evendrip
