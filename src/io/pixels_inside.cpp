// SPDX-License-Identifier: Apache-2.0
#include "pixels_inside.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <memory>

#include "evendrip/crs/overlay.hpp"
#include "evendrip/geo/coverage.hpp"

namespace evendrip {
namespace {

constexpr double whole = 1 - 1e-3;
constexpr std::size_t most_together = 2'000'000;
constexpr std::size_t most_one_by_one = 4'000'000;
constexpr double circumscribed_radius = 0.7072;

/// Lines count downwards; the plane of shapes has y upwards.
Ring in_pixels(const Ring& ring, const std::function<Point(Point)>& to_pixel) {
  Ring result;
  result.reserve(ring.size());
  for (const Point p : ring) {
    const Point pixel = to_pixel(p);
    result.push_back({pixel.x, -pixel.y});
  }
  return result;
}

/// y downwards again.
std::unique_ptr<OGRLinearRing> ring_of(const Ring& ring) {
  auto result = std::make_unique<OGRLinearRing>();
  for (const Point p : ring) result->addPoint(p.x, -p.y);
  result->closeRings();
  return result;
}

std::vector<std::pair<int, int>> runs_of(const Coverage& coverage, int row) {
  std::vector<std::pair<int, int>> runs;
  const auto start =
      static_cast<std::size_t>(row) * static_cast<std::size_t>(coverage.window.columns);
  for (int c = 0; c < coverage.window.columns; ++c) {
    if (coverage.fraction[start + static_cast<std::size_t>(c)] < whole) continue;
    const int column = coverage.window.column + c;
    if (!runs.empty() && runs.back().second == column) {
      ++runs.back().second;
    } else {
      runs.emplace_back(column, column + 1);
    }
  }
  return runs;
}

}  // namespace

PixelsInside::PixelsInside(const MultiPolygon& shape, const std::function<Point(Point)>& to_pixel,
                           int columns, int rows) {
  MultiPolygon there;
  for (const Polygon& polygon : shape) {
    Polygon part{in_pixels(polygon.outer, to_pixel), {}};
    for (const Ring& hole : polygon.holes) part.holes.push_back(in_pixels(hole, to_pixel));
    there.push_back(std::move(part));
  }
  const Grid pixels{0, 0, 1, columns, rows};
  const Window window = window_of(pixels, evendrip::extent_of(there));
  if (window.empty()) return;
  if (window.cells() > most_one_by_one) {
    MultiPolygon joined;
    for (const Polygon& polygon : there) joined = union_of(joined, {polygon});
    eroded_ = buffer_of(joined, -circumscribed_radius);
    return;
  }
  first_row_ = window.row;
  runs_.resize(static_cast<std::size_t>(window.rows));
  const int block = static_cast<int>(
      std::max<std::size_t>(1, most_together / static_cast<std::size_t>(window.columns)));
  for (int row = 0; row < window.rows; row += block) {
    const Window part{window.row + row, window.column, std::min(block, window.rows - row),
                      window.columns};
    Coverage coverage = coverage_of(sub_grid(pixels, part), there);
    coverage.window.column += part.column;
    for (int r = 0; r < coverage.window.rows; ++r) {
      const int at = row + coverage.window.row + r;
      runs_[static_cast<std::size_t>(at)] = runs_of(coverage, r);
    }
  }
}

bool PixelsInside::contains(Point pixel) const {
  if (!eroded_.empty())
    return evendrip::contains(eroded_, {std::floor(pixel.x) + 0.5, -std::floor(pixel.y) - 0.5});
  const double row = std::floor(pixel.y) - first_row_;
  if (!(row >= 0) || row >= static_cast<double>(runs_.size())) return false;
  const double column = std::floor(pixel.x);
  const auto& runs = runs_[static_cast<std::size_t>(row)];
  return std::any_of(runs.begin(), runs.end(), [column](const Run& run) {
    return column >= run.first && column < run.second;
  });
}

std::unique_ptr<OGRMultiPolygon> PixelsInside::outline(int first, int last) const {
  auto shape = std::make_unique<OGRMultiPolygon>();
  for (const Polygon& polygon : eroded_) {
    auto part = std::make_unique<OGRPolygon>();
    part->addRingDirectly(ring_of(polygon.outer).release());
    for (const Ring& hole : polygon.holes) part->addRingDirectly(ring_of(hole).release());
    shape->addGeometryDirectly(part.release());
  }
  const int end = std::min(last, first_row_ + static_cast<int>(runs_.size()));
  for (int row = std::max(first, first_row_); row < end; ++row) {
    for (const auto& [from, to] : runs_[static_cast<std::size_t>(row - first_row_)]) {
      const double west = from, east = to, top = -row, bottom = -row - 1;
      auto box = std::make_unique<OGRPolygon>();
      box->addRingDirectly(
          ring_of({{west, top}, {east, top}, {east, bottom}, {west, bottom}}).release());
      shape->addGeometryDirectly(box.release());
    }
  }
  if (shape->IsEmpty()) return nullptr;
  return shape;
}

}  // namespace evendrip
