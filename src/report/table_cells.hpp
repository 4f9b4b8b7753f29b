// SPDX-License-Identifier: Apache-2.0
// Columns and cells of result layers, for the makers of the layers.
#pragma once

#include "evendrip/io/results.hpp"

#include <cmath>
#include <cstddef>
#include <string>
#include <utility>

namespace evendrip {

inline LayerField number(std::string name, std::string comment) {
  return {std::move(name), LayerField::Type::number, std::move(comment)};
}
inline LayerField integer(std::string name, std::string comment) {
  return {std::move(name), LayerField::Type::integer, std::move(comment)};
}
inline LayerField text(std::string name, std::string comment) {
  return {std::move(name), LayerField::Type::text, std::move(comment)};
}

/// A number, or null where there is none.
inline CellValue cell(double value) {
  return std::isfinite(value) ? CellValue{value} : CellValue{};
}
inline CellValue cell(int value) {
  return CellValue{static_cast<long long>(value)};
}
inline CellValue cell(std::size_t value) {
  return CellValue{static_cast<long long>(value)};
}

/// Identifier of an item, or null for an index of -1.
template <class Items>
CellValue id_of(const Items& items, int index) {
  if (index < 0) return {};
  return CellValue{items[static_cast<std::size_t>(index)].id};
}

}  // namespace evendrip
