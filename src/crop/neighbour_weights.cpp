// SPDX-License-Identifier: Apache-2.0
#include "evendrip/crop/neighbour_weights.hpp"

#include "near_strips.hpp"

#include <algorithm>

namespace evendrip {
namespace {

constexpr std::size_t chunk = 512;

/// Neighbours of the place at a position, in no order.
void collect(const NearStrips& strips, std::size_t position, double beyond_m,
             std::vector<int>& found) {
  found.clear();
  const Point p = strips.place(position);
  const auto single = [&](std::size_t other) {
    if (other == position) return;
    if (distance_m(p, strips.place(other)) > beyond_m) found.push_back(strips.number(other));
  };
  const auto whole = [&](std::size_t begin, std::size_t end) {
    for (std::size_t other = begin; other < end; ++other) single(other);
  };
  strips.around(p, whole, single);
}

}  // namespace

NeighbourWeights neighbours_within(std::span<const Point> places, double within_m, const Work& work,
                                   double beyond_m) {
  const NearStrips strips(places, within_m);
  std::vector<std::vector<int>> rows(places.size());
  for_each_chunk(work, places.size(), chunk, [&](std::size_t begin, std::size_t end, int) {
    std::vector<int> found;
    for (std::size_t position = begin; position < end; ++position) {
      collect(strips, position, beyond_m, found);
      std::sort(found.begin(), found.end());
      rows[static_cast<std::size_t>(strips.number(position))] = found;
    }
  });
  NeighbourWeights weights;
  weights.begins.reserve(places.size() + 1);
  weights.begins.push_back(0);
  for (std::vector<int>& row : rows) {
    weights.neighbours.insert(weights.neighbours.end(), row.begin(), row.end());
    weights.weights.insert(weights.weights.end(), row.size(), 1 / static_cast<double>(row.size()));
    weights.begins.push_back(weights.neighbours.size());
    row = {};
  }
  return weights;
}

}  // namespace evendrip
