// SPDX-License-Identifier: Apache-2.0
#include "evendrip/maps/label_placing.hpp"

#include <algorithm>
#include <array>

namespace evendrip {

namespace {

struct Direction {
  double x, y;
};
/// Right first, then above and below it, then the left: the order in which maps are read.
constexpr std::array<Direction, 8> directions = {
    {{1, 0}, {1, -1}, {1, 1}, {0, -1}, {0, 1}, {-1, 0}, {-1, -1}, {-1, 1}}};

PaperBox box_towards(const LabelWish& wish, Direction d, double clearance) {
  const double left = wish.place.x + d.x * clearance + (d.x - 1) / 2 * wish.width;
  const double slant = d.x != 0 && d.y != 0 ? 0.5 : 1;
  const double top = wish.place.y + d.y * clearance * slant + (d.y - 1) / 2 * wish.height;
  return {left, top, left + wish.width, top + wish.height};
}

std::vector<PaperBox> candidates(const LabelWish& wish) {
  if (wish.clearance <= 0) {
    std::vector<PaperBox> boxes = {box_towards(wish, {0, 0}, 0)};
    for (const double ring : {0.6, 1.2, 1.8}) {
      for (const Direction d : directions) {
        LabelWish moved = wish;
        moved.place.x += ring * d.x * (wish.width + wish.height) / 2;
        moved.place.y += ring * d.y * wish.height;
        boxes.push_back(box_towards(moved, {0, 0}, 0));
      }
    }
    return boxes;
  }
  std::vector<PaperBox> boxes;
  for (const double factor : {1.0, 2.2}) {
    for (const Direction d : directions) {
      boxes.push_back(box_towards(wish, d, wish.clearance * factor));
    }
  }
  return boxes;
}

}  // namespace

std::vector<std::optional<Point>> place_labels(const std::vector<LabelWish>& wishes,
                                               std::vector<PaperBox> obstacles,
                                               const PaperBox& frame) {
  std::vector<std::optional<Point>> places;
  places.reserve(wishes.size());
  for (const LabelWish& wish : wishes) {
    std::optional<Point> place;
    for (const PaperBox& box : candidates(wish)) {
      const bool taken = std::any_of(obstacles.begin(), obstacles.end(),
                                     [&](const PaperBox& o) { return o.overlaps(box); });
      if (taken || !box.within(frame)) continue;
      place = Point{box.left, box.top};
      obstacles.push_back(box);
      break;
    }
    places.push_back(place);
  }
  return places;
}

}  // namespace evendrip
