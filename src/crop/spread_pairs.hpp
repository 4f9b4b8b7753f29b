// SPDX-License-Identifier: Apache-2.0
// Some of many pairs.
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace evendrip {

/// Items at indices.
template <class Item>
std::vector<Item> taken_from(std::span<const Item> items, std::span<const std::size_t> indices) {
  std::vector<Item> taken;
  taken.reserve(indices.size());
  for (const std::size_t i : indices) taken.push_back(items[i]);
  return taken;
}

}  // namespace evendrip
