// SPDX-License-Identifier: Apache-2.0
#include "ordered_laterals.hpp"

#include "evendrip/geo/line.hpp"

#include <algorithm>
#include <cstddef>
#include <utility>

namespace evendrip {

std::vector<int> ordered_laterals(const Field& field, int zone) {
  std::vector<int> laterals;
  for (std::size_t i = 0; i < field.laterals.size(); ++i) {
    const Lateral& lateral = field.laterals[i];
    if (lateral.zone == zone && lateral.length_m > 0 && lateral.line.size() > 1)
      laterals.push_back(static_cast<int>(i));
  }
  if (laterals.empty()) return laterals;
  const auto of = [&field](int i) -> const Lateral& {
    return field.laterals[static_cast<std::size_t>(i)];
  };
  const int longest = *std::max_element(laterals.begin(), laterals.end(), [&](int a, int b) {
    return of(a).length_m < of(b).length_m;
  });
  const Line& line = of(longest).line;
  const Point along{line.back().x - line.front().x, line.back().y - line.front().y};
  const auto across = [&](int i) {
    const Point middle = point_at(of(i).line, 0.5 * length_m(of(i).line));
    return (middle.x - line.front().x) * along.y - (middle.y - line.front().y) * along.x;
  };
  std::vector<std::pair<double, int>> keyed;
  keyed.reserve(laterals.size());
  for (const int i : laterals) keyed.emplace_back(across(i), i);
  std::sort(keyed.begin(), keyed.end());
  for (std::size_t i = 0; i < keyed.size(); ++i) laterals[i] = keyed[i].second;
  return laterals;
}

}  // namespace evendrip
