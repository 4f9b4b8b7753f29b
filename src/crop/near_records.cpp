// SPDX-License-Identifier: Apache-2.0
#include "near_records.hpp"

#include <cmath>

namespace evendrip {
namespace {

std::vector<std::size_t> chosen(std::span<const Point> places, std::span<const char> wanted) {
  std::vector<std::size_t> records;
  for (std::size_t i = 0; i < places.size(); ++i)
    if (std::isfinite(places[i].x + places[i].y) && (wanted.empty() || wanted[i] != 0))
      records.push_back(i);
  return records;
}

std::vector<Point> places_of(std::span<const Point> places, std::span<const std::size_t> records) {
  std::vector<Point> own;
  own.reserve(records.size());
  for (const std::size_t i : records) own.push_back(places[i]);
  return own;
}

}  // namespace

NearRecords::NearRecords(std::span<const Point> places, std::span<const char> wanted,
                         double within_m)
    : records_(chosen(places, wanted)), strips_(places_of(places, records_), within_m) {}

}  // namespace evendrip
